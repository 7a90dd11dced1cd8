"""Round features found in meshes made from known ones."""

import manifold3d as m3
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.rounds.fit_round import RoundKind
from firstpour.rounds.round_features import find_round_features
from master_shapes import part_of, porthole_ring, tilted, torus


def _found(solid, *, degrees=(0.0, 0.0, 0.0)):
    return find_round_features(tilted(part_of(solid).mesh, degrees=degrees))


def _axis_off_deg(feature, axis):
    return np.degrees(np.arccos(min(1.0, abs(float(feature.section.axis @ axis)))))


def _turned_z(degrees):
    """Where z goes when a shape is turned about x, then y, then z."""
    a, b, c = np.radians(degrees)
    x, y, z = 0.0, -np.sin(a), np.cos(a)
    x, z = z * np.sin(b) + x * np.cos(b), z * np.cos(b) - x * np.sin(b)
    return np.array([x * np.cos(c) - y * np.sin(c), x * np.sin(c) + y * np.cos(c), z])


@settings(max_examples=12, deadline=None)
@given(radius=st.floats(2, 30), ratio=st.floats(0.5, 4), degrees=st.tuples(*[st.floats(-80, 80)] * 3))
def test_a_cylinder_is_found_with_its_axis_and_radius_wherever_it_points(radius, ratio, degrees):
    sides = 48
    (one,) = _found(m3.Manifold.cylinder(ratio * radius, radius, radius, sides), degrees=degrees)
    axis = _turned_z(degrees)
    assert one.fit.kind is RoundKind.CYLINDER
    assert one.material == 1
    assert one.radius_mm == pytest.approx(radius, rel=2e-3)
    assert _axis_off_deg(one, axis) < 0.1
    assert one.section.turn_ratio == 1.0


def test_the_drawn_out_of_round_of_a_coarse_cylinder_is_the_polygons_after_the_filter():
    # a regular polygon leaves its circle by R(1 − cos π/N) (closed form); its waves pass the Gaussian filter of
    # ISO 16610-21 (from memory), exp(−ln 2 (waves/50)²), here by numpy's Fourier transform
    angle = np.arange(3600) * 2 * np.pi / 3600
    for sides in (12, 24):
        (one,) = _found(m3.Manifold.cylinder(15, 10, 10, sides))
        within = angle % (2 * np.pi / sides) - np.pi / sides
        radius = 10 * np.cos(np.pi / sides) / np.cos(within)
        assert np.ptp(radius) == pytest.approx(10 * (1 - np.cos(np.pi / sides)), rel=1e-9)
        waves = np.fft.rfft(radius)
        passed = np.fft.irfft(waves * np.exp(-np.log(2) * (np.arange(len(waves)) / 50) ** 2))
        assert one.section.drawn_mm == pytest.approx(np.ptp(passed), rel=0.03)


def test_a_sphere_a_cone_and_a_torus_are_called_so_with_their_sizes():
    (ball,) = _found(m3.Manifold.sphere(12, 64), degrees=(10, 20, 30))
    assert ball.fit.kind is RoundKind.SPHERE
    assert ball.fit.radius_mm == pytest.approx(12, rel=5e-3)
    (cone,) = _found(m3.Manifold.cylinder(10, 12, 6, 64), degrees=(10, 20, 30))
    assert cone.fit.kind is RoundKind.CONE
    assert abs(cone.fit.slope_ratio) == pytest.approx(0.6, rel=5e-3)
    (tyre,) = _found(torus(major_mm=20, minor_mm=5), degrees=(40, 20, 30))
    assert tyre.fit.kind is RoundKind.TORUS
    assert (tyre.fit.radius_mm, tyre.fit.minor_radius_mm) == pytest.approx((20, 5), rel=5e-3)


def test_the_porthole_ring_shows_its_rim_its_bore_and_its_four_holes():
    found = _found(porthole_ring(80))
    holes = sorted(one.radius_mm for one in found if one.material == -1)
    assert holes == pytest.approx([2.4, 2.4, 2.4, 2.4, 28.0], rel=5e-3)
    assert max(one.radius_mm for one in found if one.material == 1) == pytest.approx(40.0, rel=2e-3)
    assert all(_axis_off_deg(one, np.array([0.0, 0.0, 1.0])) < 0.5 for one in found)


def test_a_turned_shape_with_blended_bosses_is_found_about_its_axis():
    # a vase profile turned about z, at 64 sides; no wall of it is a cylinder, cone or sphere
    z = np.linspace(0, 40, 60)
    outline = np.stack([12 + 3 * np.sin(z / 6.0), z], axis=1)
    vase = m3.Manifold.revolve(m3.CrossSection([np.vstack([[0, 0], outline, [0, 40]])]), 64)
    found = _found(vase, degrees=(25, 0, 40))
    assert found
    assert all(_axis_off_deg(one, _turned_z((25, 0, 40))) < 0.5 for one in found)


def test_a_box_and_a_half_shell_have_no_round_feature():
    assert _found(m3.Manifold.cube([10, 20, 30]), degrees=(10, 20, 30)) == ()
    quarter = m3.Manifold.cylinder(10, 20, 20, 96) ^ m3.Manifold.cube([20, 20, 10])
    assert _found(quarter) == ()
