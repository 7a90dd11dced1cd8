"""Which half each face goes to: every weight held by two rings of a tower that tip at it, every pull by hand."""

from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from firstpour.part.part import FaceMark
from firstpour.parting import allot
from firstpour.parting.allot import (
    Wish,
    allot_faces,
    fold_spots_mm,
    folded_edges,
    seam_edges,
    seam_loops,
    without_islands,
)
from firstpour.parting.values import Reach
from firstpour.surface.edges import edges_of
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, face_areas_mm2, face_centres_mm, face_normals, scaled

SIDES = 24
WIDE_MM, BETWEEN_MM = 900.0, 400.0
"""Both ends of the tower, so that no seam runs there, and the belly between its two rings."""


def tower(rings_mm, *, zigzag=None):
    """A tower of rings (radius, height) with a lid at each end, and the band of each face (−1: the floor).

    The points of ring `zigzag` lie up and down in turn by half the length of its sides.
    """
    turns = 2.0 * np.pi * np.arange(SIDES) / SIDES
    points = [np.column_stack([r * np.cos(turns), r * np.sin(turns), np.full(SIDES, z)]) for r, z in rings_mm]
    if zigzag is not None:
        points[zigzag][:, 2] += rings_mm[zigzag][0] * np.sin(np.pi / SIDES) * np.where(np.arange(SIDES) % 2, 1, -1)
    points += [[[0.0, 0.0, rings_mm[0][1]]], [[0.0, 0.0, rings_mm[-1][1]]]]
    floor, lid = SIDES * len(rings_mm), SIDES * len(rings_mm) + 1
    faces, bands = [], []
    for k in range(SIDES):
        after = (k + 1) % SIDES
        for band in range(len(rings_mm) - 1):
            a, b, c, d = band * SIDES + k, band * SIDES + after, (band + 1) * SIDES + after, (band + 1) * SIDES + k
            faces += [(a, b, c), (a, c, d)]
            bands += [band, band]
        top = SIDES * (len(rings_mm) - 1)
        faces += [(after, k, floor), (top + k, top + after, lid)]
        bands += [-1, len(rings_mm) - 1]
    mesh = Mesh(vertices_mm=np.concatenate(points), faces=np.array(faces))
    return mesh, np.array(bands)


def wish_for(mesh, bands, *, marks=(), neither=(), down=()):
    """Walls that both halves reach, a lid that looks up and a floor that looks down, but for the bands named."""
    side = np.where(bands == bands.max(), 1, np.where(bands == -1, -1, 0)).astype(np.int8)
    reach = np.where(bands == bands.max(), Reach.ABOVE, np.where(bands == -1, Reach.BELOW, Reach.BOTH))
    reach[np.isin(bands, neither)] = Reach.NEITHER
    side[np.isin(bands, down)] = -1
    worn = np.zeros(len(mesh.faces), np.uint8)
    for band, mark in marks:
        worn[bands == band] |= int(mark)
    return Wish(side=side, reach=reach.astype(np.uint8), marks=worn)


def ring_of_seam(mesh, bands, wish):
    """Under which band the seam runs all round."""
    upper = allot_faces(mesh, edges_of(mesh), wish).upper
    shares = [upper[bands == band].mean() for band in range(-1, bands.max() + 1)]
    assert set(shares) <= {0.0, 1.0}
    assert shares == sorted(shares)
    return shares.index(1.0) - 1


PLAIN_MM = 12.0
SHOW, HIDDEN = FaceMark.SHOW, FaceMark.HIDDEN
CASES = {
    "plain": ({}, 1.0),
    "show on both sides": ({"marks": [(2, SHOW), (3, SHOW)]}, 4.0),
    "the border of a show face": ({"marks": [(3, SHOW)]}, 2.5),
    "beside a hidden face": ({"marks": [(2, HIDDEN)]}, 0.25),
    "hidden goes before show": ({"marks": [(2, HIDDEN), (2, SHOW), (3, SHOW)]}, 0.25),
    "keep clear is no show": ({"marks": [(2, FaceMark.KEEP_CLEAR), (3, FaceMark.KEEP_CLEAR)]}, 1.0),
    "inside an undercut": ({"neither": (2, 3)}, 3.0),
    "the border of an undercut": ({"neither": (3,)}, 1.0),
    "where the part turns over": ({"neither": (2,), "down": (2,)}, 0.5),
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize(("share", "taken"), [(0.96, 3), (1.04, 1)])
def test_a_mm_of_seam_costs_as_much_as_the_docs_say(case, share, taken):
    """Ring 1 is plain, ring 3 as the case says; the seam runs where its radius times its weight is less."""
    wishes, weight = CASES[case]
    other_mm = share * PLAIN_MM / weight
    rings = [(WIDE_MM, 0), (PLAIN_MM, 3000), (BETWEEN_MM, 5000), (other_mm, 7000), (WIDE_MM, 10000)]
    mesh, bands = tower(rings)
    assert ring_of_seam(mesh, bands, wish_for(mesh, bands, **wishes)) == taken


@pytest.mark.parametrize(("share", "taken"), [(0.96, 3), (1.04, 1)])
def test_a_seam_that_climbs_costs_one_and_six_times_its_squared_rise(share, taken):
    """Up and down by the length of the level side: √2 as long, at 45° with a rise of 1/√2, so √2 (1 + 6/2)."""
    other_mm = share * PLAIN_MM / (np.sqrt(2.0) * 4.0)
    rings = [(WIDE_MM, 0), (PLAIN_MM, 3000), (BETWEEN_MM, 5000), (other_mm, 7000), (WIDE_MM, 10000)]
    mesh, bands = tower(rings, zigzag=3)
    assert ring_of_seam(mesh, bands, wish_for(mesh, bands)) == taken


@pytest.mark.parametrize(
    ("bend_deg", "share", "taken"), [(44.0, 0.96, 4), (44.0, 1.04, 1), (36.0, 0.96, 1), (36.0, 0.3, 4)]
)
def test_sharp_edges_cost_three_tenths_from_forty_degrees_on(bend_deg, share, taken):
    """A notch with one side that slopes by 16° and one that nobody reaches, so that no half is sure of it; 36° is no
    edge, and there the radius itself must be less."""
    other_mm = share * PLAIN_MM / 0.3
    below, above = (20.0 / np.tan(np.radians(slope)) for slope in (bend_deg - 16.0, 16.0))
    rings = [
        (WIDE_MM, 0), (PLAIN_MM, 3000), (BETWEEN_MM, 5000), (other_mm + 20.0, 7000), (other_mm, 7000 + below),
        (other_mm + 20.0, 7000 + below + above), (WIDE_MM, 11000),
    ]  # fmt: skip
    mesh, bands = tower(rings)
    assert ring_of_seam(mesh, bands, wish_for(mesh, bands, neither=(3,))) == taken


def tries(monkeypatch, other_mm, spots_at_ring, *, away_mm=0.0):
    """On which ring the seam ends, and was laid in turn, where rings cross themselves in so many places."""
    mesh, bands = tower([(WIDE_MM, 0), (PLAIN_MM, 3000), (BETWEEN_MM, 5000), (other_mm, 7000), (WIDE_MM, 10000)])
    laid = []

    def spots(mesh, seam):
        high_mm = float(mesh.vertices_mm[seam[0, 0], 2])
        laid.append({3000.0: 1, 7000.0: 3}.get(high_mm))
        return np.array([[away_mm, 0.0, high_mm]] * spots_at_ring.get(laid[-1], 0)).reshape(-1, 3)

    monkeypatch.setattr(allot, "fold_spots_mm", spots)
    return ring_of_seam(mesh, bands, wish_for(mesh, bands)), laid


def test_where_a_seam_crosses_itself_it_is_made_three_times_as_dear_until_it_goes_elsewhere(monkeypatch):
    """12 mm of radius become 36, then 108; the other ring has 30 or 40."""
    assert tries(monkeypatch, 30.0, {1: 1}) == (3, [1, 3])
    assert tries(monkeypatch, 40.0, {1: 1}) == (3, [1, 1, 3])
    assert tries(monkeypatch, 30.0, {}) == (1, [1])


def test_only_what_is_near_such_a_place_becomes_dearer(monkeypatch):
    """Near is three hundredths of the part's size, 300 of 10,000 mm."""
    assert tries(monkeypatch, 30.0, {1: 1}, away_mm=270.0) == (3, [1, 3])
    assert tries(monkeypatch, 30.0, {1: 1}, away_mm=330.0) == (1, [1] * 6)


def test_of_six_tries_that_with_the_fewest_such_places_counts(monkeypatch):
    assert tries(monkeypatch, 29.0, {1: 2, 3: 1}) == (3, [1, 3, 1, 3, 1, 3])
    assert tries(monkeypatch, 29.0, {1: 1, 3: 2})[0] == 1
    assert tries(monkeypatch, 29.0, {1: 1, 3: 1})[0] == 1


# --- pulls ---------------------------------------------------------------------------------------------


def cube(side_mm, *, cuts=12):
    """A cube, each side cut into `cuts` a way, and its edges."""
    mesh = from_solid(manifold3d.Manifold.cube((side_mm,) * 3, True).refine(cuts))
    return mesh, edges_of(mesh)


def looks(mesh, *, wall=Reach.BOTH, lid=Reach.ABOVE):
    side = np.sign(np.round(face_normals(mesh)[:, 2])).astype(np.int8)
    reach = np.array([Reach.BELOW, wall, lid])[side + 1].astype(np.uint8)
    return Wish(side=side, reach=reach, marks=np.zeros(len(side), np.uint8))


def off_brow_mm(mesh, edges, wish):
    """How far each face's middle lies from the middles of the edges where the part turns over, by every pair."""
    turns = wish.side[edges.faces[:, 0]] != wish.side[edges.faces[:, 1]]
    brows = mesh.vertices_mm[edges.ends[turns]].mean(axis=1)
    return np.linalg.norm(face_centres_mm(mesh)[:, None] - brows[None], axis=2).min(axis=1)


@pytest.mark.parametrize("side_mm", [60.0, 80.0, 20.0])
def test_a_face_in_the_wrong_half_costs_four_times_the_undercut_it_makes_to_three_mm_deep(side_mm):
    """Below 50 mm prices go with the size: depth to 3 mm × size / 50, and 4 mm a mm³ over (size / 50)²."""
    mesh, edges = cube(side_mm)
    wish = looks(mesh)
    small = min(1.0, side_mm / 50.0)
    depth = np.minimum(off_brow_mm(mesh, edges, wish), 3.0 * small)
    assert depth.min() < 2.9 * small < depth.max()
    expected = 4.0 / small**2 * face_areas_mm2(mesh) * depth * wish.side
    assert allot_faces(mesh, edges, wish).pull == pytest.approx(expected)


def test_the_longest_side_is_the_size_of_a_part():
    """A plate of 60 × 60 × 20 is as large as 60 mm."""
    mesh = from_solid(manifold3d.Manifold.cube((60.0, 60.0, 20.0), True).refine(6))
    wish = looks(mesh)
    middle = np.argmax(off_brow_mm(mesh, edges_of(mesh), wish))
    assert abs(allot_faces(mesh, edges_of(mesh), wish).pull[middle]) == pytest.approx(
        4.0 * 3.0 * face_areas_mm2(mesh)[middle]
    )


def test_a_small_part_is_parted_as_a_larger_one_of_its_shape():
    mesh, edges = cube(40.0)
    large, small = (allot_faces(one, edges, looks(one)) for one in (mesh, scaled(mesh, factor=0.25)))
    np.testing.assert_array_equal(large.upper, small.upper)
    assert small.pull == pytest.approx(0.25 * large.pull)


@pytest.mark.parametrize(("side_mm", "small"), [(60.0, 1.0), (20.0, 0.4)])
@pytest.mark.parametrize(
    ("wall", "way"), [(Reach.ABOVE, 1.0), (Reach.BELOW, -1.0), (Reach.BOTH, 0.0), (Reach.NEITHER, 0.0)]
)
def test_a_wall_that_one_side_reaches_is_pulled_there_as_by_a_fifth_of_a_mm_of_undercut(side_mm, small, wall, way):
    mesh, edges = cube(side_mm)
    wish = looks(mesh, wall=wall)
    walls = wish.side == 0
    expected = way * 4.0 / small**2 * 0.2 * small * face_areas_mm2(mesh)[walls]
    assert allot_faces(mesh, edges, wish).pull[walls] == pytest.approx(expected)


def test_what_nobody_reaches_is_not_pulled():
    mesh, edges = cube(60.0)
    wish = looks(mesh, lid=Reach.NEITHER)
    pull = allot_faces(mesh, edges, wish).pull
    assert (pull[wish.side == 1] == 0.0).all()
    assert (pull[wish.side == -1] < 0.0).all()


def test_a_part_that_nowhere_turns_over_is_as_deep_as_is_priced():
    mesh, edges = cube(60.0, cuts=2)
    wish = looks(mesh)
    flat = replace(wish, side=np.ones_like(wish.side), reach=np.full_like(wish.reach, Reach.ABOVE))
    plan_mm2 = np.abs(face_normals(mesh)[:, 2]) * face_areas_mm2(mesh)
    assert allot_faces(mesh, edges, flat).pull == pytest.approx(4.0 * 3.0 * plan_mm2)


@pytest.mark.parametrize(("wall", "upper"), [(Reach.ABOVE, True), (Reach.BELOW, False)])
def test_walls_go_to_the_half_that_reaches_them(wall, upper):
    mesh, edges = cube(60.0)
    wish = looks(mesh, wall=wall)
    given = allot_faces(mesh, edges, wish).upper
    assert given[wish.side == 1].all()
    assert not given[wish.side == -1].any()
    assert (given[wish.side == 0] == upper).all()


def test_a_body_too_small_to_pull_a_seam_is_parted_where_it_turns_over_all_the_same():
    """Each body must come out of the mould: a crumb of half a millimetre beside a cube of 60."""
    crumb = manifold3d.Manifold.cube((0.5,) * 3, True).translate((80.0, 0.0, 0.0))
    mesh = from_solid(manifold3d.Manifold.cube((60.0,) * 3, True).refine(4) + crumb)
    wish = looks(mesh, wall=Reach.ABOVE)
    upper = allot_faces(mesh, edges_of(mesh), wish).upper
    small = face_centres_mm(mesh)[:, 0] > 50.0
    np.testing.assert_array_equal(upper[small], wish.side[small] > 0)
    np.testing.assert_array_equal(upper[~small], wish.side[~small] >= 0)


@pytest.mark.parametrize("wide_above", [True, False])
def test_a_crumb_that_one_half_would_take_whole_is_parted_whichever_that_is(wide_above):
    """A stump whose wide end pulls more than its narrow one."""
    ends = (0.1, 0.3) if wide_above else (0.3, 0.1)
    crumb = manifold3d.Manifold.cylinder(0.4, *ends, 8).translate((80.0, 0.0, 0.0))
    mesh = from_solid(manifold3d.Manifold.cube((60.0,) * 3, True).refine(4) + crumb)
    wish = looks(mesh)
    small = face_centres_mm(mesh)[:, 0] > 50.0
    upper = allot_faces(mesh, edges_of(mesh), wish).upper
    np.testing.assert_array_equal(upper[small], wish.side[small] > 0)


# --- islands, seams, folds -----------------------------------------------------------------------------


@pytest.mark.parametrize(("faces", "stays"), [(2, False), (3, True)])
@pytest.mark.parametrize("in_upper", [True, False])
def test_a_patch_of_less_than_two_thousandths_joins_the_half_around_it(faces, stays, in_upper):
    """A cube of 1,200 equal faces: two are 1.7 thousandths, three 2.5."""
    mesh, edges = cube(30.0, cuts=10)
    assert len(mesh.faces) == 1200
    upper = face_centres_mm(mesh)[:, 2] > 0.0
    sheet = np.flatnonzero(face_normals(mesh)[:, 2] > 0.9 if in_upper else face_normals(mesh)[:, 2] < -0.9)
    patch = grown(edges, sheet[len(sheet) // 2], sheet, faces)
    split = upper.copy()
    split[patch] = not in_upper
    np.testing.assert_array_equal(without_islands(mesh, edges, split), split if stays else upper)


def grown(edges, first, within, count):
    """So many faces that hang together, from the first on."""
    patch = [first]
    while len(patch) < count:
        beside = edges.faces[np.isin(edges.faces, patch).any(axis=1)].ravel()
        patch.append(next(face for face in beside if face not in patch and face in within))
    return patch


def test_two_patches_are_the_two_halves_however_small_one_is():
    mesh, edges = cube(30.0, cuts=10)
    upper = np.zeros(len(mesh.faces), bool)
    upper[5] = True
    np.testing.assert_array_equal(without_islands(mesh, edges, upper), upper)


def test_the_upper_half_lies_on_the_left_of_each_edge_of_the_seam_and_these_make_loops():
    mesh, edges = cube(30.0, cuts=4)
    high = face_centres_mm(mesh)[:, 2]
    upper = np.abs(high) > 8.0
    seam = seam_edges(mesh, edges, upper)
    sides = {(int(face[k]), int(face[(k + 1) % 3])): n for n, face in enumerate(mesh.faces) for k in range(3)}
    assert len(seam)
    for a, b in seam.tolist():
        assert upper[sides[(a, b)]]
        assert not upper[sides[(b, a)]]
    loops = seam_loops(seam)
    assert len(loops) == 2
    assert sum(len(loop) for loop in loops) == len(seam)
    found = {(int(a), int(b)) for loop in loops for a, b in zip(loop, np.roll(loop, -1), strict=True)}
    assert found == {tuple(edge) for edge in seam.tolist()}


def test_a_seam_that_meets_itself_at_a_vertex_has_no_loops():
    eight = np.array([[0, 1], [1, 2], [2, 0], [0, 3], [3, 4], [4, 0]])
    assert seam_loops(eight) == ()
    assert len(seam_loops(eight[:3])) == 1


def line(*points_mm):
    """A closed seam through the points, in order."""
    count = len(points_mm)
    mesh = Mesh(vertices_mm=np.array(points_mm, dtype=float), faces=np.array([[0, 1, 2]]))
    return mesh, np.column_stack([np.arange(count), (np.arange(count) + 1) % count])


SQUARE = ((0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0))


@pytest.mark.parametrize(
    ("points", "folded"),
    [
        (SQUARE, []),
        (((0, 0, 0), (10, 10, 3), (10, 0, 0), (0, 10, 3)), [0, 2]),
        (((0, 0, 0), (10, 0, 0), (10, 10, 0), (5, 0, 4), (0, 10, 0)), [0, 2, 3]),
        (((0, 0, 0), (10, 0, 0), (10, 0, 5), (10, 10, 5), (0, 10, 0)), []),
        (((0, 0, 0), (10, 0, 0), (10, 0.001, 5), (10, 10, 5), (0, 10, 0)), []),
        (((10, 0, 0), (10, 0, 5), (10, 0, 9), (10, 10, 9), (0, 10, 0)), []),
    ],
    ids=["square", "crossing", "touching", "straight up", "nearly straight up", "two steps up"],
)
def test_edges_that_cross_seen_along_the_draw_are_folded_and_those_straight_up_are_not(points, folded):
    assert folded_edges(*line(*points)).tolist() == folded


def test_a_seam_is_folded_where_its_edges_cross_and_at_a_vertex_that_two_lines_leave():
    mesh, seam = line((0, 0, 0), (10, 10, 4), (10, 0, 0), (0, 10, 4))
    assert fold_spots_mm(mesh, seam) == pytest.approx(np.array([[5.0, 5.0, 2.0]] * 2))
    mesh, seam = line(*SQUARE)
    twice = np.concatenate([seam, [[0, 2]]])
    assert [0.0, 0.0, 0.0] in fold_spots_mm(mesh, twice).tolist()
    assert len(fold_spots_mm(mesh, seam)) == 0
