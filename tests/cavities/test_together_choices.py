"""Parts together in one mould before and after they are nested: which way up, how much room, where each lies."""

from types import SimpleNamespace as Some

import manifold3d
import numpy as np
import pytest

from firstpour.errors import BadRequest
from firstpour.fill.values import ChannelUse
from firstpour.job.job import Member, PartRequest
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting.draw import draw_along
from firstpour.parting.values import MouldKind
from firstpour.plan import together as module
from firstpour.plan.together import look_together
from firstpour.printing.allowance import Fit, FitKind
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.surface.solids import to_solid
from mould_shapes import Y, Z, as_part

SETTINGS = MouldSettings()


def box(*size):
    return as_part("box", manifold3d.Manifold.cube(tuple(float(one) for one in size)).translate((3.0, 5.0, 7.0)))


def member(name="box", *, count=1, up=None, fits=()):
    return Member(request=PartRequest(name=name, up=up, fits=fits), count=count)


def test_for_a_first_look_all_copies_of_a_shot_stand_in_a_row_a_wall_apart_each_with_its_draw_upright(monkeypatch):
    """20 × 14 × 6 drawn along z, and twice 12 × 8 × 4 along y, so that it is 8 high; 8 mm of silicone between."""
    sizes, draws = {"long": (20, 14, 6), "short": (12, 8, 4)}, {"long": Z, "short": Y}

    def look(request, _):
        part = box(*sizes[request.name])
        return Some(part=part, draw=draw_along(part, draws[request.name]))

    monkeypatch.setattr(module, "look_at", look)
    members = (member("long"), member("short", count=2))
    looked = look_together(PartRequest(name="set", members=members), SETTINGS)
    meshes = to_solid(looked.part.mesh).decompose()
    boxes = np.array(sorted(tuple(one.bounding_box()) for one in meshes))
    low, high = boxes[:, :3], boxes[:, 3:]
    assert low[:, 1:] == pytest.approx(np.zeros((3, 2)), abs=1e-4)
    assert (high - low)[0] == pytest.approx([20.0, 14.0, 6.0], abs=1e-4)
    assert (high - low)[1:, 2] == pytest.approx([8.0, 8.0], abs=1e-4)
    assert low[1:, 0] - high[:-1, 0] == pytest.approx([8.0, 8.0], abs=1e-4)
    assert low[0, 0] == pytest.approx(0.0, abs=1e-4)
    assert looked.part.name == "set"
    assert len(looked.members) == 2
    assert looked.draw.direction == pytest.approx(Z)


# --- which way up --------------------------------------------------------------------------------------


def leaning(degrees):
    return (np.sin(np.radians(degrees)), 0.0, np.cos(np.radians(degrees)))


@pytest.mark.parametrize(
    ("up", "tried"),
    [
        (None, [Z, -Z]), ((0.0, 0.0, 5.0), [Z]), ((0.0, 0.0, -0.5), [-Z]), (leaning(2.5), [Z]),
        (leaning(177.5), [-Z]),
    ],
)  # fmt: skip
def test_both_ways_up_along_the_draw_are_tried_or_the_one_that_was_given_to_two_and_a_half_degrees(
    monkeypatch, up, tried
):
    """The one with the least trouble is taken: here the last."""
    ups = []
    monkeypatch.setattr(module, "trouble", lambda plan: plan)
    monkeypatch.setattr(
        module, "_upright", lambda one, look, up, *_: ups.append(up) or Some(fill=Some(plan=-len(ups)), up=up)
    )
    taken = module._alone(member(up=up), Some(draw=Some(direction=Z)), SETTINGS, None)
    assert np.array(ups) == pytest.approx(np.array(tried))
    assert taken.up is ups[-1]


def test_a_pour_three_degrees_off_the_draw_is_refused_by_the_name_of_its_part():
    with pytest.raises(BadRequest) as refused:
        module._alone(member("knob", up=leaning(3.0)), Some(draw=Some(direction=Z)), SETTINGS, None)
    assert refused.value.problem.startswith("knob: it is to be poured with")


@pytest.mark.parametrize(("up", "anew"), [(Z, False), (-Z, True), (np.array(leaning(1.0)), False)])
def test_a_part_is_parted_the_way_up_that_it_is_poured_and_beside_others(monkeypatch, up, anew):
    part = box(20, 14, 6)
    own, given = draw_along(part, Z), {}
    parting = Some(kind=MouldKind.TRAYS, draw=own)
    monkeypatch.setattr(module, "lay_parting_that_opens", lambda part, draw, **_: given.update(draw=draw) or parting)
    monkeypatch.setattr(
        module,
        "plan_fill",
        lambda part, one, request, settings, **more: given.update(up=request.up, **more) or Some(channels=()),
    )
    monkeypatch.setattr(module, "footprint_of", lambda *_, **__: "foot")
    made = module._upright(member(), Some(part=part, draw=own), up, SETTINGS, "mix")
    assert (given["draw"] is own) is not anew
    assert given["draw"].direction @ up > 0.99
    assert given["up"] == pytest.approx(tuple(up))
    assert (given["beside"], given["mix"], made.foot) == (True, "mix", "foot")


def test_a_part_whose_halves_do_not_come_apart_is_refused(monkeypatch):
    shut = Some(kind=MouldKind.BLOCK, shut=Some(why="a ring is shut"))
    monkeypatch.setattr(module, "lay_parting_that_opens", lambda *_, **__: shut)
    part = box(20, 14, 6)
    with pytest.raises(BadRequest, match="a ring is shut"):
        module._upright(member(), Some(part=part, draw=draw_along(part, Z)), Z, SETTINGS, None)


# --- nested --------------------------------------------------------------------------------------------


def alone(count, *, high_mm, rim_mm=None, low_mm=-5.0):
    block = Some(low_mm=np.array([0.0, 0.0, low_mm]), high_mm=np.array([50.0, 50.0, low_mm + high_mm]))
    halves = None if rim_mm is None else Some(sheet=Some(rim_mm=rim_mm))
    foot = Some(centre_mm=np.array([float(count), 0.0]))
    return Some(
        member=member(count=count), part=f"part of {count}", parting=Some(block=block, halves=halves), foot=foot,
        fill=Some(channels=("gate",)),
    )  # fmt: skip


def nested(monkeypatch, *, bed_mm=(200.0, 150.0, 180.0)):
    """Two of the first, one of the second: what the nesting was given, and where each came to lie."""
    given, walls = {}, {}

    def nest(feet, counts, *, wall_mm, room_mm):
        given.update(feet=feet, counts=counts, wall_mm=wall_mm, room_mm=room_mm)
        return Some(copies=[Some(part=k, place=f"place {n}") for n, k in enumerate((1, 0, 0))])

    def box_wall(block, settings, *, silicone_g_ml):
        walls.update(low=block.low_mm, high=block.high_mm, silicone_g_ml=silicone_g_ml)
        return 3.0

    monkeypatch.setattr(module, "nest", nest)
    monkeypatch.setattr(module, "box_wall_mm", box_wall)
    materials = Some(scale=1.25, silicone_g_ml=1.1)
    printer = Some(size_mm=bed_mm)
    parts = [alone(2, high_mm=20.0, rim_mm=4.0), alone(1, high_mm=30.0)]
    return given, walls, module._nested(parts, SETTINGS, materials, printer)


def test_walls_are_those_of_a_box_as_large_as_the_bed_and_the_room_is_what_they_and_the_silicone_leave(monkeypatch):
    """Of a master 1.25 times the part the tallest block, 30, is 37.5 high; of a bed of 200 × 150 with walls of 3 are
    left 194 / 1.25 − 16 and 144 / 1.25 − 16."""
    given, walls, _ = nested(monkeypatch)
    assert walls["silicone_g_ml"] == 1.1
    assert walls["low"] == pytest.approx([0.0] * 3)
    assert walls["high"] == pytest.approx([200.0, 150.0, 37.5])
    assert given["room_mm"] == pytest.approx([139.2, 99.2])
    assert (given["counts"], given["wall_mm"]) == ([2, 1], SETTINGS.wall_mm)
    small, *_ = nested(monkeypatch, bed_mm=(20.0, 24.0, 180.0))
    assert small["room_mm"] == pytest.approx([0.0, 0.0])


def test_each_copy_lies_where_it_was_nested_with_the_rim_of_its_parting_surface_at_one_height(monkeypatch):
    _, _, (first, second) = nested(monkeypatch)
    assert [one.place for one in first] == ["place 1", "place 2"]
    assert [one.place for one in second] == ["place 0"]
    assert [one.lift_mm for one in (*first, *second)] == [-4.0, -4.0, 0.0]
    assert [one.part for one in (*first, *second)] == ["part of 2", "part of 2", "part of 1"]


# --- filled --------------------------------------------------------------------------------------------


def moved(x_mm):
    """A cavity that lies so far along x from its part."""
    return Some(in_mould=lambda points: points + np.array([x_mm, 0.0, 0.0]))


def test_all_cavities_are_filled_at_once_by_their_gates_and_where_one_is_missing_from_its_highest_place(monkeypatch):
    filled = []
    monkeypatch.setattr(module, "cut_cavity", lambda whole, up, *, resolution: resolution)
    monkeypatch.setattr(module, "fill_cavity", lambda cavity, **given: filled.append(given) or "filled")
    at = [np.array([float(k), 0.0, 9.0]) for k in range(4)]
    uses = (ChannelUse.GATE, ChannelUse.VENT, ChannelUse.GATE, ChannelUse.VENT)
    channels = [Some(use=use, at_mm=one) for use, one in zip(uses, at, strict=True)]
    gated = Some(fill=Some(plan=Some(gate="gate"), findings=()), member=member("a"), part=box(20, 10, 5))
    top = Some(gate=None, vented=Some(gate_mm=np.array([0.0, 1.0, 2.0])))
    shut = Some(fill=Some(plan=top, findings=()), member=member("b"), part=box(4, 2, 10))
    laid = [(gated, (moved(0.0),)), (shut, (moved(50.0), moved(70.0)))]
    fill = module._fill(box(100, 40, 10), laid, channels)
    gates = [at[0].tolist(), at[2].tolist(), [50.0, 1.0, 2.0], [70.0, 1.0, 2.0]]
    for given in filled:
        assert [given["gate_mm"].tolist(), *(one.tolist() for one in given["more_gates_mm"])] == gates
    assert "vents_mm" not in filled[0]
    assert [one.tolist() for one in filled[1]["vents_mm"]] == [at[1].tolist(), at[3].tolist()]
    assert (len(fill.plan.gates), len(fill.plan.vents), fill.pours) == (2, 2, ())
    assert fill.up == pytest.approx(Z)


@pytest.mark.parametrize(("long_mm", "lines"), [(20.0, 256), (50.0, 640), (90.0, 768)])
def test_the_grid_over_all_is_as_close_as_over_the_largest_alone_up_to_768_lines(long_mm, lines):
    """256 lines over a part 20 long: 640 over 50."""
    assert module._lines(box(long_mm, 12, 5), [box(10, 20, 3), box(4, 6, 5)]) == lines


HOLE = Fit(kind=FitKind.HOLE, nominal_mm=6.0, tolerance_mm=0.1)


def test_a_fit_at_a_place_holds_in_every_cavity_and_one_without_is_said_once():
    near = Fit(kind=FitKind.HOLE, nominal_mm=6.0, tolerance_mm=0.1, near_mm=(1.0, 2.0, 3.0))
    one = Some(member=member(fits=(HOLE, near)))
    fits = module._fits(one, (moved(0.0), moved(30.0)))
    assert [fit.near_mm for fit in fits] == [None, (1.0, 2.0, 3.0), (31.0, 2.0, 3.0)]


def test_a_bed_that_is_too_small_is_told_with_what_would_lie_on_it():
    block = Some(low_mm=np.zeros(3), high_mm=np.array([60.0, 50.0, 30.0]))
    small = Some(size_mm=(40.0, 200.0, 200.0))
    asked = Some(block=block), PartRequest(name="set", members=(member("a", count=2), member("b"))), SETTINGS
    module._check_bed(*asked, MouldMaterials(), TYPICAL_PRINTERS[0])
    with pytest.raises(BadRequest, match=r"^2 × a and 1 × b together fit no printer here: .* takes 40 × 200 mm"):
        module._check_bed(*asked, MouldMaterials(), small)
