"""Jackets: the wall stays everywhere by libigl's distances, they lift straight off, the ml are those of solids."""

import igl
import manifold3d
import numpy as np
import pytest

from firstpour.mould.jackets import CUBE_COVER_MM, CUBE_GAP_MM, CUBE_MM, roof_of, spare_of
from firstpour.mould.mould import make_mould
from firstpour.mould.pours import pours_of
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Role
from firstpour.parting.block import box_solid
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import to_solid
from firstpour.values import Mesh
from mould_shapes import Z, as_part

JACKETED = MouldSettings(jacket_mm=3.0)
WALL_MM = JACKETED.wall_mm


def ball() -> manifold3d.Manifold:
    return manifold3d.Manifold.sphere(25.0, 96)


def bowl() -> manifold3d.Manifold:
    """Rim up, deep enough for a plug in its core."""
    inner = manifold3d.Manifold.sphere(36.0, 96)
    return (manifold3d.Manifold.sphere(39.0, 96) - inner).trim_by_plane((0.0, 0.0, -1.0), 0.0)


def stepped() -> manifold3d.Manifold:
    """A plate with a tower at one end: low and tall side by side."""
    plate, tower = manifold3d.Manifold.cube((80.0, 30.0, 6.0)), manifold3d.Manifold.cube((14.0, 14.0, 40.0))
    return plate + tower.translate((8.0, 8.0, 0.0))


NOTHING_TO_SPARE = ("stepped", MouldKind.BLOCK)
"""The flat foot of the plate lies a wall below the silicone of a block all over."""
SHAPES = {"ball": ball, "bowl": bowl, "stepped": stepped}
CASES = [
    *((name, kind) for name in SHAPES for kind in (MouldKind.TRAYS, MouldKind.BLOCK)),
    ("stepped", MouldKind.OPEN_FACE),
]


def mould_of(name: str, kind: MouldKind = MouldKind.TRAYS, settings: MouldSettings = JACKETED):
    part = as_part(name, SHAPES[name]())
    return part, make_mould(lay_parting(part, draw_along(part, Z), kind=kind), settings=settings)


def pieces(mould):
    return {piece.name: to_solid(piece.mesh) for piece in mould.pieces}


def samples(mesh: Mesh, count: int = 20_000):
    """Points (count, 3) spread over a surface by area."""
    corners = mesh.vertices_mm[mesh.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    random = np.random.default_rng(1)
    face = random.choice(len(area), count, p=area / area.sum())
    a, b = np.sort(random.random((2, count)), axis=0)
    weights = np.stack([a, b - a, 1.0 - b], axis=1)
    return np.einsum("ij,ijk->ik", weights, corners[face])


def distance_mm(points, mesh: Mesh):
    faces = np.ascontiguousarray(mesh.faces, np.int64)
    return np.sqrt(igl.point_mesh_squared_distance(points, np.ascontiguousarray(mesh.vertices_mm), faces)[0])


def test_the_roof_over_a_ball_is_the_ball_with_the_wall_on_it():
    """Own arithmetic: the surface a wall off a ball of radius r is the ball of radius r + wall."""
    size = np.array([36.0, 36.0, 0.0])
    over = box_solid(-size, size + 33.0 * Z) - ball()
    roof = roof_of(over, wall_mm=WALL_MM)
    x, y = np.meshgrid(roof.x_mm, roof.y_mm)
    exact = np.sqrt(np.maximum(0.0, 33.0**2 - x**2 - y**2))
    there = np.hypot(x, y) < 24.0
    off = (roof.height_mm - exact)[there]
    assert off.min() > -0.02
    assert off.max() < 4.0 * roof.pitch_mm


@pytest.mark.parametrize(("name", "kind"), CASES)
def test_a_jacket_keeps_the_wall_everywhere_and_spares_what_is_said(name, kind):
    part, mould = mould_of(name, kind)
    _, plain = mould_of(name, kind, MouldSettings())
    jackets = [piece for piece in mould.pieces if piece.name.startswith("jacket")]
    assert bool(jackets) is ((name, kind) != NOTHING_TO_SPARE)
    grown = Mesh(vertices_mm=part.mesh.vertices_mm * mould.scale, faces=part.mesh.faces)
    for piece in jackets:
        assert piece.role is Role.BOX
        assert piece.bodies == 1
        assert distance_mm(samples(piece.mesh), grown).min() > WALL_MM - 0.05
    had = {one.silicone for one in mould.spares if one.silicone.replace("silicone", "jacket") in pieces(mould)}
    said_ml = sum(one.jacket_ml for one in mould.spares if one.silicone in had)
    assert plain.silicone_ml - mould.silicone_ml == pytest.approx(said_ml, rel=0.05)
    assert mould.casting_ml == pytest.approx(plain.casting_ml)


@pytest.mark.parametrize("name", SHAPES)
def test_a_jacket_goes_in_beside_tray_and_silicone_and_lifts_straight_off(name):
    _, mould = mould_of(name)
    solids = pieces(mould)
    for side, way in (("upper", 1.0), ("lower", -1.0)):
        if f"jacket-{side}" not in solids:
            continue
        for step in (0.0, 0.5, 3.0, 10.0, 30.0):
            jacket = solids[f"jacket-{side}"].translate((0.0, 0.0, way * step))
            for other in (f"tray-{side}", f"silicone-{side}", *(("gate-rod",) if "gate-rod" in solids else ())):
                assert (jacket ^ solids[other]).volume() < 0.5, (other, step)
        outside = solids[f"tray-{side}"].bounding_box(), solids[f"jacket-{side}"].bounding_box()
        past = outside[1][5] - outside[0][5] if way > 0 else outside[0][2] - outside[1][2]
        assert past == pytest.approx(JACKETED.jacket_mm, abs=1e-6)


@pytest.mark.parametrize("name", SHAPES)
def test_no_air_stays_under_a_jacket_and_its_first_hole_is_where_one_pours(name):
    part, mould = mould_of(name)
    poses = {pose.pours: pose for pose in mould.poses}
    pours = pours_of(mould, part, None)[:-1]
    assert any(len(pose.openings_mm) for pose in poses.values())
    for pour in pours:
        holes = poses[pour.pose.pours].openings_mm
        if len(holes) == 0:
            continue
        assert f"jacket-{pour.pose.pours[9:]}" in pour.pose.around
        assert pour.air.volume_mm3 == 0.0
        assert np.allclose(pour.at_mm * mould.scale, holes[0])
        jacket = pieces(mould)[f"jacket-{pour.pose.pours[9:]}"]
        for hole in holes:
            pin = manifold3d.Manifold.cylinder(100.0, 1.5, 1.5, 24)
            pin = (pin if pour.pose.up[2] > 0 else pin.rotate((180.0, 0.0, 0.0))).translate(tuple(hole))
            assert (pin ^ jacket).volume() < 1e-6


def test_without_a_thickness_no_jacket_is_made_and_what_it_would_spare_is_told():
    _, plain = mould_of("ball", settings=MouldSettings())
    assert not any(piece.name.startswith("jacket") for piece in plain.pieces)
    (told,) = [one for one in plain.findings if one.code == "silicone-to-spare"]
    assert f"{sum(one.jacket_ml for one in plain.spares):.0f} of {plain.silicone_ml:.0f} ml" in told.what
    _, bed = mould_of("ball", MouldKind.BEDDING)
    assert bed.spares == ()
    assert not any(piece.name.startswith("jacket") for piece in bed.pieces)


def test_cubes_are_counted_where_they_lie_clear_of_the_wall():
    """Over a flat floor: (height − wall − cover + gap) / (cube + gap) high, by a lattice over the plan."""
    low, high = np.array([0.0, 0.0, 0.0]), np.array([120.0, 60.0, 45.0])
    roof = roof_of(box_solid(low, high), wall_mm=WALL_MM)
    assert roof.height_mm == pytest.approx(WALL_MM)
    high_up = int((45.0 - WALL_MM - CUBE_COVER_MM + CUBE_GAP_MM) // (CUBE_MM + CUBE_GAP_MM))
    spare = spare_of("silicone", roof, volume_mm3=120.0 * 60.0 * 45.0)
    assert high_up == 3
    assert spare.cubes == min(10 * 5 * high_up, int(0.3 * 120 * 60 * 45 / 1000))
    few = spare_of("silicone", roof, volume_mm3=100_000.0)
    assert few.cubes == 30
    assert few.cubes_ml == pytest.approx(30.0)
    assert spare.jacket_ml == pytest.approx(120.0 * 60.0 * (45.0 - WALL_MM) / 1000.0, rel=0.01)
