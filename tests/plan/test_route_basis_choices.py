"""What the routes of a part start from, by hand on a box of 20 × 30 × 10 mm drawn upwards; its plan is a stand-in."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace as Some

import manifold3d
import numpy as np
import pytest

from firstpour.cavities.lay import Option
from firstpour.errors import BadJob
from firstpour.job.job import Job, Making, PartRequest, Preference
from firstpour.part.measure import measure_part
from firstpour.parting.values import MouldKind
from firstpour.plan import route_basis as module
from firstpour.plan.needs import Sized
from firstpour.plan.route_basis import (
    asked_of,
    compared_options,
    route_taken,
    routes_of,
    settled,
    standings_of,
    with_cavities,
)
from firstpour.plan.values import Plan
from firstpour.printing.allowance import FitKind
from firstpour.printing.printers import FILAMENT_PRINTER, TYPICAL_PRINTERS, VAT_PRINTER, Process
from firstpour.store.learned import Seen
from firstpour.workshop.workshop import Workshop
from mould_shapes import Z, as_part
from shelf_samples import TODAY, shipped
from stand_in_plans import part_plan

BOX = as_part("box", manifold3d.Manifold.cube((20.0, 30.0, 10.0)))
TRAYS, BEDDING, BLOCK, OPEN = MouldKind.TRAYS, MouldKind.BEDDING, MouldKind.BLOCK, MouldKind.OPEN_FACE
SHELF = Workshop(catalogue=shipped(), stock=(), today=TODAY)
OPTIONS = tuple(
    Option(cavities=count, block_mm=(9.0, 9.0, 9.0), silicone_ml=50.0 * count, print_ml=30.0 + 10.0 * count)
    for count in (1, 2, 3, 4, 6, 8, 9)
)


def printed(printer, **more):
    known = {
        "printer": printer, "fits": True, "step_mm": 0.1, "print_min": 60.0, "material_ml": 8.0,
    }  # fmt: skip
    return Some(print=Some(**{**known, **more}), master_steps=(printer.name,))


STANDINGS = Some(
    alone=(
        printed(FILAMENT_PRINTER, step_mm=0.02, fits=False),
        printed(FILAMENT_PRINTER, step_mm=0.3),
        printed(VAT_PRINTER, step_mm=0.05, print_min=200.0),
    ),
    in_trays=printed(FILAMENT_PRINTER, step_mm=0.2),
)


@pytest.fixture(autouse=True)
def stages(monkeypatch):
    """Volumes and prints as they stand in for the mould: told by which way they were worked out."""
    sized = Sized(kind=TRAYS, pieces_ml={"upper": 40.0, "lower": 60.0}, casting_ml=10.0, stretch_ratio=0.1)
    monkeypatch.setattr(module, "sized_by_mould", lambda _: sized)
    monkeypatch.setattr(module, "sized_by_block", lambda looked, _: replace(sized, kind=looked.kind, casting_ml=7.0))
    monkeypatch.setattr(module, "standings_of", lambda *_: STANDINGS)
    monkeypatch.setattr(module, "choose_kind", lambda *_: TRAYS)


def plan(
    *, kind=TRAYS, made=1, options=(), flow=True, fill_s=90.0, findings=(), fits=(), choice=None, members=(), **asked
):
    """A part of which ten shots were made before, eight of them good."""
    piece = Some(plan=Some(printer=FILAMENT_PRINTER, print_min=100.0, estimate=Some(material_g=30.0)))
    return part_plan(
        PartRequest(**{"name": "box", "copies": 12, "hardness": "A 20", **asked}),
        part=BOX, measures=measure_part(BOX), choice=choice, cavity_options=options, members=members,
        mould=Some(
            kind=kind, cavities=made, findings=findings, draw=Some(direction=Z, seam_on_show_mm=7.0),
        ),
        printing=Some(
            printer=FILAMENT_PRINTER, steps=(), pieces=(piece,), surface=Some(step_mm=0.15), cleaning=("wash",),
            allowance=Some(fits=fits), features=(),
        ),
        seen=Seen(good=8.0, shots=10.0), flow=Some(fill_s=fill_s) if flow else None,
    )  # fmt: skip


def asked(one=None, *, kept=None, **job):
    return asked_of(one or plan(), Job(name="pool", parts=(), **job), begins=TODAY, kept=kept)


def kinds(found):
    return [way.kind for way in found.moulds]


def refused(found):
    return {one.name: one.reason for one in found.refused}


# --- kinds of mould ------------------------------------------------------------------------------------


def test_the_mould_of_the_plan_comes_first_and_then_every_other_kind_that_opens():
    found = asked()
    assert kinds(found) == ["trays", *(kind.value for kind in MouldKind if kind not in (TRAYS, OPEN))]
    assert refused(found) == {"open-face mould": "The part has no flat back that is hidden."}
    assert [way.estimated for way in found.moulds] == [False] + [True] * (len(found.moulds) - 1)
    assert found.begins == TODAY
    assert found.need is found.moulds[0].need
    assert found.prints == tuple(one.print for one in STANDINGS.alone)


def test_a_part_with_a_hidden_flat_back_may_have_an_open_mould(monkeypatch):
    monkeypatch.setattr(module, "choose_kind", lambda *_: OPEN)
    assert "open-face" in kinds(asked())
    assert refused(asked()) == {}


@pytest.mark.parametrize(
    ("codes", "reason", "remedy"),
    [
        (("undercut",), "Two halves would not come apart.", ""),
        (("undercut", "closed-ring"), "A ring is shut.", "cut it"),
    ],
)
def test_where_the_mould_must_be_cut_open_no_halves_are_offered_and_why(codes, reason, remedy):
    findings = [Some(code=code, what="a ring is shut", remedy="cut it") for code in codes]
    found = asked(plan(kind=BLOCK, findings=findings))
    assert not {"trays", "bedding"} & set(kinds(found))
    told = {one.name: (one.reason, one.remedy) for one in found.refused}
    assert told["trays mould"] == told["bedding mould"] == (reason, remedy)


def test_a_kind_that_is_asked_for_leaves_no_other():
    fixed = replace(plan(), request=replace(plan().request, kind=TRAYS))
    assert kinds(asked(fixed)) == ["trays"]
    assert set(refused(asked(fixed)).values()) == {"The job asks for kind = “trays”."}


def test_prints_are_worked_out_once_and_kept(monkeypatch, tmp_path):
    asked(kept=tmp_path)
    monkeypatch.setattr(module, "standings_of", lambda *_: pytest.fail("it was kept"))
    assert [way.step_mm for way in asked(kept=tmp_path).prints] == [0.02, 0.3, 0.05]


@pytest.mark.parametrize(
    ("choice", "known"),
    [
        (None, False), (Some(silicone=None, casting=Some(material=Some(id="p"))), False),
        (Some(silicone=Some(material=Some(id="s")), casting=None), False),
        (Some(silicone=Some(material=Some(id="s")), casting=Some(material=Some(id="p"))), True),
    ],
)  # fmt: skip
def test_the_plan_follows_its_own_mould_with_both_its_materials(choice, known):
    planned = asked(plan(choice=choice)).planned
    if not known:
        assert planned is None
        return
    assert (planned.kind, planned.silicone, planned.casting, planned.cavities) == ("trays", "s", "p", 1)


# --- need, and what is left on the part ----------------------------------------------------------------


@pytest.mark.parametrize(("flow", "fill_s", "pour_min"), [(True, 90.0, 1.5), (True, None, None), (False, None, None)])
def test_the_gate_is_known_of_the_own_mould_alone_and_shots_of_another_tell_less(flow, fill_s, pour_min):
    """Shots in another kind of mould count by half (our own choice, `OTHER_WAY`)."""
    own, *others = [way.need for way in asked(plan(flow=flow, fill_s=fill_s)).moulds]
    assert (own.pour_min, own.seen_good, own.seen_shots, own.casting_ml) == (pour_min, 8.0, 10.0, 10.0)
    for need in others:
        assert (need.pour_min, need.casting_ml) == (None, 7.0)
        assert need.seen_good / 8.0 == need.seen_shots / 10.0 == module.OTHER_WAY < 1.0


def test_the_own_mould_tells_its_prints_its_steps_and_the_fits_that_it_misses():
    good, bad = (
        Some(fit=Some(kind=FitKind.HOLE, nominal_mm=6.0, tolerance_mm=0.1), holds=holds, miss_mm=miss_mm)
        for holds, miss_mm in ((True, 0.0), (False, 0.25))
    )
    own = asked(plan(fits=(good, bad))).moulds[0]
    (piece,) = own.pieces
    assert (piece.process, piece.grams, piece.hands_min) == (Process.FILAMENT, 30.0, FILAMENT_PRINTER.handling_min)
    assert (own.step_mm, own.cleaning, own.fit_miss_mm) == (0.15, ("wash",), 0.25)
    assert own.notes == ("a hole of 6 ± 0.1 mm would not hold, by 0.25 mm",)


@pytest.mark.parametrize("kind", [TRAYS, OPEN])
def test_an_open_mould_has_no_seam(monkeypatch, kind):
    monkeypatch.setattr(module, "choose_kind", lambda *_: OPEN)
    seams = {way.kind: way.seam_on_show_mm for way in asked(plan(kind=kind)).moulds}
    assert seams.pop("open-face") == 0.0
    assert set(seams.values()) == {7.0}


# --- numbers of cavities -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("counts", "more", "shots", "compared"),
    [
        ((1, 2, 3, 4, 6, 8, 9), {}, 100, [1, 2, 4, 8, 9]),
        ((1, 2, 3, 4, 6, 8, 9), {}, 5, [1, 2, 4]),
        ((1, 2, 3, 4, 6), {"made": 6}, 5, [1, 2, 4, 6]),
        ((1, 2, 3, 4), {"made": 2, "cavities": 2}, 100, [2]),
        ((1, 2, 3, 4), {"made": 4, "cavities": "most"}, 100, [4]),
        ((1, 2), {"members": ("member",)}, 100, [1]),
        ((), {}, 100, []),
    ],
)
def test_numbers_are_about_doubled_as_far_as_there_are_shots_unless_one_is_asked_for(counts, more, shots, compared):
    options = tuple(one for one in OPTIONS if one.cavities in counts)
    assert [one.cavities for one in compared_options(plan(options=options, **more), shots)] == compared


def test_another_number_takes_silicone_by_its_block_and_prints_by_the_plastic_of_its_trays():
    """50 and 150 ml: three times; 40 and 60 ml of plastic: half as much again."""
    own = asked().moulds[0]
    three = with_cavities(own, OPTIONS[2], OPTIONS[0])
    assert three.need.pieces_ml == pytest.approx({"upper": 120.0, "lower": 180.0})
    assert three.pieces[0].run_min == pytest.approx(1.5 * own.pieces[0].run_min)
    assert three.pieces[0].grams == pytest.approx(45.0)
    assert (three.need.cavities, three.estimated) == (3, True)
    assert with_cavities(own, OPTIONS[0], OPTIONS[0]) is own


MORE_THAN = "a trays mould of more than "


@pytest.mark.parametrize(
    ("counts", "more", "moulds", "names"),
    [
        ((1, 2, 3), {}, [1, 2, 3], [MORE_THAN + "3 cavities"]),
        ((1,), {}, [1], [MORE_THAN + "one cavity"]),
        ((1, 2, 3, 4, 6, 8), {}, [1, 2, 4, 8], []),
        ((1, 2, 3), {"copies": 2}, [1, 2, 3], []),
        ((1, 2, 3), {"cavities": 2, "made": 2}, [2], ["another number of cavities"]),
        ((2,), {"cavities": 2, "made": 2}, [2], [MORE_THAN + "2 cavities"]),
        ((), {}, [1], []),
    ],
)
def test_other_numbers_follow_the_own_mould_or_it_is_said_why_there_are_no_more(counts, more, moulds, names):
    """Twelve copies are more than eight shots, two copies three: more cavities than that help nobody."""
    options = tuple(one for one in OPTIONS if one.cavities in counts)
    found = asked(plan(options=options, **more))
    own = [way.need.cavities for way in found.moulds if way.kind == "trays"]
    assert own[1:] == [count for count in moulds if count != more.get("made", 1)]
    assert [one.name for one in found.refused if "cavit" in one.name] == names


# --- the print of a mould that was not worked out ------------------------------------------------------


class Printed:
    """Keeps what each print is estimated from; each takes 50 minutes and 20 g."""

    def __init__(self, monkeypatch):
        self.given = []
        monkeypatch.setattr(module, "estimate_print", self.estimate)

    def estimate(self, **given):
        self.given.append(given)
        return Some(print_min=50.0, material_g=20.0)


@pytest.mark.parametrize(
    ("kind", "count", "filled_mm3", "layer_mm"),
    [
        (TRAYS, 2, 6000.0, 0.1),
        (OPEN, 1, 6000.0, 0.1),
        (BEDDING, 1, 0.5 * (36.0 * 46.0 * 26.0 - 6000.0), 0.3),
        (BLOCK, 1, 0.0, 0.3),
    ],
)
def test_trays_boxes_and_beddings_are_reckoned_from_the_block_around_the_part(
    monkeypatch, kind, count, filled_mm3, layer_mm
):
    """8 mm of silicone around 20 × 30 × 10: 36 × 46 × 26, floors and walls of 2.4, a lip of 4 (decision 0051)."""
    made = Printed(monkeypatch)
    monkeypatch.setattr(module, "choose_kind", lambda *_: OPEN)
    found = asked(plan(kind=BEDDING if kind is not BEDDING else TRAYS))
    order = [way.kind for way in found.moulds[1:]]
    given = made.given[order.index(kind.value)]
    high_mm = 26.0 / count + 4.0
    walls_mm3 = count * 2.4 * (36.0 * 46.0 + 2.0 * high_mm * (36.0 + 46.0))
    assert given["height_mm"] == pytest.approx(count * high_mm)
    assert given["volume_mm3"] == pytest.approx(walls_mm3 + filled_mm3)
    assert given["area_mm2"] == pytest.approx(2.0 * walls_mm3 / 2.4 + 2.0 * (600.0 + 200.0 + 300.0))
    assert (given["layer_mm"], given["support_mm3"], given["printer"]) == (layer_mm, 0.0, FILAMENT_PRINTER)
    way = found.moulds[1 + order.index(kind.value)]
    pieces = [(one.process, one.grams, one.hands_min / FILAMENT_PRINTER.handling_min) for one in way.pieces[:1]]
    assert pieces == [(Process.FILAMENT, 20.0, count)]


def test_in_trays_the_part_is_printed_with_them_and_elsewhere_by_itself_where_it_is_finest_and_fits(monkeypatch):
    """8 ml of vat resin of 1.15 g/ml: 9.2 g."""
    Printed(monkeypatch)
    ways = {way.kind: way for way in asked(plan(kind=BEDDING)).moulds}
    trays, block = ways["trays"], ways["block"]
    assert (len(trays.pieces), trays.step_mm, trays.need.master) == (1, 0.2, Process.FILAMENT)
    assert trays.need.master_steps == (FILAMENT_PRINTER.name,)
    assert (len(block.pieces), block.step_mm, block.need.master) == (2, 0.05, Process.VAT)
    assert block.pieces[1].grams == pytest.approx(9.2)
    assert block.pieces[1].process is Process.VAT


def test_each_printer_takes_the_part_its_own_best_way_and_trays_along_the_draw():
    one = plan(process=Process.FILAMENT)
    found = standings_of(one, TYPICAL_PRINTERS)
    assert [each.print.printer for each in found.alone] == list(TYPICAL_PRINTERS)
    for each in (*found.alone, found.in_trays):
        width_mm, depth_mm, height_mm = each.print.size_mm
        assert width_mm >= depth_mm
        assert height_mm == pytest.approx(np.ptp(BOX.mesh.vertices_mm @ np.array(each.print.up)), abs=0.01)
        assert {step.id for step in each.print.smoothing} <= set(module.SMOOTHING) & {s.id for s in each.master_steps}
        assert (each.print.fit_misses, each.print.fit_miss_mm) == ((), 0.0)
    assert found.in_trays.print.up == pytest.approx((0.0, 0.0, 1.0))
    assert found.in_trays.print.size_mm == pytest.approx((30.0, 20.0, 10.0))
    assert found.in_trays.print.printer is FILAMENT_PRINTER


# --- of a job ------------------------------------------------------------------------------------------


def test_routes_are_those_of_parts_with_a_hardness_in_the_workshop_on_the_first_day(monkeypatch):
    given = []
    monkeypatch.setattr(
        module, "part_routes", lambda asked, shop, **more: given.append((asked, shop, more)) or "routes"
    )
    bare = replace(plan(), request=PartRequest(name="bare"))
    job = Job(name="pool", parts=(), begin=date(2027, 3, 1), prefer=Preference.SOONEST)
    assert routes_of(Plan(job=job, parts=(bare, plan())), SHELF) == ("routes",)
    ((one, shop, more),) = given
    assert (one.need.name, one.begins, shop.today, more["prefer"]) == (
        "box", date(2027, 3, 1), date(2027, 3, 1), Preference.SOONEST,
    )  # fmt: skip
    routes_of(Plan(job=Job(name="pool", parts=()), parts=(plan(),)), SHELF)
    assert given[1][1].today == TODAY
    with pytest.raises(BadJob, match="no part says how its copies shall feel") as told:
        routes_of(Plan(job=job, parts=(bare,)), SHELF)
    assert "hardness" in told.value.remedy


@pytest.mark.parametrize(
    ("fixed", "nothing_left"),
    [
        ({"route": Making.CAST, "kind": TRAYS, "silicone": "s", "casting": "p"}, True),
        ({"route": None, "kind": TRAYS, "silicone": "s", "casting": "p"}, False),
        ({"route": Making.CAST, "kind": None, "silicone": "s", "casting": "p"}, False),
        ({"route": Making.CAST, "kind": TRAYS, "silicone": None, "casting": "p"}, False),
        ({"route": Making.CAST}, False),
    ],
)
def test_a_route_is_settled_by_casting_with_mould_and_both_materials(monkeypatch, fixed, nothing_left):
    request = PartRequest(name="box", copies=12, hardness="A 20", **fixed)
    assert settled(request) is nothing_left
    monkeypatch.setattr(module, "part_routes", lambda *_, **__: "routes")
    monkeypatch.setattr(module, "taken", lambda made, **more: (made, more["settled"], more["making"]))
    one = replace(plan(), request=request)
    assert route_taken(one, Job(name="pool", parts=()), SHELF) == ("routes", nothing_left, request.route)
