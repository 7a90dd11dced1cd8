"""Our stretch of lips and plugs, as the draw gives it for the part, against finite elements of large strain.

Contact is a given displacement of the silicone's border: the lip's inside is carried out to the bulge, the plug's
side in to the neck, free to slide along the axis. Undercuts of 1, 2, 4 and 8 mm; within 30 %.
"""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from skfem import MeshQuad

from draw_shapes import grooved_rod, necked_pot
from firstpour.parting.draw import draw_along
from firstpour.parting.values import Way
from mould_shapes import Z, as_part
from rubber_elements import Given, strain

UNDERCUTS_MM = (1.0, 2.0, 4.0, 8.0)
NECK_MM, GROOVE_MM, WALL_MM = 15.0, 8.0, 8.0
PLUG_MM, NECK_LONG_MM, LEAD_MM = 22.0, 12.0, 20.0
STEP_MM = 3.0
NEAR = 1e-6


def steps(*ends: float) -> np.ndarray:
    """Places from the first end over the others, at most `STEP_MM` apart."""
    parts = [np.linspace(a, b, int(np.ceil((b - a) / STEP_MM)) + 1)[1:] for a, b in pairwise(ends)]
    return np.concatenate([[ends[0]], *parts])


def still(places):
    return np.zeros(places.shape[1])


@cache
def lip_elements(undercut_mm: float):
    """The silicone around a grooved rod: a wall with a lip, half of it above the plane of mirror."""
    root = NECK_MM + undercut_mm
    mesh = MeshQuad.init_tensor(steps(NECK_MM, root, root + WALL_MM), steps(0.0, GROOVE_MM / 2, 14.0))
    middle = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.flatnonzero((middle[0] < root) & (middle[1] > GROOVE_MM / 2)))
    carried = Given(where=lambda x: x[0] < NECK_MM + NEAR, component=0, amount=lambda x: still(x) + undercut_mm)
    mirror = Given(where=lambda x: np.abs(x[1]) < NEAR, component=1, amount=still)
    strained = strain(mesh, [carried, mirror], steps=int(max(3, undercut_mm)))
    return strained, strained.place[0] < root


@cache
def plug_elements(undercut_mm: float):
    """A plug whose middle is in the neck, with a rounded lead into it; half of it above the plane of mirror."""
    half = NECK_LONG_MM / 2
    mesh = MeshQuad.init_tensor(steps(0.0, PLUG_MM), steps(0.0, half, half + LEAD_MM, half + LEAD_MM + 12.0))

    def inwards(x):
        lead = np.clip((x[1] - half) / LEAD_MM, 0.0, 1.0)
        return -undercut_mm * 0.5 * (1.0 + np.cos(np.pi * lead))

    side = Given(
        where=lambda x: (x[0] > PLUG_MM - NEAR) & (x[1] < half + LEAD_MM + NEAR), component=0, amount=inwards
    )
    mirror = Given(where=lambda x: np.abs(x[1]) < NEAR, component=1, amount=still)
    axis = Given(where=lambda x: x[0] < NEAR, component=0, amount=still)
    strained = strain(mesh, [side, mirror, axis], steps=int(max(3, 1.5 * undercut_mm)))
    return strained, strained.place[1] < half


@pytest.mark.parametrize("undercut_mm", UNDERCUTS_MM)
def test_a_lip_over_a_bulge_is_stretched_as_the_elements_say(undercut_mm):
    draw = draw_along(as_part("rod", grooved_rod(NECK_MM, undercut_mm)), Z)
    (region,) = draw.regions
    assert region.stretch.way is Way.LIP
    strained, lip = lip_elements(undercut_mm)
    everywhere = np.ones_like(lip)
    assert region.stretch.stretch_ratio == pytest.approx(strained.passed(0.95, lip), rel=0.3)
    assert region.stretch.stretch_ratio == pytest.approx(strained.passed(1.0, everywhere), rel=0.3)


@pytest.mark.parametrize("undercut_mm", UNDERCUTS_MM)
def test_a_plug_through_a_neck_is_stretched_as_the_elements_say(undercut_mm):
    draw = draw_along(as_part("pot", necked_pot(PLUG_MM, undercut_mm)), Z)
    region = draw.regions[0]
    assert region.stretch.way is Way.PLUG
    strained, neck = plug_elements(undercut_mm)
    assert region.stretch.stretch_ratio == pytest.approx(strained.passed(0.5, neck), rel=0.3)
    assert region.stretch.stretch_ratio == pytest.approx(strained.passed(0.95, neck), rel=0.3)


def test_a_bar_of_rubber_drawn_out_evenly_has_its_closed_form():
    """The model itself: pulled to twice its length a free bar thins by 1 / √2 (1½ % off at this bulk modulus)."""
    mesh = MeshQuad.init_tensor(np.linspace(0, 5, 4), np.linspace(0, 10, 5))
    ends = [
        Given(where=lambda x: np.abs(x[1]) < NEAR, component=1, amount=still),
        Given(where=lambda x: x[1] > 10 - NEAR, component=1, amount=lambda x: still(x) + 10.0),
        Given(where=lambda x: x[0] < NEAR, component=0, amount=still),
    ]
    stretches = strain(mesh, ends, steps=4).stretches
    assert stretches[..., 2] == pytest.approx(2.0)
    assert stretches[..., 0] == pytest.approx(1 / np.sqrt(2), rel=0.015)
