"""Feet of channels that overhang an edge: films under them by closed form and by exact solids."""

import manifold3d
import numpy as np
import pytest

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.channels import channel_solid
from firstpour.mould.feet import LEAST_FILM_MM, SMALL_FILM_MM2, seated

RADIUS_MM = 2.0


def rod(sink_mm: float | None = 0.3, *, at=(0.0, 0.0, 0.0), to=(0.0, 0.0, 20.0)) -> Channel:
    return Channel(
        use=ChannelUse.VENT,
        path_mm=np.array([at, to]),
        radius_start_mm=RADIUS_MM,
        radius_end_mm=RADIUS_MM,
        sink_mm=sink_mm,
    )


def box(low, high) -> manifold3d.Manifold:
    return manifold3d.Manifold.cube(tuple(b - a for a, b in zip(low, high, strict=True))).translate(low)


def stepped(step_mm: float, *, thick_mm: float = 10.0) -> manifold3d.Manifold:
    """A plate whose level z = 0 falls by a step beside x = 0.5."""
    return box((-20, -20, -thick_mm), (20, 20, 0)) - box((0.5, -20, -step_mm), (20, 20, 1))


def film_mm2(channel: Channel, part: manifold3d.Manifold) -> float:
    """Silicone thinner than the least wall under the foot, by its volume in slices: exact solids."""
    below = manifold3d.Manifold.cylinder(LEAST_FILM_MM, RADIUS_MM, RADIUS_MM, 96)
    below = below.translate((0.0, 0.0, -channel.sink_mm - LEAST_FILM_MM))
    gap = below - part
    least = [body for body in gap.decompose() if body.bounding_box()[2] > -channel.sink_mm - LEAST_FILM_MM + 1e-6]
    return sum(body.project().area() for body in least)


@pytest.mark.parametrize("step_mm", [0.45, 0.6, 1.2, 1.7])
def test_a_foot_over_a_step_sinks_to_the_step(step_mm):
    part = stepped(step_mm)
    assert film_mm2(rod(), part) > 3.0
    sunk = seated(rod(), part)
    assert step_mm - 1e-6 <= sunk.sink_mm <= step_mm + 0.11
    assert film_mm2(sunk, part) == pytest.approx(0.0, abs=1e-6)
    assert channel_solid(sunk).bounding_box()[2] == pytest.approx(-sunk.sink_mm, abs=0.02)


def test_a_foot_on_a_ball_sinks_until_its_rim_is_in():
    """A ball of R falls by R − √(R² − r²): a ring of 0.5 mm² outside the foot's plane is left at 0.33 mm."""
    ball = manifold3d.Manifold.sphere(6.0, 400).translate((0.0, 0.0, -6.0))
    sunk = seated(rod(0.1), ball)
    inner2 = RADIUS_MM**2 - SMALL_FILM_MM2 / np.pi
    least = 6.0 - np.sqrt(36.0 - inner2)
    assert least - 0.02 < sunk.sink_mm < least + 0.12


def test_a_foot_lies_as_it_is_where_there_is_no_film():
    rim = box((-0.9, -20, -20), (0.9, 20, 0))
    assert seated(rod(), rim).sink_mm == 0.3
    assert seated(rod(), stepped(2.5)).sink_mm == 0.3
    assert seated(rod(RADIUS_MM), stepped(0.6)).sink_mm == RADIUS_MM
    tip = rod(1.2 * RADIUS_MM)
    assert seated(tip, stepped(1.5 * RADIUS_MM)).sink_mm == tip.sink_mm


def test_a_foot_goes_through_no_thin_wall_to_be_rid_of_a_film():
    assert seated(rod(), stepped(0.6, thick_mm=0.9)).sink_mm == 0.3


def test_a_foot_that_lies_askew_is_looked_at_along_its_own_way():
    turn = np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]])
    part = stepped(0.6).transform(np.column_stack([turn, np.array([3.0, 4.0, 5.0])]))
    at = np.array([3.0, 4.0, 5.0])
    sunk = seated(rod(at=at, to=at + turn @ np.array([0.0, 0.0, 20.0])), part)
    assert 0.6 - 1e-6 <= sunk.sink_mm <= 0.71
