"""The picture of the master."""

import manifold3d as m3
import numpy as np
import pytest

from firstpour.pictures.colours import PLUM, rgb_of
from firstpour.pictures.master_picture import STEP_COLOURS, face_steps_mm, master_picture, step_colours
from firstpour.printing.choose import choose_master
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER
from firstpour.values import face_normals
from master_shapes import bowl, part_of


def test_a_ball_with_a_void_shows_its_solid_layers_and_its_shut_hollow():
    part = part_of(m3.Manifold.sphere(12, 48) - m3.Manifold.sphere(9, 48))
    plan = choose_master(part, [VAT_PRINTER], directions=1)
    pixels = np.asarray(master_picture(part, plan)).astype(int)
    assert plan.hollows.shut_area_mm2.max() > 200.0
    red = np.abs(pixels - (rgb_of(PLUM) * 255).round()).max(axis=2) < 12
    assert red.sum() > 300
    assert pixels[100:600, 50:650].std() > 10


def test_steps_are_coloured_from_light_at_none_to_dark_at_a_whole_layer():
    ends = step_colours(np.array([0.0, 0.05]), full_mm=0.05)
    assert np.allclose(ends, [rgb_of(STEP_COLOURS[0]), rgb_of(STEP_COLOURS[-1])])
    brightness = step_colours(np.linspace(0, 1, 50), full_mm=1.0).sum(axis=1)
    assert (np.diff(brightness) < 0).all()


def test_a_level_face_has_no_step_and_a_leaning_one_its_cusp():
    part = part_of(bowl())
    lean = np.array([np.sin(0.5), 0.0, np.cos(0.5)])
    up = face_steps_mm(part.mesh, np.array([0.0, 0.0, 1.0]), printer=FILAMENT_PRINTER, layer_mm=0.05)
    level = np.abs(face_normals(part.mesh)[:, 2]) > 0.999
    assert up[level].max() < 1e-9
    assert up[~level] == pytest.approx(0.28 * 0.05, rel=1e-3)
    leaning = face_steps_mm(part.mesh, lean, printer=FILAMENT_PRINTER, layer_mm=0.05)
    assert abs(leaning[level].max() - 0.05 * np.cos(0.5)) < 2e-3
