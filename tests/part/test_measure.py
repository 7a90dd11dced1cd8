"""Measures against closed forms, and the thinnest wall against walls of known thickness."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.part.measure import Measures, measure_part, thinnest_wall
from firstpour.part.part import Part
from firstpour.samples.samples import sample_part
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, frame_along, turned
from sample_shapes import SHAPES, ball, box, torus

Solid = manifold3d.Manifold
directions = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1)


def measured(mesh: Mesh) -> Measures:
    return measure_part(Part(name="part", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8)))


def thickness_mm(mesh: Mesh) -> float:
    wall = thinnest_wall(mesh)
    assert wall is not None
    return wall.thickness_mm


def test_a_box_measures_what_it_is() -> None:
    measures = measured(box(30, 20, 10))
    assert (measures.faces, measures.watertight, measures.bodies) == (12, True, 1)
    assert measures.volume_mm3 == pytest.approx(6000)
    assert measures.area_mm2 == pytest.approx(2200)
    assert measures.size_mm == pytest.approx((30, 20, 10))
    assert measures.thinnest_wall_mm == pytest.approx(10)
    assert measures.findings == ()


def test_a_torus_measures_its_closed_forms() -> None:
    # Torus R10 r3: V = 1776.52879, A = 1184.35253 (2π²Rr², 4π²Rr).
    measures = measured(torus(10, 3, segments=256))
    assert measures.volume_mm3 == pytest.approx(1776.52879, rel=3e-4)
    assert measures.area_mm2 == pytest.approx(1184.35253, rel=3e-4)
    assert measures.thinnest_wall_mm == pytest.approx(6, rel=0.06)


def test_an_ellipsoid_measures_its_closed_forms() -> None:
    # Ellipsoid 6, 10, 16: V = 4021.2386, A = 1383.2828 (skimage.draw.ellipsoid_stats).
    measures = measured(from_solid(Solid.sphere(1.0, 256).scale((6, 10, 16))))
    assert measures.volume_mm3 == pytest.approx(4021.2386, rel=1e-3)
    assert measures.area_mm2 == pytest.approx(1383.2828, rel=1e-3)


@given(direction=directions, plate_mm=st.floats(0.3, 8.0))
@settings(max_examples=20, deadline=None)
def test_a_plate_has_its_thickness_however_it_lies(direction: tuple[float, float, float], plate_mm: float) -> None:
    plate = turned(box(60, 50, plate_mm), rotation=frame_along(np.array(direction)))
    assert thickness_mm(plate) == pytest.approx(plate_mm, rel=1e-6)


@pytest.mark.parametrize("wall_mm", [0.6, 1.5, 3.0])
def test_a_hollow_ball_and_a_hollow_box_have_their_wall(wall_mm: float) -> None:
    hollow = from_solid((Solid.sphere(20, 128) - Solid.sphere(20 - wall_mm, 128)).trim_by_plane((0, 0, -1), 0))
    assert thickness_mm(hollow) == pytest.approx(wall_mm, rel=0.05)
    tray = from_solid(
        Solid.cube((40, 30, 20)) - Solid.cube((40 - 2 * wall_mm, 30 - 2 * wall_mm, 30)).translate((wall_mm,) * 3)
    )
    assert thickness_mm(tray) == pytest.approx(wall_mm, rel=1e-6)


def test_rounded_rims_and_edges_of_wedges_are_not_walls() -> None:
    assert thickness_mm(ball(10, segments=96)) == pytest.approx(20, rel=0.04)
    prism = from_solid(Solid.extrude(manifold3d.CrossSection([[(0, 0), (30, 0), (0, 30)]]), 12.0))
    assert thickness_mm(prism) == pytest.approx(12, rel=1e-6)


def test_one_thin_fin_on_a_block_is_found_and_placed() -> None:
    fin = from_solid(Solid.cube((40, 40, 20)) + Solid.cube((20, 0.7, 15)).translate((10, 25, 15)))
    measures = measured(fin)
    assert measures.thinnest_wall_mm == pytest.approx(0.7, rel=1e-6)
    (finding,) = measures.findings
    assert finding.code == "thin-wall"
    wall = thinnest_wall(fin)
    assert wall is not None
    assert wall.place_mm[1] == pytest.approx(25.35)
    assert wall.place_mm[2] > 20


def test_a_solid_without_opposite_faces_has_no_wall() -> None:
    assert thinnest_wall(from_solid(Solid.tetrahedron())) is None


def test_findings_of_the_part_come_first_and_a_thin_sliver_is_named() -> None:
    measures = measured(SHAPES["sliver"].mesh)
    assert [finding.code for finding in measures.findings] == ["thin-wall"]
    assert measures.thinnest_wall_mm == pytest.approx(0.05)


def test_the_shell_of_the_limpet_is_about_three_millimetres_thick() -> None:
    wall = thinnest_wall(sample_part("limpet", faces=30_000).mesh)
    assert wall is not None
    assert 2.2 < wall.thickness_mm < 3.2
