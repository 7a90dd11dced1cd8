"""The draw that a part is taken along where its hidden flat back lets it be poured openly."""

from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from firstpour.part.marks import MarkRule, apply_marks
from firstpour.part.part import FaceMark, Part
from firstpour.parting.draw import draw_along, rank_draws
from firstpour.parting.flat_back import back_down
from firstpour.parting.ranking import EASY_RATIO
from firstpour.parting.values import DrawOrigin, MouldKind, RankedDraw
from firstpour.plan.look import open_back_first
from firstpour.samples.samples import Sample, sample_part
from mould_shapes import as_part

LEAN_DEG = 15.0
DEEP_MM = 1.2
"""How far the letters stand out of the slanted face."""
HIDDEN = MarkRule(mark=FaceMark.HIDDEN, facing=(0.0, 0.0, -1.0), within_deg=10.0)


def door_stop(*, deep_mm: float = DEEP_MM) -> Part:
    """A wedge of 120 mm on its flat back with bars like letters on its slant, square to the slant."""
    slant = np.tan(np.radians(LEAN_DEG))
    section = manifold3d.CrossSection([[(0.0, 0.0), (120.0, 0.0), (120.0, 40.0 - 120.0 * slant), (0.0, 40.0)]])
    wedge = section.extrude(45.0).rotate((90.0, 0.0, 0.0)).translate((0.0, 45.0, 0.0))
    for x_mm in (20.0, 50.0, 80.0):
        bar = manifold3d.Manifold.cube((6.0, 25.0, 3.0 + deep_mm)).translate((0.0, 10.0, -3.0))
        wedge += bar.rotate((0.0, LEAN_DEG, 0.0)).translate((x_mm, 0.0, 40.0 - x_mm * slant))
    return as_part("door stop", wedge)


def leaning(part: Part) -> tuple[RankedDraw, ...]:
    """As draws are ranked by their seams: square to the slant first, square to the back behind it."""
    lean = np.radians(LEAN_DEG)
    rows = (
        draw_along(part, np.array([np.sin(lean), 0.0, np.cos(lean)])),
        draw_along(part, np.array([0.0, 0.0, 1.0])),
    )
    return tuple(replace(one, origin=DrawOrigin.FLAT, reason="square to flat") for one in rows)


def test_a_lettered_door_stop_is_poured_into_its_hidden_back() -> None:
    """Common practice, no source: letters that lean by 15° hide 0.3 mm, which silicone does not notice."""
    part = apply_marks(door_stop(), (HIDDEN,))
    first = open_back_first(part, leaning(part), asked=None)[0]
    assert first.direction == pytest.approx([0.0, 0.0, 1.0])
    opened = back_down(part, first)
    assert (opened.origin, opened.reason) == (DrawOrigin.FLAT, "square to flat")
    assert opened.locked_loops == 0
    assert opened.stretch_ratio < EASY_RATIO


def test_letters_hide_the_void_under_their_leaning_walls() -> None:
    """Own arithmetic: under each a right triangle of legs h and h tan 15°, 25 mm long; three times."""
    deep_mm = 6.0
    opened = back_down(door_stop(deep_mm=deep_mm), leaning(door_stop(deep_mm=deep_mm))[1])
    void_mm3 = 3 * 25.0 * deep_mm**2 * np.tan(np.radians(LEAN_DEG)) / 2.0
    assert opened.undercut_mm3 == pytest.approx(void_mm3, rel=0.1)


def test_the_whole_ranking_comes_to_the_same_and_loses_no_row() -> None:
    part = apply_marks(door_stop(), (HIDDEN,))
    ranked = rank_draws(part, directions=100)
    ordered = open_back_first(part, ranked, asked=None)
    assert ordered[0].direction == pytest.approx([0.0, 0.0, 1.0], abs=1e-6)
    assert sorted(map(id, ordered)) == sorted(map(id, ranked))


def test_a_back_that_is_seen_opens_nothing_unless_the_job_asks() -> None:
    part = door_stop()
    draws = leaning(part)
    assert open_back_first(part, draws, asked=None) == draws
    assert open_back_first(part, draws, asked=MouldKind.OPEN_FACE)[0] is draws[1]
    for closed in (MouldKind.TRAYS, MouldKind.BEDDING, MouldKind.BLOCK):
        assert open_back_first(apply_marks(part, (HIDDEN,)), draws, asked=closed) == draws


def test_silicone_that_would_be_locked_or_stretched_far_is_not_worth_an_open_back() -> None:
    """A foot, a stem and a head twice as wide: the head's rim of silicone passes the stem only stretched."""
    lathe = manifold3d.CrossSection([[(0, 0), (30, 0), (30, 6), (10, 6), (10, 20), (26, 20), (26, 30), (0, 30)]])
    part = apply_marks(as_part("post", manifold3d.Manifold.revolve(lathe, 96)), (HIDDEN,))
    across, along = (
        replace(draw_along(part, np.array(d)), origin=DrawOrigin.FLAT) for d in ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    )
    assert back_down(part, along).stretch_ratio > 1.0
    assert open_back_first(part, (across, along), asked=None) == (across, along)


def test_a_bollard_is_not_pulled_out_of_its_foot() -> None:
    """Own arithmetic: its head of radius 17 mm must pass a neck of 9.5 mm, which stretches the silicone by 79 %."""
    foot = MarkRule(mark=FaceMark.HIDDEN, facing=(0.0, 0.0, -1.0), within_deg=45.0)
    part = apply_marks(sample_part(Sample.BOLLARD), (foot,))
    draws = rank_draws(part, directions=100)
    along = next(one for one in draws if abs(one.direction[2]) > 0.999)
    assert along.stretch_ratio == pytest.approx(17.0 / 9.5 - 1.0, abs=0.15)
    assert open_back_first(part, draws, asked=None) == draws
