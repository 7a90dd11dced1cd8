"""Any piece planned for a printer: the way up it must stand, layers, minutes, supports and the work on it."""

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest

from firstpour.printing.orient import measure_directions
from firstpour.printing.print_piece import plan_print
from firstpour.printing.printers import FILAMENT_PRINTER, TYPICAL_PRINTERS, VAT_PRINTER
from firstpour.printing.slices import Footing
from firstpour.printing.to_print import mesh_to_print, part_to_print
from firstpour.values import face_normals
from master_shapes import part_of, porthole_ring

UP = np.array([0.0, 0.0, 1.0])


def _tray() -> m3.Manifold:
    """An open box with half a ball standing on its floor, as a tray is."""
    box = m3.Manifold.cube([60, 60, 30]) - m3.Manifold.cube([54, 54, 40]).translate([3, 3, 3])
    return box + m3.Manifold.sphere(15, 96).translate([30, 30, 3]).trim_by_plane([0, 0, 1], 1)


@pytest.mark.parametrize("printer", TYPICAL_PRINTERS, ids=lambda one: one.process)
def test_a_tray_stands_as_it_must_and_is_planned_like_that(printer):
    mesh = part_of(_tray()).mesh
    plan = plan_print(mesh_to_print(mesh), printer=printer, direction=UP)
    (same,) = measure_directions(mesh_to_print(mesh), UP, printer=printer, layer_mm=plan.layer_mm)
    assert plan.direction.direction == pytest.approx(UP)
    assert plan.print_min == pytest.approx(same.print_min)
    assert plan.slices.area_mm2[0] == pytest.approx(3600.0)
    assert plan.slices.area_mm2.sum() * plan.layer_mm == pytest.approx(_tray().volume(), rel=0.01)
    assert plan.supported_mm2 == 0.0
    assert "take supports off" not in [step.name for step in plan.steps]
    assert plan.total_min == pytest.approx(plan.print_min + plan.hands_min + plan.wait_min)


def test_only_the_faces_that_silicone_copies_count_for_the_layer():
    # a sphere on its block needs thin layers; the block alone does not
    mesh = part_of(_tray()).mesh
    low = mesh.vertices_mm[mesh.faces].mean(axis=1)[:, 2] < 30
    upright = np.abs(face_normals(mesh)[:, 2]) < 0.1
    walls = mesh_to_print(mesh, show=low & upright)
    all_faces, only_walls = (
        plan_print(thing, printer=VAT_PRINTER, direction=UP, wanted_step_mm=0.0105)
        for thing in (mesh_to_print(mesh), walls)
    )
    assert all_faces.layer_mm == 0.025
    assert only_walls.layer_mm == 0.1


def test_a_cube_does_not_get_the_thickest_layers_of_filament():
    # 0.3 mm layers leave ridges of 0.28 × 0.3 = 0.084 mm on its sides, above the 0.03 mm wanted
    cube = part_to_print(part_of(m3.Manifold.cube([20, 20, 20])))
    plan = plan_print(cube, printer=FILAMENT_PRINTER, directions=20)
    assert plan.layer_mm == 0.1
    assert plan.direction.step_mm == pytest.approx(0.028, abs=1e-3)


def test_a_tip_that_starts_in_the_air_is_held_by_a_support_that_must_be_taken_off():
    # a cone of 70° from level needs no support by its slope, yet its tip hangs in the air beside the column
    cone = m3.Manifold.cylinder(8, 0.05, 3, 64).translate([20, 0, 12])
    column = m3.Manifold.cube([4, 4, 22]) + m3.Manifold.cube([26, 4, 2]).translate([0, -2, 20])
    plan = plan_print(part_to_print(part_of(column + cone)), printer=VAT_PRINTER, direction=UP, footing=Footing.PLATE)
    assert len(plan.hollows.in_air_mm) == 1
    assert plan.hollows.in_air_mm[0, 2] == pytest.approx(12.0, abs=0.2)
    assert plan.supported_mm2 > plan.direction.support_mm2
    assert "starts-in-air" in [one.code for one in plan.findings]
    assert "take supports off" in [step.name for step in plan.steps]


def test_a_print_on_supports_is_higher_longer_and_has_them_taken_off():
    ring = part_to_print(part_of(porthole_ring(40, sides=32)))
    tilted = np.array([0.0, np.sin(0.4), np.cos(0.4)])
    near, far = (
        plan_print(ring, printer=replace(VAT_PRINTER, lift_mm=lift_mm), direction=tilted) for lift_mm in (0.0, 10.0)
    )
    assert far.direction.footing is Footing.SUPPORTS
    assert far.direction.height_mm == pytest.approx(near.direction.height_mm + 10.0)
    assert far.estimate.layers == near.estimate.layers + round(10.0 / far.layer_mm)
    assert far.estimate.material_ml > near.estimate.material_ml
    assert far.supported_mm2 > 0.0
    assert "take supports off" in [step.name for step in far.steps]


def test_a_lift_must_still_fit_the_printer():
    pole = part_to_print(part_of(m3.Manifold.cylinder(50, 1, 5, 64)))
    tight = replace(VAT_PRINTER, size_mm=(60.0, 60.0, 52.0))
    plan = plan_print(pole, printer=tight, direction=UP, footing=Footing.SUPPORTS)
    assert not plan.direction.fits
    assert "master-too-large" in [one.code for one in plan.findings]
