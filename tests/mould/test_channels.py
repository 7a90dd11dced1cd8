"""Gate and vents: where they go, and that they come out of the block."""

import gudhi
import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.channels import channel_solid, default_channels, led_out, straight_up, top_peaks_mm
from firstpour.parting.block import Block, block_around, block_solid
from firstpour.surface.dexels import cut_dexels
from firstpour.surface.solids import to_solid
from mould_shapes import SETTINGS, as_part, cube, sample

BLOCK = Block(low_mm=np.array([-20.0, -15.0, -10.0]), high_mm=np.array([25.0, 15.0, 12.0]))
COLUMN_MM = 5.0
UP = np.array([0.0, 0.0, 1.0])


def columns(heights_mm):
    """Square columns side by side (rows, columns), each as high as given, on one foot."""
    solids = [
        manifold3d.Manifold.cube((COLUMN_MM, COLUMN_MM, 2.0 + float(h))).translate(
            (COLUMN_MM * i, COLUMN_MM * j, 0.0)
        )
        for (j, i), h in np.ndenumerate(heights_mm)
    ]
    return as_part("columns", manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add))


def peaks_of(part):
    return top_peaks_mm(cut_dexels(part.mesh, UP, resolution=96, margin=1))


def test_the_peaks_of_a_profile_are_its_superlevel_pairs():
    """Profile 0 3 1 5 2 4 0: pairs (5, ∞), (4, 2), (3, 1) (GUDHI; checks.md, Trapped air)."""
    peaks = peaks_of(columns(np.array([[0, 3, 1, 5, 2, 4, 0]])))
    assert peaks[:, 2] == pytest.approx([7.0, 6.0, 5.0])
    assert peaks[:, 0] == pytest.approx(COLUMN_MM * np.array([3.5, 5.5, 1.5]), abs=0.5)
    assert peaks[:, 1] == pytest.approx(0.5 * COLUMN_MM, abs=0.5)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_peaks_are_those_of_persistent_homology(seed):
    """Peaks that rise 1 mm or more above their saddle, by gudhi's cubical complex of the heights, negated."""
    heights = np.random.default_rng(seed).permutation(np.arange(16) * 2.0).reshape(4, 4)
    cubes = gudhi.CubicalComplex(top_dimensional_cells=-heights)
    pairs = [(-birth, -death) for dimension, (birth, death) in cubes.persistence() if dimension == 0]
    wanted = sorted((birth for birth, death in pairs if birth - death >= 1.0), reverse=True)
    assert peaks_of(columns(heights))[:, 2] - 2.0 == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("heights", "count"), [([[4, 0, 4]], 2), ([[4, 0, 4], [0, 0, 0], [4, 0, 4]], 4), ([[3, 3, 3]], 1)]
)
def test_equal_peaks_are_all_kept(heights, count):
    assert len(np.unique(peaks_of(columns(np.array(heights))), axis=0)) == count


def test_a_gate_on_a_flat_top_stands_in_its_middle():
    peaks = peaks_of(as_part("cube", cube()))
    assert peaks == pytest.approx(np.array([[0.0, 0.0, 10.0]]), abs=0.2)


def test_the_gate_goes_to_the_highest_peak_and_a_vent_to_every_other():
    part = columns(np.array([[0, 3, 1, 5, 2, 4, 0]]))
    block = block_around(part.mesh.vertices_mm, wall_mm=8.0, side_mm=8.0)
    channels = default_channels(part.mesh, block, SETTINGS)
    assert [channel.use for channel in channels] == [ChannelUse.GATE, ChannelUse.VENT, ChannelUse.VENT]
    assert [channel.path_mm[0, 2] for channel in channels] == pytest.approx([7.0, 6.0, 5.0])
    assert all(channel.path_mm[-1, 2] > block.high_mm[2] for channel in channels)
    for channel in channels:
        pipe = channel_solid(channel)
        assert (pipe ^ to_solid(part.mesh)).volume() > 0.0
        assert (pipe - block_solid(block)).volume() > 0.0


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


def test_a_channel_that_is_out_already_stays_as_it_is():
    channel = straight_up(ChannelUse.GATE, np.array([1.0, 2.0, 3.0]), BLOCK, SETTINGS)
    assert led_out(channel, BLOCK) is channel


def test_a_channel_holds_what_a_cone_between_balls_holds():
    """A straight pipe of radius 2 and length 30 with round ends: π r² L + 4/3 π r³, less the chords of 32 sides."""
    channel = Channel(
        use=ChannelUse.VENT, path_mm=np.array([[0, 0, 0], [0, 0, 30.0]]), radius_start_mm=2.0, radius_end_mm=2.0
    )
    whole = np.pi * 4 * 30 + 4 / 3 * np.pi * 8
    assert 0.95 * whole < channel_solid(channel).volume() < whole


def test_a_channel_is_grown_all_around():
    channel = straight_up(ChannelUse.GATE, np.array([0.0, 0.0, 0.0]), BLOCK, SETTINGS)
    grown = channel_solid(channel, clearance_mm=0.5)
    assert (channel_solid(channel) - grown).volume() == pytest.approx(0.0, abs=1e-9)
    bounds = np.array(grown.bounding_box()) - np.array(channel_solid(channel).bounding_box())
    assert bounds == pytest.approx([-0.5, -0.5, -0.5, 0.5, 0.5, 0.5], abs=1e-6)


def test_every_vent_of_a_flat_torus_wave_reaches_the_top():
    part = sample("warped ring")
    block = block_around(part.mesh.vertices_mm, wall_mm=8.0, side_mm=8.0)
    starts = [channel.path_mm[0] for channel in default_channels(part.mesh, block, SETTINGS)]
    assert [abs(start[0]) for start in starts] == pytest.approx([20.0, 20.0], abs=0.8)
    assert starts[0][0] * starts[1][0] < 0.0
