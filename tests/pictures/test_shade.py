"""Shaded pictures: what a pixel sees, against a slow twin and closed forms."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from files_shapes import cube_mesh, sphere_mesh
from firstpour.errors import BadRequest
from firstpour.kernels import shade as kernel
from firstpour.pictures.colours import PAPER, linear, rgb_of
from firstpour.pictures.shade import SAMPLES, Body, Camera, Line, camera_on, seen_at_px, shade, view_frame
from firstpour.values import Mesh, face_normals, face_vectors_mm2, moved, turned

FROM_ABOVE = view_frame(towards=np.array([0.0, 0, 1]), up=np.array([0.0, 1, 0]))
RED, BLUE = np.array([1.0, 0, 0]), np.array([0.0, 0, 1])


def slow_nearest(pix, faces, nx, ny):
    """Each pixel against each face by its three edges; −inf where none."""
    depth = np.full((ny, nx), -np.inf)
    for j in range(ny):
        for i in range(nx):
            for face in faces:
                (ax, ay, az), (bx, by, bz), (cx, cy, cz) = pix[face]
                area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
                if area <= 0:
                    continue
                wa = ((bx - i) * (cy - j) - (cx - i) * (by - j)) / area
                wb = ((cx - i) * (ay - j) - (ax - i) * (cy - j)) / area
                wc = 1 - wa - wb
                if min(wa, wb, wc) > 0:
                    depth[j, i] = max(depth[j, i], wa * az + wb * bz + wc * cz)
    return depth


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_a_pixel_sees_what_the_slow_twin_sees(seed):
    rng = np.random.default_rng(seed)
    pix = rng.uniform(-2, 14, (9, 3))
    faces = np.array([rng.choice(9, 3, replace=False) for _ in range(8)])
    depth, face = kernel.nearest_faces(pix, faces, 12, 11)
    expected = slow_nearest(pix, faces, 12, 11)
    np.testing.assert_allclose(depth.reshape(11, 12), expected, rtol=0, atol=2e-5)
    assert ((face >= 0) == np.isfinite(depth)).all()


def test_a_sphere_covers_the_area_of_its_disc():
    camera = Camera(frame=FROM_ABOVE, middle_mm=np.zeros(3), px_per_mm=8.0, size_px=(200, 200))
    mesh = sphere_mesh(10.0, 256)
    picture = shade([Body(mesh=mesh, colour=RED)], camera=camera)
    disc_px = np.pi * 80.0**2
    rim_px = 2 * np.pi * 80.0
    assert abs(picture.covered.sum() - disc_px) < rim_px


def test_a_face_turned_to_the_viewer_lies_where_the_sphere_says():
    mesh = sphere_mesh(10.0, 128)
    pix = mesh.vertices_mm * [4.0, 4.0, 1.0] + [50.0, 50.0, 0.0]
    depth, _ = kernel.nearest_faces(pix, mesh.faces, 101, 101)
    j, i = np.mgrid[30:71, 30:71]
    expected = np.sqrt(100.0 - ((i - 50) / 4.0) ** 2 - ((j - 50) / 4.0) ** 2)
    np.testing.assert_allclose(depth.reshape(101, 101)[30:71, 30:71], expected, atol=0.02)


def test_the_nearer_body_hides_the_farther():
    far, near = cube_mesh(10.0), moved(cube_mesh(4.0), offset_mm=np.array([3.0, 3.0, 20.0]))
    camera = camera_on([far, near], frame=FROM_ABOVE, size_px=(120, 120))
    pixels = shade([Body(mesh=near, colour=RED), Body(mesh=far, colour=BLUE)], camera=camera).pixels
    x, y = seen_at_px(camera, np.array([[5.0, 5.0, 0.0]]))[0].astype(int)
    assert pixels[y, x, 0] > pixels[y, x, 2]
    x, y = seen_at_px(camera, np.array([[1.0, 1.0, 0.0]]))[0].astype(int)
    assert pixels[y, x, 2] > pixels[y, x, 0]


@pytest.mark.parametrize(("height_mm", "shows"), [(11.0, True), (-1.0, False)])
def test_a_line_shows_only_before_the_body(height_mm, shows):
    body = Body(mesh=cube_mesh(10.0), colour=BLUE)
    camera = camera_on([body.mesh], frame=FROM_ABOVE, size_px=(100, 100))
    line = Line(points_mm=np.array([[2.0, 5, height_mm], [8, 5, height_mm]]), colour=RED, width_px=3)
    pixels = shade([body], camera=camera, lines=[line]).pixels.astype(int)
    assert bool((pixels[..., 0] > pixels[..., 2] + 100).any()) is shows


def test_the_paper_stays_its_colour_where_nothing_is():
    camera = Camera(frame=FROM_ABOVE, middle_mm=np.full(3, 5.0), px_per_mm=2.0, size_px=(60, 40))
    picture = shade([Body(mesh=cube_mesh(10.0), colour=RED)], camera=camera)
    assert (picture.pixels[~picture.covered] == np.round(rgb_of(PAPER) * 255)).all()
    assert picture.covered.sum() == 20 * 20


def test_the_same_solids_give_the_same_picture():
    body = Body(mesh=sphere_mesh(), colour=BLUE)
    camera = camera_on([body.mesh], frame=FROM_ABOVE, size_px=(90, 70))
    assert (shade([body], camera=camera).pixels == shade([body], camera=camera).pixels).all()


@settings(max_examples=25, deadline=None)
@given(
    st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.hypot(v[0], v[1]) > 0.1),
    st.integers(40, 300),
    st.integers(40, 300),
)
def test_a_camera_leaves_the_margin_free_on_every_side(towards, width, height):
    mesh = sphere_mesh(7.0, 24)
    frame = view_frame(towards=np.array(towards), up=np.array([0.0, 0, 1]))
    seen = seen_at_px(camera_on([mesh], frame=frame, size_px=(width, height), margin_px=10), mesh.vertices_mm)
    assert seen.min() >= 10 - 1e-6
    assert (seen <= np.array([width, height]) - 10 + 1e-6).all()


def test_a_view_frame_turns_without_mirroring():
    frame = view_frame(towards=np.array([1.0, -2, 3]), up=np.array([0.0, 0, 1]))
    np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(frame) == pytest.approx(1.0)
    with pytest.raises(BadRequest, match="up"):
        view_frame(towards=np.array([0.0, 0, 2]), up=np.array([0.0, 0, 1]))


def corner_normals(mesh: Mesh, crease_deg: float = 35.0):
    return kernel.corner_normals(mesh.vertices_mm, mesh.faces, float(np.cos(np.radians(crease_deg))))


def slow_corner_normals(mesh: Mesh, crease_deg: float):
    vectors, normals = face_vectors_mm2(mesh), face_normals(mesh)
    out = np.empty((len(mesh.faces), 3, 3))
    for f, face in enumerate(mesh.faces):
        for k, vertex in enumerate(face):
            here = np.flatnonzero((mesh.faces == vertex).any(axis=1))
            alike = here[normals[here] @ normals[f] >= np.cos(np.radians(crease_deg))]
            total = vectors[alike].sum(axis=0)
            out[f, k] = total / np.linalg.norm(total)
    return out


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.floats(20, 80))
def test_corner_normals_are_those_of_the_slow_twin(seed, crease_deg):
    sphere = sphere_mesh(5.0, 12)
    knocked = sphere.vertices_mm + np.random.default_rng(seed).normal(0, 0.3, sphere.vertices_mm.shape)
    mesh = Mesh(vertices_mm=knocked, faces=sphere.faces)
    np.testing.assert_allclose(corner_normals(mesh, crease_deg), slow_corner_normals(mesh, crease_deg), atol=1e-6)


def test_a_turned_camera_sees_a_turned_body_alike():
    mesh, turn = sphere_mesh(5.0, 24), view_frame(towards=np.array([1.0, 2, 3]), up=np.array([0.0, 0, 1]))
    body = Body(mesh=moved(mesh, offset_mm=np.array([0.0, 0, 9])), colour=RED)
    whole = Body(mesh=turned(body.mesh, rotation=turn), colour=RED)
    camera = Camera(frame=turn, middle_mm=np.array([0.0, 0, 9]), px_per_mm=9.0, size_px=(120, 120))
    straight = Camera(frame=np.eye(3), middle_mm=turn @ camera.middle_mm, px_per_mm=9.0, size_px=(120, 120))
    one, other = (shade([b], camera=c).pixels.astype(int) for b, c in ((body, camera), (whole, straight)))
    assert (np.abs(one - other).max(axis=-1) > 3).mean() < 0.003


def test_a_line_that_dips_under_the_surface_here_and_there_is_drawn_whole():
    body = Body(mesh=cube_mesh(10.0), colour=BLUE)
    camera = camera_on([body.mesh], frame=FROM_ABOVE, size_px=(200, 200), margin_px=20)
    along = np.linspace(1.0, 9.0, 400)
    height = np.where(np.arange(400) % 25 < 4, 9.0, 10.1)  # every half millimetre under the surface for 0.08 mm
    line = Line(points_mm=np.stack([along, np.full(400, 5.0), height], axis=1), colour=RED, width_px=3)
    x, y = seen_at_px(camera, np.array([[1.0, 5, 10], [9, 5, 10]])).astype(int).T
    row = shade([body], camera=camera, lines=[line]).pixels[y[0], x[0] : x[1]].astype(int)
    assert (row[:, 0] > row[:, 2] + 100).all()


def test_normals_of_a_sphere_point_away_from_its_middle():
    mesh = sphere_mesh(10.0, 64)
    radial = mesh.vertices_mm[mesh.faces] / 10.0
    assert (np.einsum("fkc,fkc->fk", corner_normals(mesh), radial) > np.cos(np.radians(2.0))).all()


def test_edges_of_a_cube_stay_sharp():
    mesh = cube_mesh()
    normals = corner_normals(mesh)
    assert (np.sort(np.abs(normals), axis=2) == [0.0, 0.0, 1.0]).all()


def test_a_picture_without_bodies_is_refused():
    camera = Camera(frame=FROM_ABOVE, middle_mm=np.zeros(3), px_per_mm=1.0, size_px=(10, 10))
    with pytest.raises(BadRequest, match="body"):
        shade([], camera=camera)


def test_screen_values_follow_the_published_curve():
    # IEC 61966-2-1: encoded 0.5 is 0.21404 of full light; the linear toe has slope 1/12.92 (from memory).
    np.testing.assert_allclose(linear(np.array([0.5, 0.0129])), [0.21404, 0.0129 / 12.92], rtol=1e-4)


def test_a_plain_face_turned_to_the_viewer_is_evenly_lit():
    camera = Camera(frame=FROM_ABOVE, middle_mm=np.full(3, 5.0), px_per_mm=4.0, size_px=(60, 60))
    pixels = shade([Body(mesh=cube_mesh(10.0), colour=BLUE)], camera=camera).pixels[15:45, 15:45].astype(int)
    assert np.ptp(pixels.reshape(-1, 3), axis=0).max() <= 12
    assert SAMPLES >= 2
