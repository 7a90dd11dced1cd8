"""Damaged part files: a seeded sample of mutations ends in a part or in words, never in another exception."""

import random
import warnings
import zlib
from pathlib import Path

import numpy as np
import pytest

from firstpour.errors import UnreadablePart
from firstpour.part import heap
from firstpour.part.obj_file import obj_heap
from firstpour.part.ply_file import ply_heap
from firstpour.part.read import read_part
from firstpour.values import Mesh, mesh_volume_mm3, scaled
from part_files import binary_stl, glb, l_block, model_xml, obj, ply, text_stl, threemf, written
from sample_shapes import box

CUBE = box(20, 20, 20)
GOOD = {
    "a.stl": binary_stl(CUBE),
    "b.stl": text_stl(CUBE),
    "a.obj": obj(CUBE),
    "a.ply": ply(CUBE),
    "a.3mf": threemf(model_xml(CUBE)),
    "a.glb": glb(scaled(CUBE, factor=0.001)),
}
WORDS = [b"", b"nan", b"1e999", b"-1", b"99999999999999999999", b"\xff\x00", b"inf", b"0", b"list", b"<", b"None"]


def mutated(data: bytes, rng: random.Random) -> bytes:
    """Bytes turned, cut out, doubled, or a word in place of another."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(max(len(changed), 1))
        way = rng.randrange(5)
        if way == 0 and changed:
            changed[at] = rng.randrange(256)
        elif way == 1:
            del changed[at : at + rng.randint(1, 40)]
        elif way == 2:
            changed[at:at] = changed[at : at + rng.randint(1, 40)]
        elif way == 3:
            changed[at : at + rng.randint(1, 8)] = rng.choice(WORDS)
        else:
            del changed[at:]
    return bytes(changed)


def repacked(rng: random.Random) -> bytes:
    """A sound package around a broken model: what the zip's check sum would hide."""
    xml = mutated(model_xml(CUBE).encode(), rng)
    return threemf(xml.decode("utf-8", "replace"))


@pytest.mark.parametrize("name", GOOD)
def test_a_mutated_file_is_read_or_refused_in_words(tmp_path: Path, name: str) -> None:
    rng = random.Random(name)
    told: list[tuple[str, str]] = []
    for n in range(60):
        data = repacked(rng) if name == "a.3mf" and n % 2 else mutated(GOOD[name], rng)
        path = written(tmp_path, name, data)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                read_part(path)
            except UnreadablePart as error:
                told.append((error.problem, error.remedy))
    assert len(told) > 5
    for problem, remedy in told:
        assert len(remedy) > 10
        assert "b'" not in problem + remedy
        assert "\\x" not in problem + remedy


def test_a_signalling_number_in_an_stl_gives_no_warning(tmp_path: Path) -> None:
    data = bytearray(GOOD["a.stl"])
    data[96:100] = bytes.fromhex("0100a07f")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(UnreadablePart, match="not numbers"):
            read_part(written(tmp_path, "a.stl", bytes(data)))


def test_a_3mf_with_a_broken_deflate_stream_is_refused_in_words(tmp_path: Path) -> None:
    data = bytearray(GOOD["a.3mf"])
    at = data.index(b"3D/3dmodel.model") + len(b"3D/3dmodel.model") + 3
    data[at : at + 40] = bytes(40)
    with pytest.raises(zlib.error):
        zlib.decompress(bytes(40), wbits=-15)
    with pytest.raises(UnreadablePart, match="damaged, cut short"):
        read_part(written(tmp_path, "a.3mf", bytes(data)))


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ('<vertex x="', '<vertex w="', "a vertex has no number x"),
        ('v1="', 'v1="99999999999999999999', "no whole number v1"),
        ('v2="', 'w="', "no whole number v2"),
        ('<item objectid="1"/>', '<item objectid="1" transform="1 2"/>', "twelve numbers"),
        ('unit="millimeter"', 'unit="cubit"', "its unit is none of micron"),
        ("</model>", "", "its XML is broken near line 1"),
    ],
)
def test_what_is_wrong_with_a_3mf_is_said(tmp_path: Path, old: str, new: str, problem: str) -> None:
    with pytest.raises(UnreadablePart, match=problem):
        read_part(written(tmp_path, "a.3mf", threemf(model_xml(CUBE).replace(old, new))))


def test_a_3mf_whose_components_multiply_beyond_any_part_is_refused_early(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("firstpour.part.threemf_file.MOST_FACES", 100)
    monkeypatch.setattr(heap, "MOST_FACES", 100)
    ten = "".join('<component objectid="1"/>' for _ in range(10))
    more = f'<object id="2" type="model"><components>{ten}</components></object>'
    xml = model_xml(CUBE, build='<item objectid="2"/>', more=more)
    with pytest.raises(UnreadablePart, match="more than 100 faces"):
        read_part(written(tmp_path, "a.3mf", threemf(xml)))


@pytest.mark.parametrize("form", ["obj", "ascii", "binary_little_endian", "binary_big_endian"])
@pytest.mark.parametrize("turn", range(6))
def test_a_concave_face_is_cut_properly(form: str, turn: int) -> None:
    data = l_block(form, turn=turn)
    read = obj_heap(data) if form == "obj" else ply_heap(data)
    mesh = Mesh(vertices_mm=read.vertices, faces=read.faces)
    assert len(read.faces) == 2 * 4 + 6 * 2
    assert mesh_volume_mm3(mesh) == pytest.approx(500 * 10)
    a, b, c = (read.vertices[read.faces[:, k]] for k in range(3))
    area_mm2 = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()
    assert area_mm2 == pytest.approx(2 * 500 + 120 * 10)


def test_a_face_that_crosses_itself_is_refused() -> None:
    bow = b"v 0 0 0\nv 10 10 0\nv 10 0 0\nv 0 7 0\nv -5 3 0\nf 1 2 3 4 5\n"
    with pytest.raises(UnreadablePart, match="5 corners crosses itself"):
        obj_heap(bow)


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (b"property double x", b"property double w", "no x, y and z"),
        (b"property double x", b"property thing x", "no known kind"),
        (b"element face 12", b"element face 13", "ends too early"),
        (b"element vertex 8", b"element vertex 99999999999", "ends too early"),
        (b"format ascii", b"format none", "no known format"),
        (b"end_header", b"", "no header"),
    ],
)
def test_what_is_wrong_with_a_ply_is_said(old: bytes, new: bytes, problem: str) -> None:
    with pytest.raises(UnreadablePart, match=problem):
        ply_heap(GOOD["a.ply"].replace(old, new))
