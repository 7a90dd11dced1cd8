"""Which directions get a name, and why: thresholds and words, with round features and meshes made for each."""

from types import SimpleNamespace as Some

import manifold3d
import numpy as np
import pytest

from firstpour.parting import candidates
from firstpour.parting.candidates import bores_of, named_candidates, principal_axes, surface_points_mm
from firstpour.parting.values import DrawOrigin
from firstpour.rounds.fit_round import RoundKind
from firstpour.surface.solids import from_solid
from firstpour.values import frame_along, turned
from mould_shapes import X, Y, Z

Solid = manifold3d.Manifold
LUMP = from_solid(Solid.hull_points((np.random.default_rng(3).normal(size=(40, 3)) * [9.0, 7.0, 5.0]).tolist()))
"""A lump without any axis of its own and with many small faces."""


def feature(axis, *, kind=RoundKind.CYLINDER, material=-1, radius_mm=4.0, area_mm2=1000.0, turn=1.0):
    axis = np.array(axis, dtype=float) / np.linalg.norm(axis)
    return Some(
        fit=Some(kind=kind, axis=axis), material=material, radius_mm=radius_mm, area_mm2=area_mm2,
        section=Some(turn_ratio=turn),
    )  # fmt: skip


def leaning(degrees):
    a = np.radians(degrees)
    return (np.sin(a), 0.0, np.cos(a))


@pytest.fixture
def without_symmetry(monkeypatch):
    """Symmetry is not looked for: it takes most of the time, and a lump has none."""
    monkeypatch.setattr(candidates, "_symmetry_axes", lambda _: [])


# --- bores ---------------------------------------------------------------------------------------------


def test_a_bore_is_as_long_as_its_wall_unrolled():
    """2 π 5 × 18 mm² all round; at nine tenths of a turn the same wall is 20 mm long."""
    whole, most = (
        bores_of([feature(Z, radius_mm=5.0, area_mm2=2.0 * np.pi * 5.0 * 18.0, turn=turn)])[0] for turn in (1.0, 0.9)
    )
    assert (whole.radius_mm, whole.long_mm) == pytest.approx((5.0, 18.0))
    assert most.long_mm == pytest.approx(20.0)
    np.testing.assert_array_equal(whole.axis, Z)


@pytest.mark.parametrize(
    ("one", "is_bore"),
    [
        (feature(Z), True), (feature(Z, kind=RoundKind.CONE), True), (feature(Z, kind=RoundKind.TORUS), False),
        (feature(Z, kind=RoundKind.SPHERE), False), (feature(Z, material=1), False), (feature(Z, turn=0.86), True),
        (feature(Z, turn=0.84), False), (feature(Z, material=1, kind=RoundKind.TORUS), False),
    ],
)  # fmt: skip
def test_a_bore_is_a_hole_that_goes_nearly_all_round(one, is_bore):
    assert bool(bores_of([one])) is is_bore


# --- round features ------------------------------------------------------------------------------------


def named(*rounds, mesh=LUMP, origin=DrawOrigin.ROUND):
    return [one for one in named_candidates(mesh, rounds) if one.origin is origin]


@pytest.mark.usefixtures("without_symmetry")
def test_a_round_feature_says_whether_it_is_a_hole_and_how_wide():
    hole, boss = named(feature(leaning(20)), feature(leaning(50), material=1, radius_mm=2.55))[:2]
    assert hole.reason == "axis of a hole of 8.0 mm"
    assert boss.reason == "axis of a round face of 5.1 mm"
    assert hole.direction == pytest.approx(leaning(20))


@pytest.mark.usefixtures("without_symmetry")
@pytest.mark.parametrize(("share", "counts"), [(0.0029, False), (0.0031, True)])
def test_a_round_feature_counts_from_three_thousandths_of_the_area_on(share, counts):
    area_mm2 = sum(np.linalg.norm(np.cross(*(np.diff(LUMP.vertices_mm[face], axis=0))) / 2.0) for face in LUMP.faces)
    assert bool(named(feature(leaning(20), material=1, area_mm2=share * area_mm2))) is counts


@pytest.mark.usefixtures("without_symmetry")
@pytest.mark.parametrize(("apart_deg", "count"), [(0.9, 1), (1.1, 2), (180.5, 1), (178.5, 2)])
def test_axes_within_a_degree_are_one_whichever_way_they_point(apart_deg, count):
    found = named(feature(leaning(20), material=1), feature(leaning(20 + apart_deg), material=1))
    assert len(found) == count


@pytest.mark.usefixtures("without_symmetry")
def test_the_four_largest_axes_count_and_a_ball_has_none():
    axes = [feature(leaning(15 * k + 10), material=1) for k in range(6)]
    assert named(feature(Z, kind=RoundKind.SPHERE, material=1)) == []
    assert [one.direction for one in named(*axes)] == [pytest.approx(leaning(15 * k + 10)) for k in range(4)]


@pytest.mark.usefixtures("without_symmetry")
def test_halfway_between_two_holes_that_cross_both_ways_are_tried():
    found = named(feature(leaning(10)), feature(leaning(70)))
    halfway = [one.direction for one in found if one.reason == "halfway between two holes"]
    assert halfway == [pytest.approx(leaning(40)), pytest.approx(leaning(-50))]


@pytest.mark.usefixtures("without_symmetry")
@pytest.mark.parametrize(
    "pair",
    [
        (feature(leaning(10)), feature(leaning(70), material=1)),
        (feature(leaning(10)), feature(leaning(70), kind=RoundKind.SPHERE)),
        (feature(leaning(10)), feature(leaning(10.5))),
        (feature(leaning(10), material=1), feature(leaning(70), material=1)),
    ],
    ids=["hole and boss", "hole and ball", "parallel", "bosses"],
)
def test_only_two_holes_that_cross_have_a_way_between_them(pair):
    assert not [one for one in named(*pair) if "halfway" in one.reason]


# --- flats, symmetry, axes of the file -----------------------------------------------------------------


@pytest.mark.usefixtures("without_symmetry")
def test_a_flat_face_says_how_large_it_is_both_sides_together():
    """Lid and floor of a prism on a right triangle of 40 × 30, 600 mm² each, look along one line."""
    prism = from_solid(Solid.hull_points([(0, 0, 0), (40, 0, 0), (0, 30, 0), (0, 0, 25), (40, 0, 25), (0, 30, 25)]))
    for rotation in (np.eye(3), frame_along(np.array([1.0, 2.0, 6.0]))):
        found = named(mesh=turned(prism, rotation=rotation), origin=DrawOrigin.FLAT)
        (lid,) = [one for one in found if abs(one.direction @ rotation @ Z) > 0.99999]
        assert lid.reason == "square to 1200 mm² of flat"
        assert found[0].reason == "square to 1250 mm² of flat"  # the slanting side, 50 × 25


@pytest.mark.usefixtures("without_symmetry")
def test_the_six_largest_flats_count():
    """A prism on nine sides that differ, lid and floor apart."""
    turns = np.cumsum(np.linspace(1.0, 1.9, 9))
    turns *= 2.0 * np.pi / turns[-1]
    outline = [(20.0 * np.cos(a), 20.0 * np.sin(a)) for a in turns]
    mesh = from_solid(Solid.extrude(manifold3d.CrossSection([outline]), 20.0).rotate((20.0, 30.0, 0.0)))
    found = named(mesh=mesh, origin=DrawOrigin.FLAT)
    assert len(found) == 6
    areas = [float(one.reason.split()[2]) for one in found]
    assert areas == sorted(areas, reverse=True)


@pytest.mark.usefixtures("without_symmetry")
@pytest.mark.parametrize(("cap_mm", "counts"), [(2.7, False), (2.95, True)])
def test_a_flat_counts_from_two_hundredths_of_the_area_on(cap_mm, counts):
    """A ball of 10 mm with two caps cut off: π 2.7² is 0.019 of the area that is left, π 2.95² 0.023."""
    ball, normal = Solid.sphere(10.0, 128), np.ones(3) / np.sqrt(3.0)
    for axis, radius_mm in ((normal, cap_mm), (np.array([1.0, -0.9, 0.1]), 6.0)):
        ball = ball.trim_by_plane(tuple(-axis / np.linalg.norm(axis)), -np.sqrt(100.0 - radius_mm**2))
    along = [one for one in named_candidates(from_solid(ball), ()) if abs(one.direction @ normal) > 0.9999]
    assert [one.origin for one in along] == ([DrawOrigin.FLAT] if counts else [])
    for one in along:
        assert float(one.reason.split()[2]) == pytest.approx(np.pi * cap_mm**2, rel=0.05)


def polygon(sides, *, high=30.0):
    """A prism on a star of so many points, so that nothing else of it is symmetrical to its axis."""
    turns = 2.0 * np.pi * np.arange(6 * sides) / (6 * sides)
    radii = np.array([20.0, 14.0, 12.0, 11.0, 12.5, 16.0])[np.arange(6 * sides) % 6]
    outline = manifold3d.CrossSection([np.column_stack([radii * np.cos(turns), radii * np.sin(turns)])])
    return Solid.extrude(outline, high, scale_top=(0.8, 0.8))


@pytest.mark.parametrize("sides", [3, 4, 5, 7])
def test_what_turns_into_itself_has_an_axis_of_symmetry(sides):
    found = [one for one in named_candidates(from_solid(polygon(sides)), ()) if abs(one.direction @ Z) > 0.9999]
    assert [(one.origin, one.reason) for one in found] == [(DrawOrigin.SYMMETRY, "axis of symmetry")]


@pytest.mark.parametrize("fold", [3, 4, 5, 6, 7, 8])
def test_a_hole_more_on_one_side_does_not_hide_that_a_part_turns_into_itself(fold):
    """A thin plate whose moments across its axis differ by more than a hundredth, while all but a few points land."""
    solid = polygon(fold, high=4.0) - Solid.cylinder(20.0, 1.5, 1.5, 24, True).translate((10.5, 0.0, 0.0))
    mesh = from_solid(solid)
    least, middle, most = principal_axes(mesh)[1]
    assert most - middle > 0.01 * most > 0.01 * least
    found = [one for one in named_candidates(mesh, ()) if abs(one.direction @ Z) > 0.999]
    assert [one.reason for one in found] == [f"axis of symmetry, {2 if fold % 2 == 0 else fold}-fold"]


def test_the_moments_of_a_plate_are_a_twelfth_of_its_squared_sides():
    """a² / 12 along each side (any handbook), about the middle of mass wherever it lies."""
    mesh = from_solid(Solid.cube((6.0, 12.0, 24.0)).translate((5.0, -7.0, 11.0)))
    centre, moments, axes = principal_axes(mesh)
    assert centre == pytest.approx([8.0, -1.0, 23.0])
    assert moments == pytest.approx([3.0, 12.0, 48.0])
    assert np.abs(axes) == pytest.approx(np.eye(3), abs=1e-9)


def test_what_turns_into_itself_by_half_a_turn_alone_says_so():
    """Two different moments across the axis: 2-fold."""
    outline = manifold3d.CrossSection([[(20, 0), (24, 8), (-6, 9), (-20, 0), (-24, -8), (6, -9)]])
    mesh = from_solid(Solid.extrude(outline, 12.0, scale_top=(0.7, 0.7)))
    found = [one for one in named_candidates(mesh, ()) if abs(one.direction @ Z) > 0.9999]
    assert [(one.origin, one.reason) for one in found] == [(DrawOrigin.SYMMETRY, "axis of symmetry, 2-fold")]


def test_what_only_mirrors_is_square_to_a_plane_and_a_lump_has_neither():
    """An L with unequal legs mirrors in the middle of its height alone."""
    outline = manifold3d.CrossSection([[(0, 0), (30, 0), (30, 5), (9, 5), (9, 18), (0, 18)]])
    mesh = from_solid(Solid.extrude(outline, 14.0))
    found = [one for one in named_candidates(mesh, ()) if one.origin in (DrawOrigin.MIRROR, DrawOrigin.SYMMETRY)]
    assert [(one.reason, abs(one.direction @ Z) > 0.9999) for one in found] == [
        ("square to a plane of symmetry", True)
    ]
    origins = {one.origin for one in named_candidates(LUMP, ())}
    assert not origins & {DrawOrigin.MIRROR, DrawOrigin.SYMMETRY}


@pytest.mark.usefixtures("without_symmetry")
def test_the_axes_of_the_file_come_last_and_z_first_of_them():
    found = [one for one in named_candidates(LUMP, ()) if one.origin is DrawOrigin.AXIS]
    assert [one.reason for one in found] == [f"{name} axis of the file" for name in "zxy"]
    for one, axis in zip(found, (Z, X, Y), strict=True):
        np.testing.assert_array_equal(one.direction, axis)


@pytest.mark.usefixtures("without_symmetry")
@pytest.mark.parametrize(
    ("axis", "upwards"),
    [
        ((0, 0, -2), (0, 0, 1)), ((0, -3, 0), (0, 1, 0)), ((-4, 0, 0), (1, 0, 0)), ((3, 0, -4), (-0.6, 0, 0.8)),
        ((3e-8, -1, 3e-8), (0, 1, 0)), ((0.6, -0.8, 0), (-0.6, 0.8, 0)),
    ],
)  # fmt: skip
def test_every_direction_points_up_or_at_the_last_axis_that_it_has_and_is_free_of_dust(axis, upwards):
    first = named(feature(axis, material=1))[0]
    np.testing.assert_allclose(first.direction, upwards, atol=1e-12)
    assert (first.direction != 0.0).tolist() == [value != 0 for value in upwards]
    assert not np.signbit(first.direction[first.direction == 0.0]).any()


@pytest.mark.parametrize("count", [300, 3000])
def test_points_on_a_triangle_lie_evenly_in_it(count):
    """Of points spread evenly, (k / 4)² lie in the part of a triangle next to a corner, k quarters of it high."""
    mesh = from_solid(Solid.tetrahedron())
    points = surface_points_mm(mesh, count=count)
    assert points.shape == (count, 3)
    corners = mesh.vertices_mm[mesh.faces]
    for triangle in corners:
        normal = np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])
        inside = points[np.abs((points - triangle[0]) @ normal) < 1e-9 * np.linalg.norm(normal)]
        assert len(inside) == pytest.approx(count / 4, abs=1)
        assert inside.mean(axis=0) == pytest.approx(triangle.mean(axis=0), abs=0.25)
        for k in range(3):
            a, b, c = np.roll(triangle, k, axis=0)
            high = 1.0 - np.linalg.lstsq(np.column_stack([b - a, c - a]), (inside - a).T, rcond=None)[0].sum(axis=0)
            assert ((high >= -1e-9) & (high <= 1.0 + 1e-9)).all()
            assert (high > 0.5).mean() == pytest.approx(0.25, abs=0.12 if count < 1000 else 0.05)
    np.testing.assert_array_equal(points, surface_points_mm(mesh, count=count))
