"""What blocks the draw, against closed forms and the convexity of hulls."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.parting.undercut import find_undercut
from firstpour.parting.values import Reach
from firstpour.surface.dexels import bottom_map_mm, cut_dexels, dexel_volume_mm3, top_map_mm
from firstpour.surface.solids import from_solid
from firstpour.values import face_areas_mm2, face_normals
from mould_shapes import (
    BOLLARD_SEGMENTS,
    FOOT_MM,
    NECK_HIGH_MM,
    NECK_MM,
    WITHOUT_UNDERCUT,
    X,
    Z,
    as_part,
    draw_of,
    sample,
)
from sample_shapes import polygon_share

directions = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1)
"""Draws all around."""


@given(seed=st.integers(0, 10_000), direction=directions)
@settings(max_examples=25, deadline=None)
def test_a_convex_part_has_no_undercut_along_any_draw(seed, direction):
    """By the definition of convexity every line meets the part in one stretch (checks.md, Draw and undercut)."""
    points = np.random.default_rng(seed).normal(size=(24, 3)) * [20.0, 12.0, 8.0]
    undercut = find_undercut(from_solid(manifold3d.Manifold.hull_points(points)), np.array(direction), resolution=96)
    assert undercut.volume_mm3 == 0.0
    assert undercut.regions == ()
    assert not (undercut.reach == Reach.NEITHER).any()


def test_the_groove_of_the_bollard_has_its_closed_form():
    """Along its axis the neck is held between head and foot: a ring from the neck to the foot.

    The rings of the polygon that stands for the circle have its share of the area; the raster adds half a per cent.
    """
    draw = draw_of("bollard", (0.0, 0.0, 1.0))
    ring_mm2 = np.pi * (FOOT_MM**2 - NECK_MM**2) * polygon_share(BOLLARD_SEGMENTS)
    wall_mm2 = BOLLARD_SEGMENTS * 2 * NECK_MM * np.sin(np.pi / BOLLARD_SEGMENTS) * NECK_HIGH_MM
    assert draw.undercut_mm3 == pytest.approx(ring_mm2 * NECK_HIGH_MM, rel=0.005)
    assert draw.undercut_mm2 == pytest.approx(2 * ring_mm2 + wall_mm2, rel=0.01)
    assert draw.undercut_depth_mm == pytest.approx(FOOT_MM - NECK_MM, abs=draw.pitch_mm)
    assert len(draw.regions) == 1
    assert draw.regions[0].centre_mm == pytest.approx([0.0, 0.0, 8.0 + NECK_HIGH_MM / 2], abs=0.1)


def test_the_bollard_has_no_undercut_sideways():
    draw = draw_of("bollard", (1.0, 0.0, 0.0))
    assert draw.undercut_mm3 == 0.0
    assert draw.undercut_depth_mm == 0.0
    assert draw.regions == ()


def test_the_faces_of_an_undercut_are_those_of_the_groove():
    draw = draw_of("bollard", (0.0, 0.0, 1.0))
    mesh = sample("bollard").mesh
    corners = mesh.vertices_mm[mesh.faces[draw.regions[0].faces]]
    assert (corners[..., 2] > 8.0 - 1e-9).all()
    assert (corners[..., 2] < 28.0 + 1e-9).all()


def test_a_cylinder_is_drawn_along_its_axis_with_its_curved_face_vertical():
    """n·d ≥ 0 and nothing in front: mouldable, equality included (Lin & Quang 2014, eq. 1; Khardekar, Burton &
    McMains 2006, from memory). Draft 0 is reached from both sides."""
    draw = draw_of("cylinder", (0.0, 0.0, 1.0))
    lean = face_normals(sample("cylinder").mesh)[:, 2]
    assert (draw.reach[np.abs(lean) < 0.5] == Reach.BOTH).all()
    assert (draw.reach[lean > 0.5] == Reach.ABOVE).all()
    assert (draw.reach[lean < -0.5] == Reach.BELOW).all()
    assert draw.undercut_mm3 == 0.0
    assert draw.undercut_mm2 == 0.0


def test_a_mushroom_is_reached_from_below_under_its_cap():
    draw = draw_of("mushroom", (0.0, 0.0, 1.0))
    mesh = sample("mushroom").mesh
    under = face_normals(mesh)[:, 2] < -0.5
    assert under.any()
    assert (draw.reach[under] == Reach.BELOW).all()


@pytest.mark.parametrize("name", ["bollard", "hourglass", "tilted torus", "L-bracket", "limpet cup"])
@pytest.mark.parametrize("direction", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8), (0.5, 0.7, -0.3)])
def test_undercut_is_what_fills_the_part_up_between_its_depth_maps(name, direction):
    """U(d) = ∫ (top − bottom) dA − V."""
    mesh = sample(name).mesh
    undercut = find_undercut(mesh, np.array(direction), resolution=160)
    dexels = cut_dexels(mesh, np.array(direction), resolution=160, margin=2)
    top, bottom = top_map_mm(dexels), bottom_map_mm(dexels)
    hit = np.isfinite(top)
    filled_mm3 = float((top[hit] - bottom[hit]).sum()) * dexels.pitch_mm**2
    assert undercut.volume_mm3 == pytest.approx(filled_mm3 - dexel_volume_mm3(dexels), abs=1e-6 * filled_mm3)


def test_undercut_does_not_depend_on_which_end_the_draw_points_to():
    mesh = sample("hourglass").mesh
    one, other = (find_undercut(mesh, sign * np.array([0.2, 0.1, 0.9]), resolution=200) for sign in (1, -1))
    assert one.volume_mm3 == pytest.approx(other.volume_mm3, rel=0.01)


def test_a_void_shut_inside_has_no_way_out():
    ball = manifold3d.Manifold.sphere
    hollow = as_part("hollow", ball(15.0, 48) - ball(8.0, 48))
    undercut = find_undercut(hollow.mesh, Z, resolution=200)
    assert len(undercut.regions) == 1
    assert undercut.regions[0].depth_mm is None
    assert undercut.volume_mm3 == pytest.approx(ball(8.0, 48).volume(), rel=0.005)


def test_two_separate_grooves_are_two_regions():
    notch = manifold3d.Manifold.cube((6.0, 30.0, 4.0)).translate((14.0, -5.0, 8.0))
    bar = manifold3d.Manifold.cube((20.0, 20.0, 20.0)) - notch - notch.translate((-14.0, 0.0, 0.0))
    undercut = find_undercut(from_solid(bar), Z)
    assert [region.volume_mm3 for region in undercut.regions] == pytest.approx([480.0, 480.0], rel=0.01)
    assert [region.depth_mm for region in undercut.regions] == pytest.approx([6.0, 6.0], abs=2 * undercut.pitch_mm)


@pytest.mark.parametrize(("name", "direction"), WITHOUT_UNDERCUT)
def test_parts_without_undercut_have_none_found(name, direction):
    """Area beside inner edges is not resolved: a probe of one pixel beside a wall meets the next wall there."""
    draw = draw_of(name, tuple(direction.tolist()))
    size_mm2 = face_areas_mm2(sample(name).mesh).sum()
    assert draw.regions == ()
    assert draw.undercut_mm3 < 1e-6 * size_mm2
    assert draw.undercut_mm2 < 1e-3 * size_mm2


@pytest.mark.parametrize("direction", [(0.0, 0.0, 0.0), (np.nan, 0.0, 1.0), (np.inf, 0.0, 0.0)])
def test_a_direction_without_a_length_is_refused_with_a_remedy(direction):
    with pytest.raises(BadRequest, match="direction") as refused:
        find_undercut(sample("cube").mesh, np.array(direction))
    assert "0,0,1" in refused.value.remedy


def test_the_area_out_of_reach_is_never_more_than_the_part_has():
    undercut = find_undercut(sample("hourglass").mesh, X + Z, resolution=200)
    assert 0.0 < undercut.area_mm2 < face_areas_mm2(sample("hourglass").mesh).sum()
