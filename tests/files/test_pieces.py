"""Pieces as files, read by an independent reader (trimesh) and by our own."""

import zipfile

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from files_shapes import cube_mesh, knob_mould, piece, sphere_mesh
from firstpour.errors import CannotWrite, MouldFailed
from firstpour.files.pieces import ALL_IN_ONE, file_stems, write_pieces
from firstpour.files.rounding import closure_of, rounded, same_volume, welded
from firstpour.files.stl import read_stl, stl_bytes
from firstpour.files.threemf import CORE, MODEL, Solid3mf, model_of, read_model, write_3mf
from firstpour.mould.values import Role
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, mesh_volume_mm3, moved

BIG_CUBE = manifold3d.Manifold.cube([30, 30, 30])


def test_every_piece_is_closed_with_its_volume_to_an_independent_reader(tmp_path):
    mould = knob_mould()
    written = write_pieces(tmp_path, mould.pieces, below=tmp_path.relative_to(tmp_path) / "pieces")
    assert [one.name for one in written] == [one.name for one in mould.pieces]
    for one, asked in zip(written, mould.pieces, strict=True):
        seen = trimesh.load_mesh(tmp_path / one.file)
        assert seen.is_watertight
        assert seen.is_winding_consistent
        assert len(seen.faces) == one.faces
        assert seen.volume == pytest.approx(asked.volume_mm3, rel=1e-6)
        assert one.volume_mm3 == pytest.approx(asked.volume_mm3, rel=1e-6)
        assert (one.watertight, one.bodies) == (True, 1)
        np.testing.assert_allclose(seen.extents, one.size_mm, atol=1e-5)


def test_every_piece_is_led_back_from_its_file_to_its_place_in_the_mould(tmp_path):
    mould = knob_mould()
    for one, asked in zip(write_pieces(tmp_path, mould.pieces), mould.pieces, strict=True):
        seen = trimesh.load_mesh(tmp_path / one.file)
        led_back = seen.vertices @ one.in_mould[:, :3].T + one.in_mould[:, 3]
        np.testing.assert_allclose(led_back.min(axis=0), asked.mesh.vertices_mm.min(axis=0), atol=1e-4)
        np.testing.assert_allclose(led_back.max(axis=0), asked.mesh.vertices_mm.max(axis=0), atol=1e-4)


def test_printed_pieces_stand_on_the_bed_and_silicone_keeps_its_place(tmp_path):
    mould = knob_mould()
    for one in write_pieces(tmp_path, mould.pieces):
        low = trimesh.load_mesh(tmp_path / one.file).bounds[0]
        if one.role is Role.SILICONE:
            wanted = next(asked for asked in mould.pieces if asked.name == one.name).mesh.vertices_mm.min(axis=0)
            np.testing.assert_allclose(low, wanted, atol=1e-5)
        else:
            np.testing.assert_allclose(low, 0.0, atol=1e-6)


def test_one_3mf_holds_all_that_is_printed_apart_from_each_other(tmp_path):
    mould = knob_mould()
    write_pieces(tmp_path, mould.pieces)
    scene = trimesh.load_scene(tmp_path / ALL_IN_ONE)
    assert set(scene.geometry) == {"upper tray", "lower tray"}
    shown = [mesh for mesh in scene.dump() if mesh.is_watertight]
    assert sum(mesh.volume for mesh in shown) == pytest.approx(sum(p.volume_mm3 for p in mould.pieces[2:]), rel=1e-6)
    (low_a, high_a), (low_b, high_b) = (mesh.bounds for mesh in shown)
    assert ((high_a < low_b) | (high_b < low_a))[:2].any()


def test_a_3mf_is_the_same_to_the_byte_and_quotes_names(tmp_path):
    mesh = rounded(sphere_mesh(12.3, 24)).mesh
    model = model_of([Solid3mf(name='a "b" <c> & d', mesh=mesh, place_mm=np.array([1.5, 0.0, 0.0]))])
    for name in ("a.3mf", "b.3mf"):
        write_3mf(tmp_path / name, model)
    assert (tmp_path / "a.3mf").read_bytes() == (tmp_path / "b.3mf").read_bytes()
    assert read_model(tmp_path / "a.3mf") == model
    root = etree.fromstring(model.encode())
    assert root.find(f".//{{{CORE}}}object").get("name") == 'a "b" <c> & d'
    assert root.find(f".//{{{CORE}}}item").get("transform") == "1 0 0 0 1 0 0 0 1 1.5 0 0"
    points = [[np.float32(node.get(axis)) for axis in "xyz"] for node in root.iter(f"{{{CORE}}}vertex")]
    np.testing.assert_array_equal(points, mesh.vertices_mm)
    faces = [[int(node.get(key)) for key in ("v1", "v2", "v3")] for node in root.iter(f"{{{CORE}}}triangle")]
    np.testing.assert_array_equal(faces, mesh.faces)


def test_a_3mf_has_the_parts_that_the_open_packaging_asks_for(tmp_path):
    # 3MF Core Specification 1.x, package and model parts (from memory).
    write_3mf(tmp_path / "a.3mf", model_of([Solid3mf(name="cube", mesh=cube_mesh(), place_mm=np.zeros(3))]))
    with zipfile.ZipFile(tmp_path / "a.3mf") as package:
        assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", MODEL]
        model = package.read(MODEL).decode()
        assert package.testzip() is None
    assert f'unit="millimeter" xml:lang="en" xmlns="{CORE}"' in model
    assert model.count("<vertex ") == 8
    assert model.count("<triangle ") == 12


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.floats(-300, 300))
def test_rounding_never_opens_a_solid(seed, shift_mm):
    rng = np.random.default_rng(seed)
    solid = manifold3d.Manifold.sphere(20, 24)
    for _ in range(3):
        cutter = manifold3d.Manifold.cube([15, 15, 15]).rotate(rng.uniform(0, 360, 3).tolist())
        solid = solid - cutter.translate(rng.uniform(-12, 12, 3).tolist())
    mesh = moved(from_solid(solid), offset_mm=np.array([shift_mm, -shift_mm, 0.3]))
    result = rounded(mesh)
    assert result.closure.closed
    assert result.closure.two_faces_an_edge
    assert result.closure.volume_mm3 == pytest.approx(solid.volume(), rel=1e-5)
    np.testing.assert_array_equal(result.mesh.vertices_mm.astype(np.float32), result.mesh.vertices_mm)


def test_vertices_that_fall_together_take_their_faces_with_them():
    mesh = sphere_mesh(10.0, 32)
    a, b = mesh.faces[0, 0], mesh.faces[0, 1]
    vertices = mesh.vertices_mm.copy()
    vertices[b] = vertices[a] + 1e-9
    result = rounded(Mesh(vertices_mm=vertices, faces=mesh.faces))
    assert len(result.mesh.faces) == len(mesh.faces) - 2
    assert result.closure.two_faces_an_edge


def test_faces_back_to_back_are_dropped_in_pairs():
    cube = cube_mesh()
    fin = np.array([[0, 1, 2], [2, 1, 0]])
    mesh = welded(cube.vertices_mm.astype(np.float32), np.concatenate([cube.faces, fin]))
    assert len(mesh.faces) == 12
    assert closure_of(mesh).two_faces_an_edge


def test_an_open_mesh_is_refused():
    cube = cube_mesh()
    with pytest.raises(MouldFailed):
        rounded(Mesh(vertices_mm=cube.vertices_mm, faces=cube.faces[1:]))


def test_closure_tells_bodies_from_voids_and_open_from_closed():
    cube, far = cube_mesh(), moved(cube_mesh(), offset_mm=np.array([50.0, 0, 0]))
    hollow = from_solid(
        manifold3d.Manifold.cube([30, 30, 30]) - manifold3d.Manifold.cube([5, 5, 5]).translate([9] * 3)
    )
    vertices_mm = np.concatenate([cube.vertices_mm, far.vertices_mm])
    two = Mesh(
        vertices_mm=vertices_mm,
        faces=np.concatenate([cube.faces, far.faces + 8]),
    )
    assert closure_of(two).bodies == 2
    assert closure_of(hollow).bodies == 1
    assert closure_of(hollow).volume_mm3 == pytest.approx(27_000 - 125)
    assert not closure_of(Mesh(vertices_mm=cube.vertices_mm, faces=cube.faces[1:])).closed


def test_two_cubes_that_share_an_edge_are_two_bodies_with_four_faces_there():
    other = moved(cube_mesh(), offset_mm=np.array([10.0, 10.0, 0.0]))
    both = np.concatenate([cube_mesh().vertices_mm, other.vertices_mm]).astype(np.float32)
    closure = closure_of(welded(both, np.concatenate([cube_mesh().faces, other.faces + 8])))
    assert (closure.closed, closure.two_faces_an_edge, closure.bodies) == (True, False, 2)


def test_a_piece_of_more_bodies_than_meant_is_refused(tmp_path):
    cubes = manifold3d.Manifold.cube([5, 5, 5]) + manifold3d.Manifold.cube([5, 5, 5]).translate([9, 0, 0])
    with pytest.raises(MouldFailed, match="2 bodies"):
        write_pieces(tmp_path, [piece("split", Role.BOX, cubes)])


def test_a_cut_off_file_is_noticed(tmp_path):
    path = tmp_path / "cube.stl"
    path.write_bytes(stl_bytes(cube_mesh())[:-7])
    with pytest.raises(CannotWrite, match="bytes"):
        read_stl(path)
    (tmp_path / "cube.3mf").write_bytes(b"PK nothing")
    with pytest.raises(CannotWrite, match="read back"):
        read_model(tmp_path / "cube.3mf")


def test_an_stl_holds_the_corners_exactly(tmp_path):
    mesh = rounded(sphere_mesh(12.3, 48)).mesh
    (tmp_path / "ball.stl").write_bytes(stl_bytes(mesh))
    assert (tmp_path / "ball.stl").stat().st_size == 84 + 50 * len(mesh.faces)
    np.testing.assert_array_equal(read_stl(tmp_path / "ball.stl"), mesh.vertices_mm[mesh.faces])


def test_a_volume_off_by_more_than_rounding_is_another_volume():
    mesh = cube_mesh()
    assert same_volume(mesh, mesh_volume_mm3(mesh) + 1e-4)
    assert not same_volume(mesh, mesh_volume_mm3(mesh) + 0.01)


@given(st.lists(st.text(max_size=12), max_size=8))
def test_file_names_are_plain_and_never_the_same(names):
    stems = file_stems(names)
    assert len(set(stems)) == len(names)
    assert all(stem and set(stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") for stem in stems)
