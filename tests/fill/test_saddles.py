"""Air above a sharp concave corner at the default grid, held against closed forms."""

import manifold3d
import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from fill_shapes import UP, part_of
from firstpour.fill.pockets import find_pockets
from firstpour.fill.saddles import saddle_vertices
from firstpour.values import Mesh

WITHIN = 0.01


def pyramid(at, reach, high, turn=0.0):
    """A pyramid over a square whose corners lie `reach` from its middle, an edge towards +x unless turned."""
    angles = turn + np.pi / 2 * np.arange(4)
    base = np.stack([at[0] + reach * np.cos(angles), at[1] + reach * np.sin(angles), np.zeros(4)], axis=1)
    return manifold3d.Manifold.hull_points([*map(tuple, base), (at[0], at[1], high)])


sizes = st.floats(12.0, 20.0)


@settings(max_examples=40, deadline=None)
@given(reach=sizes, other=sizes, high=st.floats(11.0, 18.0), apart=st.floats(0.5, 0.8), turn=st.floats(0.0, 90.0))
def test_air_above_the_ridges_of_two_crossing_pyramids_is_right_within_one_percent(reach, other, high, apart, turn):
    """Edges meet where h₁ (1 − x / r₁) = h₂ (1 − (d − x) / r₂); over that the small one has 2/3 r² h (1 − z/h)³."""
    tall, d = 20.0, apart * (reach + other)
    x = (tall - high + high * d / other) / (tall / reach + high / other)
    level = tall * (1.0 - x / reach)
    assume(1.0 < level < high - 1.5 and 0 < x < d)
    solid = pyramid((0, 0), reach, tall) + pyramid((d, 0.0), other, high)
    fill = find_pockets(part_of(solid.rotate((0.0, 0.0, turn))), up=UP)
    assert fill.pockets[0].seals_at_mm == pytest.approx(level, abs=1e-4)
    expected = 2.0 / 3.0 * other**2 * high * (1.0 - level / high) ** 3
    assert fill.trapped_mm3 == pytest.approx(expected, rel=WITHIN)


@settings(max_examples=40, deadline=None)
@example(high=12.0, reach=12.0, apart=12.1875, way=0.791015625, turns=(0.640625, 0.64453125))
@given(
    high=st.floats(12.0, 18.0), reach=sizes, apart=st.floats(10.0, 14.0), way=st.floats(0.0, 6.2),
    turns=st.tuples(st.floats(0.0, 1.5), st.floats(0.0, 1.5)),
)  # fmt: skip
def test_pyramids_that_cross_askew_are_cut_off_at_the_highest_place_they_share(high, reach, apart, way, turns):
    """Exact solids beside it: the highest place of what both share, and the small one cut there."""
    first = pyramid((0, 0), 15.0, 20.0, turns[0])
    second = pyramid((apart * np.cos(way), apart * np.sin(way)), reach, high, turns[1])
    level = (first ^ second).bounding_box()[5]
    assume(level < high - 2.5)
    fill = find_pockets(part_of(first + second), up=UP)
    cap_mm3 = second.trim_by_plane((0.0, 0.0, 1.0), level).volume()
    assert fill.trapped_mm3 == pytest.approx(cap_mm3, rel=WITHIN)


def test_a_vent_above_the_saddle_keeps_its_own_level():
    """The saddle lies at 8 mm, the vent on the ridge at 11 mm: from there on the air above it stays, to a pitch."""
    solid = pyramid((0, 0), 15.0, 20.0) + pyramid((16.0, 0.0), 15.0, 15.0)
    closed, vented = (find_pockets(part_of(solid), up=UP, vents_mm=at) for at in ((), (np.array([20.0, 0.0, 11.0]),)))
    assert closed.pockets[0].seals_at_mm == pytest.approx(8.0, abs=1e-6)
    assert vented.pockets[0].seals_at_mm == pytest.approx(11.0, abs=vented.pitch_mm)


def test_saddles_are_where_the_height_goes_up_and_down_twice():
    ring = np.array([[np.cos(a), np.sin(a), np.cos(2 * a)] for a in np.pi / 4 * np.arange(8)])
    faces = np.array([[8, k, (k + 1) % 8] for k in range(8)])
    mesh = Mesh(vertices_mm=np.vstack([ring, np.zeros(3)]), faces=faces)
    np.testing.assert_array_equal(saddle_vertices(mesh, mesh.vertices_mm[:, 2] + 1e-6 * np.arange(9)), [8])
    bowl = Mesh(vertices_mm=np.vstack([ring * [1, 1, 0] + [0, 0, 1], np.zeros(3)]), faces=faces)
    assert len(saddle_vertices(bowl, bowl.vertices_mm[:, 2])) == 0
