"""What is refused, kept and said where inserts or copies lie in the mould: parts and moulds are stand-ins."""

from dataclasses import dataclass, replace
from types import SimpleNamespace as Some

import manifold3d
import numpy as np
import pytest

from firstpour.errors import BadRequest
from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldSettings
from firstpour.parting.values import Draw, MouldKind
from firstpour.plan import with_inserts as module
from firstpour.plan.cast_around import around_findings
from firstpour.plan.with_inserts import check_held, own_draw, seam_on_shot, told_of, with_inserts
from firstpour.values import Finding, Severity
from mould_shapes import as_part

UP = np.array([0.0, 0.0, 1.0])
LEANING = np.array([0.6, 0.0, 0.8])


def found(code):
    return Finding(severity=Severity.INFO, code=code, what=code, remedy=code)


def insert(*sides, words="a nut", copy_of=None):
    return Some(insert=Some(words=words, copy_of=copy_of), sides=sides)


def held(*inserts, shot=None):
    return Some(inserts=inserts, shot=shot, findings=(found("insert-stays"),))


@dataclass(frozen=True)
class Region:
    """An undercut, as far as its faces go."""

    faces: np.ndarray


def draw(direction=UP, *, loops=0, undercut_mm3=0.0, stretch=0.0, regions=()):
    return Draw(
        direction=direction, undercut_mm3=undercut_mm3, locked_loops=loops, stretch_ratio=stretch,
        squeeze_ratio=stretch / 2, seam_on_show_mm=0.0, height_mm=9.0, pitch_mm=0.1, undercut_mm2=2 * undercut_mm3,
        undercut_depth_mm=3 * undercut_mm3, regions=regions, reach=np.zeros(4, np.uint8),
    )  # fmt: skip


def parting(kind=MouldKind.TRAYS, **of_draw):
    return Some(kind=kind, draw=draw(**of_draw))


@pytest.mark.parametrize(
    ("direction", "sides", "holds"),
    [
        (LEANING, (1,), True), (LEANING, (-1,), False), (LEANING, (1, -1), False),
        (-LEANING, (-1,), True), (-LEANING, (1,), False),
    ],
)  # fmt: skip
def test_an_open_mould_holds_an_insert_at_its_own_side_alone_whichever_way_up_it_stands(direction, sides, holds):
    """The draw was chosen upwards; a mould along −draw has its silicone on the other side."""
    asked = held(insert(*sides)), parting(MouldKind.OPEN_FACE, direction=direction), Some(draw=draw())
    if holds:
        check_held(*asked)
        return
    with pytest.raises(BadRequest, match="a nut is to be held at the open back of the mould"):
        check_held(*asked)


@pytest.mark.parametrize("sides", [(1,), (-1,), (1, -1)])
def test_trays_hold_an_insert_at_either_side_and_a_block_at_none(sides):
    check_held(held(insert(*sides)), parting(), Some(draw=draw()))
    with pytest.raises(BadRequest, match="kind block holds no insert"):
        check_held(held(insert(*sides)), parting(MouldKind.BLOCK), Some(draw=draw()))


def test_an_insert_that_silicone_closes_over_is_refused_with_what_is_shut_in():
    both = held(insert(1), insert(1, words="a staple"))
    check_held(both, parting(loops=1, undercut_mm3=130.0), Some(draw=draw(loops=1, undercut_mm3=30.0)))
    with pytest.raises(BadRequest, match=r"^a nut and a staple cannot be laid .* \(100 mm³\)"):
        check_held(both, parting(loops=2, undercut_mm3=130.0), Some(draw=draw(loops=1, undercut_mm3=30.0)))


# --- the seam, and the draw ----------------------------------------------------------------------------

SHOT = as_part("cube", manifold3d.Manifold.cube((20.0, 20.0, 20.0), True))


@dataclass(frozen=True)
class Parted:
    """A parting, as far as its seam goes."""

    seam_mm: tuple
    frame: np.ndarray
    draw: Draw


def on_shot(*loops):
    """The loops lie turned by a quarter about z from the part."""
    frame = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    seam = tuple(np.array(loop, dtype=float) @ frame.T for loop in loops)
    kept = seam_on_shot(Parted(seam_mm=seam, frame=frame, draw=draw()), held(shot=SHOT)).seam_mm
    return [(loop @ frame).round(6).tolist() for loop in kept]


ROUND = [[10.0, -10.0, 0.0], [10.0, 10.0, 0.0], [-10.0, 10.0, 0.0], [-10.0, -10.0, 0.0]]


@pytest.mark.parametrize(("off_mm", "stays"), [(0.0, True), (0.09, True), (0.15, False), (-0.15, False)])
def test_a_seam_on_the_shot_stays_and_one_around_an_insert_goes(off_mm, stays):
    loop = [[x, y, 10.0 + off_mm] for x, y in ((-2.0, -2.0), (2.0, -2.0), (0.0, 2.0))]
    assert on_shot(ROUND, loop) == ([ROUND, loop] if stays else [ROUND])


def test_of_a_seam_that_runs_over_an_insert_in_part_the_edges_on_the_shot_stay():
    """A step aside over the insert, at x = 13: three edges of six have both of their ends on the cube."""
    first, second, *others = ROUND
    loop = [[13.0, 2.0, 0.0], second, *others, first, [13.0, -2.0, 0.0]]
    assert on_shot(loop) == [[second, others[0]], [others[0], others[1]], [others[1], first]]
    turned_on = [*others, first, [13.0, -2.0, 0.0], [13.0, 2.0, 0.0], second]
    assert [second, others[0]] in on_shot(turned_on)
    assert len(on_shot(turned_on)) == 3
    assert on_shot([first, [13.0, 0.0, 0.0], second]) == [[second, first]]
    assert on_shot([first, [13.0, 0.0, 0.0]]) == []


def test_the_draw_of_the_part_alone_is_that_of_the_way_up_that_the_mould_stands(monkeypatch):
    own, over = draw(), draw(-UP)
    monkeypatch.setattr(module, "draw_along", lambda part, direction, *, give: over if direction[2] < 0 else None)
    looked = Some(part="part", draw=own)
    assert own_draw(held(insert(1)), looked, parting(direction=LEANING), MouldSettings()) is own
    assert own_draw(held(insert(1)), looked, parting(direction=-LEANING), MouldSettings()) is over


def test_around_a_copy_the_silicone_must_give_what_both_together_ask():
    both = parting(loops=2, undercut_mm3=7.0, stretch=0.4, regions=(Region(np.arange(5)),))
    asked = own_draw(held(insert(1), insert(1, copy_of="hub")), Some(draw=draw()), both, MouldSettings())
    assert (asked.undercut_mm3, asked.undercut_mm2, asked.undercut_depth_mm) == (7.0, 14.0, 21.0)
    assert (asked.stretch_ratio, asked.squeeze_ratio, asked.locked_loops) == (0.4, 0.2, 2)
    assert [len(one.faces) for one in asked.regions] == [0]


@dataclass(frozen=True)
class Mould:
    """A mould, as far as its stretch goes."""

    stretch_ratio: float
    findings: tuple


@pytest.mark.parametrize(("asks", "more"), [(0.2, False), (0.3, False), (0.309, False), (0.315, True), (0.9, True)])
def test_a_hundredth_more_stretch_for_pins_and_seats_is_told_in_the_stead_of_the_parts_own(monkeypatch, asks, more):
    monkeypatch.setattr(
        module, "draw_findings", lambda *_: (found("locked"), replace(found("undercut"), what="more"))
    )
    plain = Mould(stretch_ratio=0.3, findings=(found("undercut"), found("typical")))
    made = with_inserts(plain, held(insert(1)), parting(stretch=asks), MouldSettings())
    assert with_inserts(plain, None, parting(stretch=asks), MouldSettings()) is plain
    if not more:
        assert made is plain
        return
    assert made.stretch_ratio == asks
    assert [(one.code, one.what) for one in made.findings] == [("typical", "typical"), ("undercut", "more")]


def test_an_insert_that_would_fall_as_the_mould_is_poured_is_told(monkeypatch):
    falls, stays = insert(1, words="falls"), insert(1)
    monkeypatch.setattr(
        module, "may_fall", lambda one, *_: found("insert-falls") if one.insert.words == "falls" else None
    )
    looked, both = Some(draw=draw()), held(stays, falls)
    assert [one.code for one in told_of(both, looked, None)] == ["insert-stays"]
    assert [one.code for one in told_of(both, looked, Some(up=UP))] == ["insert-stays", "insert-falls"]


# --- cast around a copy --------------------------------------------------------------------------------


def casting(family):
    return Some(material=Some(name=f"the {family}", traits=frozenset({family})))


def around(*families, pours=10, core_copies=12, known=("tyre", "hub"), core="hub", decided=True):
    """A tyre of 10 copies around hubs, of materials of the families: the tyre's and the hub's."""
    parts = {name: Some(request=PartRequest(name=name, copies=core_copies)) for name in known}
    tyre = Some(
        request=PartRequest(name="tyre", around=core, copies=10), choice=None if pours is None else Some(pours=pours)
    )
    picked = [casting(one) if one else None for one in families]
    decisions = Some(parts=[Some(name="hub", casting=picked[1]), Some(name="tyre", casting=picked[0])])
    return [(one.code, one.severity) for one in around_findings(tyre, parts, decisions if decided else None)]


INFO, WARNING, ERROR = Severity.INFO, Severity.WARNING, Severity.ERROR


def test_nothing_is_said_of_a_part_that_is_cast_around_nothing():
    assert around("urethane", "urethane", core=None, core_copies=1) == []


def test_a_core_that_was_not_planned_is_an_error():
    assert around("urethane", "urethane", known=("tyre",)) == [("no-core", ERROR)]


@pytest.mark.parametrize(
    ("outer", "inner", "told"),
    [
        ("urethane", "urethane", [("bond", INFO)]),
        ("urethane", "epoxy", [("bond", WARNING)]),
        ("addition silicone rubber", "contains sulphur", [("core-stops-cure", ERROR), ("bond", WARNING)]),
        (None, "urethane", []),
        ("urethane", None, []),
    ],
)
def test_what_bonds_is_told_what_does_not_is_a_warning_and_what_stops_the_cure_an_error(outer, inner, told):
    """Urethane bonds to urethane (common practice, no source); sulphur poisons platinum (Lukin et al., Polymers 12
    (2020) 2174, from memory)."""
    assert around(outer, inner) == told


def test_without_decisions_only_the_number_of_cores_is_looked_at():
    assert around("urethane", "epoxy", pours=13, decided=False) == [("cores-short", WARNING)]


@pytest.mark.parametrize(("pours", "short"), [(None, False), (12, False), (13, True)])
def test_fewer_cores_than_shots_are_told(pours, short):
    assert around(None, None, pours=pours) == [("cores-short", WARNING)] * short
