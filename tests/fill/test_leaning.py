"""What a channel on a leaning surface holds: the closed form against areas by shapely, and ways over planes."""

from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from firstpour.fill.leaning import held_by_sprue_mm3, held_per_mm


@pytest.mark.parametrize("slope_deg", [0.0, 20.0, 45.0, 70.0])
def test_the_area_behind_the_circle_is_that_of_the_polygons(slope_deg):
    """Under the line, beside the circle, over the circle's top: silicone of the lower half that the rod stops."""
    radius = 3.0
    circle = shapely.Point(0.0, 0.0).buffer(radius, quad_segs=400)
    rise = radius * np.tan(np.radians(slope_deg))
    under = shapely.Polygon([(0.0, -50.0), (radius, -50.0), (radius, rise), (0.0, 0.0)])
    over = under.difference(circle).difference(shapely.box(0.0, -50.0, radius, 0.0))
    assert float(held_per_mm(np.array([slope_deg]), np.array([radius]))[0]) == pytest.approx(over.area, abs=2e-3)


@pytest.mark.parametrize("slope_deg", [0.0, 30.0, 45.0])
def test_a_way_across_a_plane_holds_its_length_times_the_area(slope_deg):
    slope = np.tan(np.radians(slope_deg))
    plan = SimpleNamespace(surface=SimpleNamespace(height_mm=lambda xy: slope * xy[:, 1]))
    path = np.array([[0.0, 0.0, 0.0], [40.0, 0.0, 0.0]])
    expected = 38.0 * float(held_per_mm(np.array([slope_deg]), np.array([2.0]))[0])
    held = held_by_sprue_mm3(plan, path, radius_mm=2.0, mouth_mm=2.0)
    assert held == pytest.approx(expected, rel=0.02, abs=1e-9)


def test_a_way_down_the_slope_holds_nothing():
    plan = SimpleNamespace(surface=SimpleNamespace(height_mm=lambda xy: xy[:, 0]))
    path = np.array([[0.0, 0.0, 0.0], [30.0, 0.0, 30.0]])
    assert held_by_sprue_mm3(plan, path, radius_mm=2.0, mouth_mm=4.0) == pytest.approx(0.0, abs=1e-9)
