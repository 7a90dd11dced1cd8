"""Gate and vents: where they go, and that they come out of the block."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.channels import channel_solid, led_out
from firstpour.parting.block import Block, block_solid

BLOCK = Block(low_mm=np.array([-20.0, -15.0, -10.0]), high_mm=np.array([25.0, 15.0, 12.0]))


@given(
    direction=st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1),
    start=st.tuples(st.floats(-10, 10), st.floats(-10, 10), st.floats(-5, 5)),
    radius_mm=st.floats(0.5, 4.0),
)
@settings(max_examples=25, deadline=None)
def test_a_channel_is_led_out_of_the_block_whichever_way_it_points(direction, start, radius_mm):
    path = np.array([start, start + 2.0 * np.array(direction) / np.linalg.norm(direction)])
    channel = Channel(use=ChannelUse.VENT, path_mm=path, radius_start_mm=radius_mm, radius_end_mm=radius_mm)
    out = led_out(channel, BLOCK)
    mouth = out.path_mm[-1]
    assert ((mouth < BLOCK.low_mm) | (mouth > BLOCK.high_mm)).any()
    before, after = path[1] - path[0], mouth - path[0]
    assert np.linalg.norm(np.cross(before, after)) < 1e-6 * np.linalg.norm(after)
    assert (channel_solid(out) - block_solid(BLOCK)).volume() > 0.0


def upright(use, point):
    path = np.stack([point, [point[0], point[1], BLOCK.high_mm[2] + 7.0]])
    return Channel(use=use, path_mm=path, radius_start_mm=3.0, radius_end_mm=6.0)


def test_a_channel_that_is_out_already_stays_as_it_is():
    channel = upright(ChannelUse.GATE, np.array([1.0, 2.0, 3.0]))
    assert led_out(channel, BLOCK) is channel


def test_a_channel_holds_what_a_cone_between_balls_holds():
    """A straight pipe of radius 2 and length 30, 2 mm more inside the part, its mouth round: π r² (L + 2) + 2/3 π r³,
    less the chords of 32 sides."""
    channel = Channel(
        use=ChannelUse.VENT, path_mm=np.array([[0, 0, 0], [0, 0, 30.0]]), radius_start_mm=2.0, radius_end_mm=2.0
    )
    whole = np.pi * 4 * 32 + 2 / 3 * np.pi * 8
    assert 0.95 * whole < channel_solid(channel).volume() < whole


def test_a_channel_is_grown_all_around():
    channel = upright(ChannelUse.GATE, np.zeros(3))
    grown = channel_solid(channel, clearance_mm=0.5)
    assert (channel_solid(channel) - grown).volume() == pytest.approx(0.0, abs=1e-9)
    bounds = np.array(grown.bounding_box()) - np.array(channel_solid(channel).bounding_box())
    assert bounds == pytest.approx([-0.5, -0.5, -0.5, 0.5, 0.5, 0.5], abs=1e-6)


def test_a_channel_reaches_through_no_thin_wall():
    """A wall 2 mm thick: the flat end lies 0.8 mm inside it, and nothing of the channel comes out behind."""
    wall = manifold3d.Manifold.cube((40.0, 2.0, 40.0)).translate((-20.0, -2.0, -20.0))
    path = np.array([[0.0, 0, 0], [0, 1.5, 0.5], [0, 14, 10]])
    channel = Channel(use=ChannelUse.GATE, path_mm=path, radius_start_mm=3.0, radius_end_mm=6.0, sink_mm=0.8)
    solid = channel_solid(channel)
    assert solid.bounding_box()[1] > -2.0
    assert (solid ^ wall).volume() > 0.5 * np.pi * 9.0 * 0.8
    behind = manifold3d.Manifold.cube((40.0, 20.0, 40.0)).translate((-20.0, -22.0, -20.0))
    assert (solid ^ behind).volume() == pytest.approx(0.0, abs=1e-9)


def test_a_fan_opens_along_its_feet_and_narrows_to_the_channel():
    feet = np.column_stack([np.linspace(-10, 10, 9), np.zeros(9), np.zeros(9)])
    channel = Channel(
        use=ChannelUse.GATE, path_mm=np.array([[0.0, 0, 0], [0, 8, 0], [0, 20, 0]]), radius_start_mm=3.0,
        radius_end_mm=6.0, feet_mm=feet, foot_radius_mm=0.7,
    )  # fmt: skip
    solid = channel_solid(channel)
    assert solid.bounding_box()[0] == pytest.approx(-10.7, abs=0.02)
    at_the_part = solid.rotate((90.0, 0.0, 0.0)).slice(0.0)
    assert at_the_part.area() == pytest.approx(20 * 1.4 + np.pi * 0.49, rel=0.1)
    assert len(solid.decompose()) == 1


def test_a_fan_reaches_through_no_thin_wall_either():
    """Feet of 0.7 mm that may reach 0.3 mm into the part end flat there."""
    feet = np.column_stack([np.linspace(-10, 10, 9), np.zeros(9), np.zeros(9)])
    channel = Channel(
        use=ChannelUse.GATE, path_mm=np.array([[0.0, 0, 0], [0, 8, 0], [0, 20, 0]]), radius_start_mm=3.0,
        radius_end_mm=6.0, feet_mm=feet, foot_radius_mm=0.7, sink_mm=0.3,
    )  # fmt: skip
    assert channel_solid(channel).bounding_box()[1] == pytest.approx(-0.3, abs=0.01)
