"""Directions with a name: found however the part lies, each with its reason."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from draw_shapes import ORDINARY
from families.catalogue import family_part
from firstpour.parting.candidates import (
    _upwards,
    bores_of,
    named_candidates,
    principal_axes,
    quick_rounds,
    surface_points_mm,
)
from firstpour.parting.values import DrawOrigin
from firstpour.surface.solids import from_solid
from firstpour.values import frame_along, turned
from mould_shapes import X, Y, Z, sample


def candidates(mesh):
    return named_candidates(mesh, quick_rounds(mesh))


def origins_along(mesh, axis):
    return [one.origin for one in candidates(mesh) if abs(one.direction @ axis) > np.cos(np.radians(0.5))]


@pytest.mark.parametrize(
    ("name", "axis", "origin"),
    [
        ("wheel", Z, DrawOrigin.ROUND),
        ("gear", Z, DrawOrigin.ROUND),
        ("bowl", Z, DrawOrigin.SYMMETRY),
        ("bracket", X, DrawOrigin.ROUND),
        ("bracket", Z, DrawOrigin.ROUND),
        ("bracket", X + Z, DrawOrigin.SYMMETRY),
        ("mug", Y, DrawOrigin.MIRROR),
        ("lattice", X, DrawOrigin.FLAT),
    ],
)
@pytest.mark.parametrize("seed", [None, 7])
def test_the_axis_that_a_caster_sees_is_a_candidate(name, axis, origin, seed):
    mesh, rotation = from_solid(ORDINARY[name]()), np.eye(3)
    if seed is not None:
        rotation = frame_along(np.random.default_rng(seed).normal(size=3))
    found = origins_along(turned(mesh, rotation=rotation), rotation @ (axis / np.linalg.norm(axis)))
    assert found == [origin]


def test_halfway_between_two_crossing_holes_is_a_candidate():
    found = [one for one in candidates(family_part("bracket", size_mm=50.0).mesh) if "halfway" in one.reason]
    assert max(abs(one.direction @ (X + Z)) for one in found) / np.sqrt(2) == pytest.approx(1.0, abs=1e-3)


def test_the_axes_of_the_file_are_candidates_where_nothing_better_lies_along_them():
    assert [origins_along(sample("sphere").mesh, axis) for axis in (X, Y, Z)] == [[DrawOrigin.AXIS]] * 3


@pytest.mark.parametrize("name", list(ORDINARY))
def test_no_two_candidates_are_one_and_each_has_a_reason(name):
    found = candidates(from_solid(ORDINARY[name]()))
    cosines = np.abs(np.array([[a.direction @ b.direction for a in found] for b in found])) - 2 * np.eye(len(found))
    assert cosines.max() < np.cos(np.radians(0.99))
    assert all(one.reason and np.linalg.norm(one.direction) == pytest.approx(1.0) for one in found)


@given(sides=st.tuples(*[st.floats(5.0, 50.0)] * 3), seed=st.integers(0, 1000))
@settings(max_examples=20, deadline=None)
def test_the_moments_of_a_box_have_their_closed_form(sides, seed):
    """Second moments of a box about its middle: a²/12 along each side (any handbook)."""
    import manifold3d

    rotation = frame_along(np.random.default_rng(seed).normal(size=3))
    mesh = turned(from_solid(manifold3d.Manifold.cube(sides)), rotation=rotation)
    centre, moments, axes = principal_axes(mesh)
    assert centre == pytest.approx(rotation @ (np.array(sides) / 2), abs=1e-6)
    assert moments == pytest.approx(sorted(np.array(sides) ** 2 / 12), rel=1e-6)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-9)


def test_the_bore_of_a_pulley_has_its_size_and_the_groove_is_none():
    (bore,) = bores_of(quick_rounds(from_solid(ORDINARY["pulley"]())))
    assert bore.radius_mm == pytest.approx(5.0, abs=0.01)
    assert bore.long_mm == pytest.approx(18.0, rel=0.01)
    assert abs(bore.axis @ Z) == pytest.approx(1.0, abs=1e-6)


def test_points_lie_evenly_on_the_surface():
    points = surface_points_mm(sample("cube").mesh, count=6000)
    on_top = np.abs(points[:, 2] - 10.0) < 1e-9
    assert on_top.mean() == pytest.approx(1 / 6, abs=0.01)
    assert np.abs(points).max(axis=1) == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("fitted", "meant"),
    [
        ((0.7071166805173126, 1.0648985529297726e-05, 0.7070968816370046), (1.0, 0.0, 1.0)),
        ((2e-5, -1.0, 3e-5), (0.0, 1.0, 0.0)),
        ((-1.0, 1.00002, -0.99995), (-1.0, 1.0, -1.0)),
        ((0.5, 0.3, 0.1), (0.5, 0.3, 0.1)),
        ((0.001, 0.0, 1.0), (0.001, 0.0, 1.0)),
    ],
)
def test_an_axis_a_hair_off_an_axis_or_a_diagonal_of_the_file_is_meant_as_one(fitted, meant):
    """The first was fitted to the holes of a bracket of 50,000 faces: films of silicone hung on its walls."""
    meant = np.array(meant) / np.linalg.norm(meant)
    found = _upwards(np.array(fitted))
    assert min(np.abs(found - meant).max(), np.abs(found + meant).max()) < 1e-12
