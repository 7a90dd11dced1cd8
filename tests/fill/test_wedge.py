import numpy as np
import pytest

from firstpour.errors import OutOfRange
from firstpour.fill.wedge import FLOOR_MM, wedge_foot
from firstpour.surface.solids import to_solid
from firstpour.values import face_normals, mesh_volume_mm3


def test_a_wedge_is_closed_and_as_steep_as_asked():
    wedge = wedge_foot(length_mm=80, width_mm=50, tilt_deg=10)
    rise = 80 * np.tan(np.radians(10))
    assert mesh_volume_mm3(wedge) == pytest.approx(80 * 50 * (2.0 + rise / 2))
    assert np.ptp(wedge.vertices_mm, axis=0) == pytest.approx([80.0, 50.0, 2.0 + rise])
    thin = wedge.vertices_mm[wedge.vertices_mm[:, 0] == 0.0]
    assert thin[:, 2].max() == 2.0
    assert to_solid(wedge).volume() == pytest.approx(mesh_volume_mm3(wedge))
    steepest = face_normals(wedge)[:, 2]
    assert np.isclose(steepest, np.cos(np.radians(10))).sum() == 2


@pytest.mark.parametrize(
    ("length", "width", "tilt"),
    [(80, 50, 0), (80, 50, 15.01), (80, 50, -3), (0, 50, 10), (80, 0, 10), (-1, 50, 10), (80, -1, 10)],
)
def test_wedges_that_would_slide_or_vanish_are_refused(length, width, tilt):
    with pytest.raises(OutOfRange):
        wedge_foot(length_mm=length, width_mm=width, tilt_deg=tilt)


def test_small_wedges_and_small_tilts_are_made():
    assert mesh_volume_mm3(wedge_foot(length_mm=0.5, width_mm=0.5, tilt_deg=0.5)) == pytest.approx(0.5005, abs=1e-3)


def test_a_direction_turned_by_the_largest_tilt_still_gets_its_wedge_though_it_rounds_above():
    up = np.array([np.sin(np.radians(15.0)), 0.0, np.cos(np.radians(15.0))])
    tilt_deg = float(np.degrees(np.arccos(up[2]))) + 2e-12
    assert mesh_volume_mm3(wedge_foot(length_mm=60, width_mm=40, tilt_deg=tilt_deg)) == pytest.approx(
        60 * 40 * (FLOOR_MM + 60 * np.tan(np.radians(15.0)) / 2)
    )
