"""Reading part files: every format gives the same solid; every damaged file a problem and a remedy."""

import io
import zipfile
from pathlib import Path

import numpy as np
import pytest

import part_files
from firstpour.errors import OpenMesh, UnreadablePart
from firstpour.part import threemf_file
from firstpour.part.part import Part
from firstpour.part.read import read_likely_part, read_part
from firstpour.units import LengthUnit
from firstpour.values import Mesh, Severity, mesh_bounds_mm, mesh_volume_mm3, moved, scaled
from part_files import binary_stl, glb, model_xml, obj, ply, text_stl, threemf, written
from sample_shapes import SHAPES, box, shipped_mesh, shipped_path, together

CUBE = SHAPES["cube"].mesh
RING = SHAPES["undercut ring"].mesh


def codes(part: Part) -> list[str]:
    return [finding.code for finding in part.findings]


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("part.stl", binary_stl(RING)),
        ("part.STL", text_stl(RING)),
        ("part.obj", obj(RING)),
        ("part.ply", ply(RING)),
        ("part.3mf", threemf(model_xml(RING))),
        ("part.glb", glb(scaled(RING, factor=0.001))),
    ],
)
def test_every_format_gives_the_same_solid(tmp_path: Path, name: str, data: bytes) -> None:
    part = read_part(written(tmp_path, name, data))
    assert part.name == "part"
    assert part.bodies == 1
    assert part.faces_read == len(RING.faces)
    assert len(part.mesh.faces) == len(RING.faces)
    assert len(part.mesh.vertices_mm) == len(RING.vertices_mm)
    assert part.source_face is not None
    assert part.source_face.tolist() == list(range(len(RING.faces)))
    assert mesh_volume_mm3(part.mesh) == pytest.approx(mesh_volume_mm3(RING), rel=1e-5)
    np.testing.assert_allclose(mesh_bounds_mm(part.mesh), mesh_bounds_mm(RING), atol=1e-5)
    assert not part.marks.any()
    assert all(finding.severity is Severity.INFO for finding in part.findings)


def test_inches_and_centimetres_are_converted_at_the_edge(tmp_path: Path) -> None:
    path = written(tmp_path, "part.stl", binary_stl(box(2, 3, 4)))
    inches = read_part(path, unit=LengthUnit.IN)
    np.testing.assert_allclose(np.ptp(mesh_bounds_mm(inches.mesh), axis=0), [50.8, 76.2, 101.6], rtol=1e-6)
    centimetres = read_part(path, unit=LengthUnit.CM)
    assert mesh_volume_mm3(centimetres.mesh) == pytest.approx(24_000.0)


@pytest.mark.parametrize(
    ("side_mm", "severity", "hint"),
    [
        (0.3, Severity.ERROR, "inches 7.62 mm, in metres 300 mm"),
        (3.0, Severity.WARNING, "inches 76.2 mm, in cm 30 mm"),
        (4000.0, Severity.ERROR, "thousandths of an inch 102 mm"),
        (900.0, Severity.WARNING, "thousandths of an inch 22.9 mm"),
    ],
)
def test_a_size_that_looks_like_another_unit_is_a_finding_that_names_it(
    tmp_path: Path, side_mm: float, severity: Severity, hint: str
) -> None:
    part = read_part(written(tmp_path, "part.stl", binary_stl(box(side_mm, side_mm / 2, side_mm / 2))))
    (finding,) = part.findings
    assert (finding.code, finding.severity) == ("unlikely-size", severity)
    assert hint in finding.what
    assert "its unit" in finding.remedy


@pytest.mark.parametrize("side_mm", [5.0, 90.0, 600.0])
def test_a_likely_size_is_no_finding(tmp_path: Path, side_mm: float) -> None:
    assert not read_part(written(tmp_path, "part.stl", binary_stl(box(side_mm, 4, 4)))).findings


# The units of a model and their names: open 3MF Core Specification, 3.4; the inch is 25.4 mm, the foot 304.8 mm.
@pytest.mark.parametrize(
    ("unit", "mm"),
    [("micron", 0.001), ("millimeter", 1), ("centimeter", 10), ("inch", 25.4), ("foot", 304.8), ("meter", 1000)],
)
def test_a_3mf_says_its_own_unit(tmp_path: Path, unit: str, mm: float) -> None:
    small = box(30 / mm, 20 / mm, 10 / mm)
    part = read_part(written(tmp_path, "part.3mf", threemf(model_xml(small, unit=unit))), unit=LengthUnit.IN)
    np.testing.assert_allclose(np.ptp(mesh_bounds_mm(part.mesh), axis=0), [30, 20, 10], rtol=1e-9)
    assert codes(part) == ["unit-from-file"]


def test_a_glb_is_in_metres_and_says_so(tmp_path: Path) -> None:
    part = read_part(written(tmp_path, "part.glb", glb(scaled(CUBE, factor=0.001))))
    assert "unit-from-file" in codes(part)
    assert "metres" in next(finding.what for finding in part.findings if finding.code == "unit-from-file")
    assert mesh_volume_mm3(part.mesh) == pytest.approx(8000, rel=1e-5)


def test_3mf_components_are_put_in_place_and_mirrors_stay_outward(tmp_path: Path) -> None:
    more = (
        '<object id="2" type="model"><components><component objectid="1"/>'
        '<component objectid="1" transform="-1 0 0 0 1 0 0 0 1 -40 0 0"/></components></object>'
    )
    build = '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 7"/>'
    part = read_part(written(tmp_path, "part.3mf", threemf(model_xml(box(20, 10, 5), build=build, more=more))))
    assert part.bodies == 2
    assert mesh_volume_mm3(part.mesh) == pytest.approx(2000)
    np.testing.assert_allclose(mesh_bounds_mm(part.mesh), [[-60, 0, 7], [20, 10, 12]])
    assert "inside-out" not in codes(part)


def test_a_3mf_without_a_relation_is_read_from_the_usual_place(tmp_path: Path) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("3D/3dmodel.model", model_xml(CUBE))
    assert mesh_volume_mm3(read_part(written(tmp_path, "a.3mf", packed.getvalue())).mesh) == pytest.approx(8000)


def test_obj_faces_of_many_corners_and_numbers_counted_backwards(tmp_path: Path) -> None:
    corners = [(x, y, z) for z in (0, 10) for y in (0, 10) for x in (0, 10)]
    quads = ["1 3 4 2", "-4 -3 -1 -2", "1 2 6 5", "3 7 8 4", "1 5 7 3", "2 4 8 6"]
    text = "\n".join([*(f"v {x} {y} {z}" for x, y, z in corners), *(f"f {quad}" for quad in quads)])
    part = read_part(written(tmp_path, "cube.obj", text.encode()))
    assert mesh_volume_mm3(part.mesh) == pytest.approx(1000)
    assert len(part.mesh.faces) == 12


def nan_stl() -> bytes:
    vertices = CUBE.vertices_mm.copy()
    vertices[3] = np.nan
    return binary_stl(Mesh(vertices_mm=vertices, faces=CUBE.faces))


def flat_square() -> Mesh:
    corners = np.array([[0.0, 0, 0], [50, 0, 0], [50, 50, 0], [0, 50, 0]])
    return Mesh(vertices_mm=corners, faces=np.array([[0, 1, 2], [0, 2, 3], [2, 1, 0], [3, 2, 0]]))


@pytest.mark.parametrize(
    ("name", "data", "problem"),
    [
        ("empty.stl", b"", "empty"),
        ("blank.obj", b"  \n ", "empty"),
        ("cut.stl", binary_stl(CUBE)[:-30], "cut short"),
        ("long.stl", binary_stl(CUBE) + b"\0" * 50, "head promises 12 faces"),
        ("cut-text.stl", text_stl(CUBE)[:-200], "cut short"),
        ("letter.stl", b"Dear workshop, please find the sea star attached.", "named .stl but is not one"),
        ("long-letter.stl", b"Dear workshop, " * 40, "named .stl but is not one"),
        ("words.stl", text_stl(CUBE).replace(b"vertex 3.0", b"vertex three"), "not three numbers"),
        ("nothing.stl", b"solid nothing\nendsolid nothing\n", "no faces"),
        ("nan.stl", nan_stl(), "not numbers"),
        ("flat.stl", binary_stl(flat_square()), "no volume"),
        ("huge.stl", binary_stl(scaled(CUBE, factor=1e8)), "beyond 10 km"),
        ("bad.obj", b"v 0 0 zero\nf 1 1 1", "line 1"),
        ("far.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9", "not among"),
        ("bad.ply", b"ply\nformat ascii 1.0\nelement vertex 3\n", "PLY is damaged"),
        ("bad.glb", glb(CUBE)[:90], "GLB is damaged"),
        ("short.obj", b"v 1 2\nf 1 2 3\n", r"line 1 of the OBJ cannot be read \(a point needs three numbers\)"),
        ("bad.3mf", b"PK\x03\x04 not really", "3MF cannot be read"),
        ("broken.3mf", threemf(model_xml(CUBE)[:-400]), "3MF cannot be read"),
        ("unit.3mf", threemf(model_xml(CUBE, unit="cubit")), "3MF cannot be read"),
        ("corner.3mf", threemf(model_xml(CUBE).replace('v1="', 'v1="9')), "3MF cannot be read"),
        ("none.3mf", threemf(model_xml(CUBE, build="<item objectid='8'/>")), "no faces"),
        ("part.igs", b"S      1", "'.igs' cannot be read"),
    ],
)
def test_a_damaged_file_is_refused_with_a_problem_and_a_remedy(
    tmp_path: Path, name: str, data: bytes, problem: str
) -> None:
    with pytest.raises(UnreadablePart, match=problem) as refused:
        read_part(written(tmp_path, name, data))
    assert len(refused.value.remedy) > 10


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadablePart, match="is not there"):
        read_part(tmp_path / "none.stl")
    (tmp_path / "folder.stl").mkdir()
    with pytest.raises(UnreadablePart, match="is a folder"):
        read_part(tmp_path / "folder.stl")


def test_a_cube_without_its_top_is_refused_with_the_place(tmp_path: Path) -> None:
    with pytest.raises(OpenMesh, match=r"4 open edges around \(10\.0, 10\.0, 20\.0\) mm, 20\.0 mm across"):
        read_part(written(tmp_path, "leaky.stl", binary_stl(SHAPES["leaky cube"].mesh)))


def test_a_3mf_that_declares_gigabytes_is_refused_before_it_is_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(threemf_file, "ALWAYS_BYTES", 10_000)
    bomb = threemf(model_xml(CUBE) + " " * 3_000_000)
    assert len(bomb) < 6_000
    with pytest.raises(UnreadablePart, match="unpacks to more than"):
        read_part(written(tmp_path, "bomb.3mf", bomb))


def test_a_3mf_that_lies_about_its_size_is_stopped_while_it_unpacks() -> None:
    stream = threemf_file._Metered(io.BytesIO(b"<" * 5000), 4096)  # type: ignore[arg-type]
    assert len(stream.read(4096)) == 4096
    with pytest.raises(UnreadablePart, match="unpacks to more than"):
        stream.read(1)


def test_entities_in_a_3mf_are_not_resolved(tmp_path: Path) -> None:
    secret = written(tmp_path, "secret.txt", b"5.0")
    doctype = f'<!DOCTYPE model [<!ENTITY far SYSTEM "file://{secret}"><!ENTITY lol "9"><!ENTITY l2 "&lol;&lol;">]>'
    xml = model_xml(CUBE, doctype=doctype, more="<metadata name='a'>&l2;&far;</metadata>")
    part = read_part(written(tmp_path, "part.3mf", threemf(xml)))
    assert mesh_volume_mm3(part.mesh) == pytest.approx(8000)


def test_components_that_hold_each_other_are_refused(tmp_path: Path) -> None:
    more = (
        '<object id="2"><components><component objectid="3"/></components></object>'
        '<object id="3"><components><component objectid="2"/></components></object>'
    )
    with pytest.raises(UnreadablePart, match="nest deeper"):
        read_part(written(tmp_path, "loop.3mf", threemf(model_xml(CUBE, build='<item objectid="2"/>', more=more))))


@pytest.mark.parametrize(("name", "faces"), [("nut", 1046), ("ant", 912), ("sphere", 840)])
def test_shipped_closed_meshes_are_read(name: str, faces: int) -> None:
    # Face counts and volumes: pyvista's example meshes (MIT), read from the wheel (project's checks).
    part = read_part(shipped_path(name))
    assert part.faces_read == faces
    if name == "nut":
        assert mesh_volume_mm3(part.mesh) == pytest.approx(32171.32, rel=1e-6)
    if name == "ant":  # its bodies overlap: 482.1436 counts the overlaps twice
        assert mesh_volume_mm3(shipped_mesh("ant")) == pytest.approx(482.1436, rel=1e-6)
        assert "bodies-united" in codes(part)
        assert mesh_volume_mm3(part.mesh) < 482.1436


def test_the_shipped_airplane_is_refused_with_its_open_places() -> None:
    with pytest.raises(OpenMesh, match="open edges around"):
        read_part(shipped_path("airplane"))


def test_several_bodies_in_one_file_are_kept_apart_and_counted(tmp_path: Path) -> None:
    pair = together(CUBE, moved(CUBE, offset_mm=np.array([30.0, 0, 0])))
    for data, name in ((binary_stl(pair), "a.stl"), (part_files.obj(pair), "a.obj")):
        part = read_part(written(tmp_path, name, data))
        assert part.bodies == 2
        assert codes(part) == ["several-bodies"]


@pytest.mark.parametrize("longest_mm", [0.3, 4000.0])
def test_a_size_that_nobody_casts_is_refused_where_the_part_is_worked_on(tmp_path: Path, longest_mm: float) -> None:
    path = tmp_path / "part.stl"
    path.write_bytes(binary_stl(box(longest_mm, longest_mm, longest_mm)))
    assert {finding.code for finding in read_part(path).findings} == {"unlikely-size"}
    with pytest.raises(UnreadablePart, match="mm long") as refused:
        read_likely_part(path)
    assert "its unit" in refused.value.remedy
