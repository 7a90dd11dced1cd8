"""A soft tyre cast around the copies of a rigid hub: volumes, hold, bond, order of work, and what is refused."""

from dataclasses import replace
from math import pi

import manifold3d
import numpy as np
import pytest

from demo_plan import TODAY
from families import check_channels, check_opening, check_pieces, check_walls
from families.solids import joined
from families.written import read_moulds
from firstpour.choosing.decisions import Decision, Decisions, Picked
from firstpour.errors import BadJob, BadRequest
from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import job_from_text, read_job
from firstpour.files.stl import stl_bytes
from firstpour.inserts.held import hold_inserts
from firstpour.inserts.values import Insert, InsertShape
from firstpour.job.job import Making, PartRequest
from firstpour.materials.feel import wanted_hardness
from firstpour.materials.figures import FigureName
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting.values import MouldKind
from firstpour.plan.cast_around import around_findings
from firstpour.plan.look import look_at
from firstpour.plan.work_out import work_out
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.results import plan_into
from firstpour.sheets.blocks import Ticks
from firstpour.sheets.cast_page import cast_pages
from firstpour.stock.demo_stock import demo_stock
from firstpour.values import Severity, mesh_volume_mm3
from firstpour.workshop.workshop import Workshop
from mould_shapes import Z, as_part
from wheel_job import BORE_MM, JOB, hub, tyre, wheel, write_wheels

Solid = manifold3d.Manifold
CHECKS = (
    check_pieces.measured,
    check_pieces.balanced,
    check_pieces.open_on_top,
    check_opening.lifts_off_part,
    check_opening.lifts_off_sprue,
    check_opening.leaves_tray,
    check_walls.no_fins,
    check_walls.stated_wall,
    check_channels.clear_of_part,
    check_channels.open_to_outside,
    check_channels.air_in_silicone,
)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The job planned and written, and the mould of the tyre read back with the whole wheel in it."""
    folder = tmp_path_factory.mktemp("wheels")
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)
    job = read_job(write_wheels(folder))
    saved = plan_into(job, folder / "out", progress=lambda *_: None, workshop=workshop)
    (folder / "wheel.stl").write_bytes(stl_bytes(as_part("wheel", wheel()).mesh))
    files = {"tyre": folder / "wheel.stl", "hub": folder / "hub.stl"}
    return saved, {one.name: one for one in read_moulds(folder / "out", files)}


def with_the_hub_counted(mould):
    """The mould as if the shot were the whole wheel, for checks that know nothing of what is laid in."""
    hub_ml = hub().volume() * mould.scale**3 / 1000.0
    counted = {**mould.entry["mould"], "casting_ml": mould.entry["mould"]["casting_ml"] + hub_ml}
    return replace(mould, entry={**mould.entry, "mould": counted})


def entry_of(made, name):
    return next(part for part in made[0].entry.parts if part.name == name)


@pytest.mark.parametrize("check", CHECKS, ids=lambda one: one.__name__)
def test_the_second_mould_passes_the_checks_with_the_copy_in_it(made, check):
    assert check(with_the_hub_counted(made[1]["tyre"])) == []


def test_the_shot_is_the_tyre_alone(made):
    mould = made[1]["tyre"]
    low, high = mould.block_mm
    block = Solid.cube(tuple(high - low)).translate(tuple(low))
    channels = (joined([rod.solid for rod in mould.rods]) ^ block) - mould.part
    shot_mm3 = (tyre() - hub()).volume() * mould.scale**3 + channels.volume()
    assert entry_of(made, "tyre").mould.casting_ml == pytest.approx(shot_mm3 / 1000.0, rel=0.02)


def test_no_silicone_must_give_where_the_hub_lies(made):
    """The groove of the tyre alone is an undercut of 450 mm³; the hub fills it."""
    assert entry_of(made, "tyre").chosen_draw.undercut_mm3 < 5.0
    assert "undercut" not in {finding.code for finding in made[0].plan.parts[0].findings}


def test_the_seat_comes_out_as_large_as_the_hub(made):
    """Bore of the seat's pin × what the silicone loses = the hub's own bore: only the casting shrinks after that."""
    mould = made[1]["tyre"]
    slab = Solid.cylinder(2.0, 4.0, 4.0, 96).translate((0, 0, 5.0))
    pin = joined([piece.solid for piece, _ in mould.halves]) ^ slab
    wide_mm = 2.0 * np.linalg.norm(np.array(pin.to_mesh().vert_properties)[:, :2], axis=1).max()
    casting = made[0].plan.parts[0].choice.casting.material
    shrinkage_ratio = casting.figures[FigureName.SHRINKAGE].value
    assert wide_mm == pytest.approx(2.0 * BORE_MM * mould.scale * (1.0 - shrinkage_ratio), abs=0.005)


def test_what_is_said_and_what_is_set_in(made):
    entry = entry_of(made, "tyre")
    assert (entry.around, entry_of(made, "hub").around) == ("hub", None)
    codes = {finding.code: finding for finding in made[0].entry.findings}
    assert codes["bond"].severity is Severity.INFO
    assert "urethane bonds to urethane" in codes["bond"].what
    assert "copy of hub is set in and cast around" in codes["cast-around"].what
    assert "cores-short" not in codes
    (page,) = cast_pages(made[0].entry, entry)
    close = next(
        block for block in page.blocks if isinstance(block, Ticks) and block.title == "Close it and stand it"
    )
    assert close.items[0].startswith("Set in a copy of hub, clean and dry: silicone of each half closes on")
    assert any("copy of hub for tyre" in one.name for one in made[0].entry.to_lay_out)


def test_no_round_of_the_tyre_begins_before_its_hubs_are_out(made):
    tasks = made[0].entry.schedule.tasks
    out = sorted(one.end for one in tasks if one.id.startswith("hub/round") and one.id.endswith("out"))
    begun = sorted(one.start for one in tasks if one.id.startswith("tyre/round") and one.id.endswith("set-inserts"))
    assert len(begun) == 5  # four copies, one spoiled shot reckoned in
    assert all(ready <= start for ready, start in zip(out, begun, strict=False))


def test_both_are_cast_whatever_the_job_prefers(tmp_path):
    write_wheels(tmp_path)
    job = job_from_text(JOB.replace("[[part]]", 'prefer = "soonest"\n\n[[part]]', 1), folder=tmp_path)
    assert {one.route for one in job.parts} == {Making.CAST}


# --- findings that the wheel does not have


def decided(outer, inner):
    def one(name, traits):
        material = replace(load_catalogue(None).get("rigid-plastic-d75-middling"), traits=frozenset(traits))
        picked = Picked(material=material, additives=(), reached=None, others="", slower=())
        return Decision(
            name=name, wanted=wanted_hardness("rigid"), silicone=None, casting=picked,
            silicones_rejected=(), castings_rejected=(),
        )  # fmt: skip

    return Decisions(parts=[one("tyre", outer), one("hub", inner)])


def codes_of(made, decisions, **changed):
    parts = {one.request.name: one for one in made[0].plan.parts}
    hub_plan = replace(parts["hub"], request=replace(parts["hub"].request, **changed))
    return {one.code: one for one in around_findings(parts["tyre"], {**parts, "hub": hub_plan}, decisions)}


def test_without_a_common_chemistry_the_shape_must_hold_them(made):
    found = codes_of(made, decided({"addition silicone rubber"}, {"urethane"}))
    assert found["bond"].severity is Severity.WARNING
    assert "only the shape holds them together" in found["bond"].what


def test_a_copy_that_stops_the_cure_is_an_error(made):
    """Sulphur stops an addition cure: Lukin et al. 2020, Polymers 12:2174 (from memory)."""
    found = codes_of(made, decided({"addition silicone rubber"}, {"contains sulphur"}))
    assert found["core-stops-cure"].severity is Severity.ERROR


def test_hubs_for_spoiled_shots_are_asked_for(made):
    found = codes_of(made, None, copies=4)
    assert found["cores-short"].remedy == "give hub copies = 5"
    assert not codes_of(made, None)


def test_a_hub_that_could_not_be_planned_is_told(made):
    tyre_plan = made[0].plan.parts[0]
    assert [one.code for one in around_findings(tyre_plan, {}, None)] == ["no-core"]


# --- what holds a copy


def held_around(folder, core, outer):
    file = folder / "core.stl"
    file.write_bytes(stl_bytes(as_part("core", core).mesh))
    insert = Insert(shape=InsertShape.MESH, file=file, copy_of="core")
    return hold_inserts(as_part("outer", outer), [insert], draw=Z, wall_mm=8.0, casting_shrinkage_ratio=0.0)


def test_a_grip_around_a_rod_touches_what_its_closed_form_says(tmp_path):
    """A cylinder's wall: 2 π r h; 96 facets are 0.02 % short of it."""
    rod = Solid.cylinder(60.0, 5.0, 5.0, 96, True)
    grip = Solid.cylinder(20.0, 9.0, 9.0, 96, True)
    held = held_around(tmp_path, rod, grip)
    (one,) = held.inserts
    assert one.cast_over_mm2 == pytest.approx(2 * pi * 5 * 20, rel=1e-3)
    assert one.shut_off_mm2 == pytest.approx(2 * pi * 5 * 40 + 2 * pi * 25, rel=1e-3)
    assert one.sides == (1, -1)
    assert mesh_volume_mm3(held.shot.mesh) == pytest.approx((grip - rod).volume(), rel=1e-6)


REFUSED_HOLDS = {
    "shut in": (Solid.sphere(4.0, 48), Solid.sphere(10.0, 48), r"would float in the mould: no silicone holds it"),
    "flush, without a bore": (
        Solid.cylinder(10.0, 8.0, 8.0, 64), Solid.cylinder(10.0, 14.0, 14.0, 64), r"would float in the mould"
    ),
    "elsewhere": (Solid.cube((5, 5, 5)).translate((50, 0, 0)), Solid.sphere(10.0, 48), "hangs in air"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED_HOLDS)
def test_a_copy_that_nothing_holds_is_refused(tmp_path, what):
    core, outer, told = REFUSED_HOLDS[what]
    with pytest.raises(BadRequest, match=told):
        held_around(tmp_path, core, outer)


def test_a_base_under_a_cap_is_held_by_the_half_beneath_it(tmp_path):
    base = Solid.cube((20.0, 20.0, 8.0), True)
    cap = Solid.cube((20.0, 20.0, 8.0), True).translate((0.0, 0.0, 8.0))
    (one,) = held_around(tmp_path, base, cap).inserts
    assert one.sides == (-1,)
    assert one.cast_over_mm2 == pytest.approx(400.0)
    assert one.shut_off_mm2 == pytest.approx(400.0 + 4 * 160.0)


def test_gate_and_vents_lie_on_the_shot_not_on_what_stands_out_of_it(tmp_path):
    """A long bar out of a small ball: most of the parting line lies on the bar, where nothing is to be filled."""
    (tmp_path / "bar.stl").write_bytes(stl_bytes(as_part("bar", Solid.cube((70, 10, 6), True)).mesh))
    (tmp_path / "ball.stl").write_bytes(stl_bytes(as_part("ball", Solid.sphere(12.0, 48)).mesh))
    insert = Insert(shape=InsertShape.MESH, file=tmp_path / "bar.stl", copy_of="bar")
    request = PartRequest(
        name="ball", file=tmp_path / "ball.stl", draw=(0, 0, 1), kind=MouldKind.TRAYS, inserts=(insert,)
    )
    settings = MouldSettings()
    made = work_out(look_at(request, settings), request, settings, MouldMaterials(), TYPICAL_PRINTERS)
    assert made.fill.channels
    for channel in made.fill.channels:
        assert np.linalg.norm(channel.at_mm) == pytest.approx(12.0, abs=0.2)
    assert made.mould.casting_ml * 1000.0 > 4.0 / 3.0 * pi * 12.0**3 - 24 * 60


# --- asked for

THIRD = '\n[[part]]\nname = "cover"\nfile = "tyre.stl"\ncopies = 1\nhardness = "A 40"\naround = '
LAST = 'hardness = "rigid"\ndraw = [0, 0, 1]\n'
REFUSED_JOBS = {
    "a circle": (("draw = [0, 0, 1]\n", 'draw = [0, 0, 1]\naround = "tyre"\n', -1), "around .* in a circle"),
    "itself": (('around = "hub"', 'around = "tyre"', 1), "tyre around tyre: .* in a circle"),
    "no such part": (('around = "hub"', 'around = "rim"', 1), "around = 'rim', and there is no such part"),
    "too few": (("copies = 6", "copies = 3", 1), "4 copies of tyre are cast around 3 of hub"),
    "printed": (("copies = 6", 'copies = 6\nroute = "print directly"', 1), "printed directly|a print has no mould"),
    "two around one": (
        ("copies = 6", 'copies = 6\n[[part]]\nfile="tyre.stl"\nname="b"\naround="hub"', 1),
        "are both",
    ),
    "in two steps": (('around = "hub"', 'around = "hub"' + THIRD + '"tyre"', 1), "two steps, one in the other"),
    "a sample": (('name = "hub"\nfile = "hub.stl"', 'name = "hub"\nsample = "limpet"', 1), "which is a sample"),
    "together": ((LAST, LAST + '[[together]]\nparts = ["tyre", "hub"]\n', 1), "cast around hub"),
}


@pytest.mark.parametrize("what", REFUSED_JOBS)
def test_what_cannot_be_cast_around_is_refused_in_words(tmp_path, what):
    write_wheels(tmp_path)
    (old, new, which), told = REFUSED_JOBS[what]
    text = JOB.replace(old, new) if which < 0 else JOB.replace(old, new, which)
    if which < 0:
        text = text.replace('around = "tyre"\naround = "hub"', 'around = "hub"')
    with pytest.raises(BadJob, match=told):
        job_from_text(text, folder=tmp_path)
