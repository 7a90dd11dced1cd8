"""Layers, shut hollows and starts in the air of shapes whose answers are known."""

import manifold3d as m3
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.printing.slices import Footing, find_hollows, slice_part
from firstpour.values import mesh_volume_mm3
from master_shapes import bowl, limpet, part_of, porthole_ring, tilted, torus

UP = np.array([0.0, 0.0, 1.0])


def _error(made, exact):
    return float(np.abs(made - exact).sum() / exact.sum())


def test_slices_of_a_sphere_near_the_closed_form_four_times_as_close_when_its_facets_halve():
    # A(z) = π(R² − z²); faceting errs with the square of the facet
    errors = []
    for sides in (64, 128):
        slices = slice_part(part_of(m3.Manifold.sphere(10, sides)).mesh, UP, layer_mm=0.5)
        errors.append(_error(slices.area_mm2, np.pi * (100 - (slices.z_mm - 10) ** 2)))
    assert errors[1] < 0.004
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)


def test_slices_of_a_cone_near_the_closed_form_of_area_and_outline():
    # frustum R 10 → r 4, h 6: r(z) = 10 − z, A = πr², P = 2πr; by prisms of n sides the ratio is exact
    sides = 60
    slices = slice_part(part_of(m3.Manifold.cylinder(6, 10, 4, sides)).mesh, UP, layer_mm=0.25)
    radius = 10 - slices.z_mm
    area = 0.5 * sides * np.sin(2 * np.pi / sides) * radius**2
    outline = 2 * sides * np.sin(np.pi / sides) * radius
    assert slices.area_mm2 == pytest.approx(area, rel=1e-9)
    assert slices.perimeter_mm == pytest.approx(outline, rel=1e-9)
    assert slices.area_mm2.sum() * 0.25 == pytest.approx(980.176908 * area[0] / (np.pi * radius[0] ** 2), rel=2e-4)


def test_slices_of_a_torus_near_the_closed_form():
    # flat: A(z) = 4πR√(r² − z²), R 10, r 3
    slices = slice_part(part_of(torus(major_mm=10, minor_mm=3, sides=192)).mesh, UP, layer_mm=0.25)
    assert _error(slices.area_mm2, 4 * np.pi * 10 * np.sqrt(9 - (slices.z_mm - 3) ** 2)) < 0.002


@settings(max_examples=15, deadline=None)
@given(degrees=st.tuples(*[st.floats(-180, 180)] * 3))
def test_the_layers_add_up_to_the_volume_whichever_way_the_part_stands(degrees):
    mesh = tilted(part_of(porthole_ring(40, sides=32)).mesh, degrees=degrees)
    slices = slice_part(mesh, UP, layer_mm=0.05)
    assert slices.area_mm2.sum() * 0.05 == pytest.approx(mesh_volume_mm3(mesh), rel=0.01)


@pytest.mark.parametrize("layer_mm", [0.0, -1.0, np.nan, 1e-6])
def test_a_layer_height_that_cannot_be_meant_is_refused(layer_mm):
    with pytest.raises(BadRequest):
        slice_part(part_of(bowl()).mesh, UP, layer_mm=layer_mm)


def _hollows(solid, *, up=UP, footing=Footing.PLATE, layer_mm=0.1):
    mesh = part_of(solid).mesh
    return find_hollows(mesh, slice_part(mesh, np.asarray(up, float), layer_mm=layer_mm), footing=footing)


@pytest.mark.parametrize("footing", Footing)
def test_a_bowl_standing_up_is_a_shut_hollow_of_its_own_volume_however_it_stands(footing):
    # the hollow is a cylinder of 64 sides, 20 mm wide, 12 mm deep; its area by the polygon's closed form
    (hollow,) = _hollows(bowl(), footing=footing).shut
    area = 32 * np.sin(2 * np.pi / 64) * 100
    assert hollow.area_mm2 == pytest.approx(area, rel=0.02)
    assert hollow.volume_mm3 == pytest.approx(12 * area, rel=0.02)
    assert hollow.closes_mm == pytest.approx(3, abs=1e-6)
    assert hollow.opens_mm == pytest.approx(15, abs=1e-6)
    assert hollow.at_mm[2] == pytest.approx(3, abs=1e-6)
    assert np.hypot(*hollow.at_mm[:2]) < 10


def test_a_bowl_upside_down_is_a_shut_hollow_on_the_plate_and_none_lifted_off_it():
    assert len(_hollows(bowl(), up=[0, 0, -1]).shut) == 1
    assert _hollows(bowl(), up=[0, 0, -1], footing=Footing.SUPPORTS).shut == ()


def test_a_bowl_on_its_side_is_no_shut_hollow():
    assert _hollows(bowl(), up=[1, 0, 0], footing=Footing.SUPPORTS).shut == ()


def test_the_limpets_hollow_is_seen_as_a_shut_hollow_both_ways_up():
    below = _hollows(limpet())
    assert max(hollow.volume_mm3 for hollow in below.shut) > 10_000
    assert _hollows(limpet(), footing=Footing.SUPPORTS).shut == ()
    assert len(_hollows(limpet(), up=[0, 0, -1], footing=Footing.SUPPORTS).shut) == 1


def test_a_ring_flat_on_the_plate_seals_its_bore_and_a_closed_void_never_opens():
    (bore,) = _hollows(m3.Manifold.cylinder(6, 20, 20, 64) - m3.Manifold.cylinder(6, 14, 14, 64)).shut
    assert bore.area_mm2 == pytest.approx(np.pi * 14**2, rel=0.03)
    (void,) = _hollows(m3.Manifold.sphere(10, 48) - m3.Manifold.sphere(6, 48), footing=Footing.SUPPORTS).shut
    assert void.opens_mm is None
    assert void.volume_mm3 == pytest.approx(4 / 3 * np.pi * 6**3, rel=0.03)


def test_a_table_upside_down_has_no_islands_and_upright_none_but_its_feet_on_the_plate():
    legs = [m3.Manifold.cube([2, 2, 10]).translate([x, y, 0]) for x in (0, 18) for y in (0, 18)]
    table = m3.Manifold.batch_boolean([m3.Manifold.cube([20, 20, 2]).translate([0, 0, 10]), *legs], m3.OpType.Add)
    assert len(_hollows(table).in_air_mm) == 0
    assert len(_hollows(table, up=[0, 0, -1]).in_air_mm) == 0


def test_a_hanging_peg_begins_in_the_air_at_its_own_place():
    arch = m3.Manifold.cube([30, 10, 20]) - m3.Manifold.cube([20, 10, 15]).translate([5, 0, 0])
    (begun,) = _hollows(arch + m3.Manifold.cube([2, 2, 6]).translate([14, 4, 9])).in_air_mm
    assert begun[2] == pytest.approx(9, abs=1e-6)
    assert 13.8 <= begun[0] <= 16.2
