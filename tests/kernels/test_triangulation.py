"""The constrained Delaunay triangulation against brute force and SciPy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull, Delaunay

from firstpour.parting.sheet import triangulate_rings


def ring_of(angles, radii):
    return np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])


def star_in_a_square(seed: int):
    """A square of points with a star-shaped hole, and points between: xy, rings, first new vertex."""
    random = np.random.default_rng(seed)
    square = np.array([[-3.0, -3.0], [3.0, -3.0], [3.0, 3.0], [-3.0, 3.0]])
    angles = np.linspace(0, 2 * np.pi, 14, endpoint=False)
    hole = ring_of(angles, random.uniform(0.4, 1.6, 14))
    between = random.uniform(-3, 3, (60, 2))
    xy = np.concatenate([square, hole, between])
    return xy, [np.arange(4), 4 + np.arange(14)[::-1]], 18


def area2(xy, tri):
    a, b, c = (xy[tri[:, k]] for k in range(3))
    return (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]


def sides_of(tri):
    return {frozenset((int(t[k]), int(t[(k + 1) % 3]))) for t in tri for k in range(3)}


def ring_sides(rings):
    return {frozenset((int(a), int(b))) for ring in rings for a, b in zip(ring, np.roll(ring, -1), strict=True)}


def depth_in_circle(xy, t, p):
    """How far p lies inside the circle through the corners of triangle t, as a share of its radius."""
    a, b, c = xy[t]
    centre = np.linalg.solve(2 * np.array([b - a, c - a]), [b @ b - a @ a, c @ c - a @ a])
    radius = np.linalg.norm(a - centre)
    return (radius - np.linalg.norm(p - centre)) / radius


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_no_corner_across_a_free_side_lies_in_the_circle_of_a_triangle(seed):
    xy, rings, first_new = star_in_a_square(seed)
    tri = triangulate_rings(xy, rings, first_new=first_new)
    fixed = ring_sides(rings)
    across = {}
    for n, t in enumerate(tri.tolist()):
        for k in range(3):
            across.setdefault(frozenset((t[k], t[(k + 1) % 3])), []).append((n, t[(k + 2) % 3]))
    for side, beside in across.items():
        if side in fixed:
            continue
        (one, _), (_, corner) = beside
        assert depth_in_circle(xy, tri[one], xy[corner]) < 1e-6


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_the_area_and_the_constraints_are_kept(seed):
    xy, rings, first_new = star_in_a_square(seed)
    tri = triangulate_rings(xy, rings, first_new=first_new)
    x, y = xy[rings[1]].T
    hole2 = abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))
    areas2 = area2(xy, tri)
    assert (areas2 >= 0).all()
    assert areas2.sum() == pytest.approx(2 * 36.0 - hole2)
    assert ring_sides(rings) <= sides_of(tri)


@given(seed=st.integers(0, 10_000), count=st.integers(0, 80))
@settings(max_examples=25, deadline=None)
def test_points_in_a_convex_ring_give_the_triangles_of_scipy(seed, count):
    random = np.random.default_rng(seed)
    ring = ring_of(np.sort(random.uniform(0, 2 * np.pi, 24)), np.full(24, 5.0))
    ring = ring[ConvexHull(ring).vertices]
    between = ring_of(random.uniform(0, 2 * np.pi, count), 3.5 * np.sqrt(random.uniform(0, 1, count)))
    inside = [p for p in between if depth_of(ring, p) > 1e-3]
    xy = np.concatenate([ring, np.array(inside).reshape(-1, 2)])
    ours = triangulate_rings(xy, [np.arange(len(ring))], first_new=len(ring))
    if len(inside) == 0:  # all on one circle: any triangulation is as good
        assert len(ours) == len(ring) - 2
        return
    theirs = Delaunay(xy).simplices
    assert {frozenset(t) for t in ours.tolist()} == {frozenset(t) for t in theirs.tolist()} or nearly_round(xy, ours)


def depth_of(ring, p):
    """Least distance of p inside the convex ring."""
    along = np.roll(ring, -1, axis=0) - ring
    to = p - ring
    return float(((along[:, 0] * to[:, 1] - along[:, 1] * to[:, 0]) / np.linalg.norm(along, axis=1)).min())


def nearly_round(xy, tri):
    """Whether our triangles are Delaunay too: no point deeper than rounding in any circle."""
    return all(max(depth_in_circle(xy, t, p) for p in xy) < 1e-9 for t in tri)


def test_points_outside_the_rings_are_left_out():
    xy = np.array([[0, 0], [4, 0], [4, 4], [0, 4], [9, 9], [2, 1.5]], dtype=np.float64)
    tri = triangulate_rings(xy, [np.arange(4)], first_new=4)
    assert set(np.unique(tri).tolist()) == {0, 1, 2, 3, 5}
