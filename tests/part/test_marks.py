"""Marks: which faces a rule chooses, and what it may not say."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadJob
from firstpour.part.marks import MarkRule, apply_marks, chosen_faces
from firstpour.part.part import FaceMark, Part, marked
from firstpour.part.repair import repair_mesh
from firstpour.values import Mesh, face_centres_mm, face_normals, moved
from sample_shapes import SHAPES, box, together

SHOW, HIDDEN, CLEAR = FaceMark.SHOW, FaceMark.HIDDEN, FaceMark.KEEP_CLEAR


def part_of(mesh: Mesh) -> Part:
    return Part(name="part", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))


CUBE = part_of(box(20, 20, 20))


def test_facing_down_marks_the_two_faces_of_the_underside() -> None:
    part = apply_marks(CUBE, [MarkRule(mark=HIDDEN, facing=(0, 0, -2.5))])
    assert marked(part, HIDDEN).sum() == 2
    assert (face_centres_mm(part.mesh)[marked(part, HIDDEN), 2] == 0).all()
    assert not marked(part, SHOW).any()
    assert part.findings == ()


@pytest.mark.parametrize(("within_deg", "faces"), [(0, 2), (89.9, 2), (90, 10), (179.9, 10), (180, 12)])
def test_the_angle_counts_its_own_edge(within_deg: float, faces: int) -> None:
    assert chosen_faces(CUBE, MarkRule(mark=SHOW, facing=(0, 0, 1), within_deg=within_deg)).sum() == faces


@given(facing=st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1), within=st.floats(0, 180))
@settings(max_examples=25, deadline=None)
def test_facing_chooses_by_the_angle_of_the_normal(facing: tuple[float, float, float], within: float) -> None:
    part = part_of(SHAPES["sphere"].mesh)
    chosen = chosen_faces(part, MarkRule(mark=SHOW, facing=facing, within_deg=within))
    unit = np.array(facing) / np.linalg.norm(facing)
    angles = np.degrees(np.arccos(np.clip(face_normals(part.mesh) @ unit, -1, 1)))
    assert not chosen[angles > within + 1e-3].any()
    assert chosen[angles < within - 1e-3].all()


def test_a_box_takes_the_faces_whose_middle_lies_in_it_whichever_corner_comes_first() -> None:
    rule = MarkRule(mark=CLEAR, box_mm=((25, 25, 25), (-5, -5, 15)))
    assert marked(apply_marks(CUBE, [rule]), CLEAR).sum() == 2


def test_conditions_of_one_rule_must_all_hold() -> None:
    rule = MarkRule(mark=SHOW, facing=(1, 0, 0), box_mm=((0, 0, 0), (20, 20, 20)), faces=tuple(range(12)))
    assert chosen_faces(CUBE, rule).sum() == 2
    assert chosen_faces(CUBE, MarkRule(mark=SHOW, facing=(1, 0, 0), faces=())).sum() == 0


def test_the_later_of_show_and_hidden_wins_and_keep_clear_stays() -> None:
    rules = [
        MarkRule(mark=SHOW, facing=(0, 0, 1), within_deg=180),
        MarkRule(mark=CLEAR, facing=(0, 0, -1)),
        MarkRule(mark=HIDDEN, facing=(0, 0, -1)),
    ]
    part = apply_marks(CUBE, rules)
    assert marked(part, SHOW).sum() == 10
    assert set(part.marks[marked(part, HIDDEN)].tolist()) == {int(HIDDEN | CLEAR)}


def test_face_numbers_are_those_of_the_file_also_after_repair() -> None:
    pair = together(box(10, 10, 10), moved(box(10, 10, 10), offset_mm=np.array([6.0, 3.0, 2.0])))
    repaired = repair_mesh(pair.vertices_mm, pair.faces)
    part = Part(
        name="pair",
        mesh=repaired.mesh,
        marks=np.zeros(len(repaired.mesh.faces), np.uint8),
        source_face=repaired.source_face,
        faces_read=24,
    )
    top = np.flatnonzero(face_normals(pair)[:, 2] > 0.9)
    part = apply_marks(part, [MarkRule(mark=SHOW, faces=tuple(top.tolist()))])
    np.testing.assert_array_equal(marked(part, SHOW), face_normals(part.mesh)[:, 2] > 0.9)
    assert apply_marks(part, [MarkRule(mark=SHOW, faces=(23,))]).name == "pair"


def test_a_rule_that_chooses_nobody_is_a_finding() -> None:
    part = apply_marks(CUBE, [MarkRule(mark=SHOW, facing=(1, 1, 1), within_deg=5)])
    (finding,) = part.findings
    assert finding.code == "mark-without-faces"
    assert "rule 1 (show)" in finding.what


@pytest.mark.parametrize(
    ("rule", "problem"),
    [
        (MarkRule(mark=SHOW), "show rule says no faces"),
        (MarkRule(mark=CLEAR), "keep_clear rule"),
        (MarkRule(mark=SHOW, facing=(0, 0, 0)), "not a direction"),
        (MarkRule(mark=SHOW, facing=(0, np.nan, 1)), "not a direction"),
        (MarkRule(mark=SHOW, facing=(0, 0, 1), within_deg=-1), "not an angle"),
        (MarkRule(mark=SHOW, facing=(0, 0, 1), within_deg=float("nan")), "not an angle"),
        (MarkRule(mark=SHOW, box_mm=((0, 0, 0), (1, 1, float("inf")))), "not a box"),
        (MarkRule(mark=SHOW, faces=(3, 12)), "face 12 is not in part, which has faces 0 to 11"),
        (MarkRule(mark=SHOW, faces=(-1,)), "face -1"),
    ],
)
def test_a_rule_that_cannot_be_meant_is_refused(rule: MarkRule, problem: str) -> None:
    with pytest.raises(BadJob, match=problem) as refused:
        apply_marks(CUBE, [rule])
    assert refused.value.remedy
