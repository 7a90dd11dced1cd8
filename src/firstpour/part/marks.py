"""Marks: which faces show, which are hidden, which must be kept clear."""

from dataclasses import dataclass, replace

import numpy as np

from firstpour.errors import BadJob
from firstpour.part.part import FaceMark, Part
from firstpour.values import BoolArray, Finding, Severity, face_centres_mm, face_normals

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkRule:
    """Give `mark` to the faces that meet every condition given.

    `facing`: the face's normal is within `within_deg` of this direction. `box_mm`: the face's centre lies in the box
    between two corners. `faces`: numbers in the file as read, from 0.
    """

    mark: FaceMark
    facing: Point | None = None
    within_deg: float = 30.0
    box_mm: tuple[Point, Point] | None = None
    faces: tuple[int, ...] | None = None


def apply_marks(part: Part, rules: tuple[MarkRule, ...] | list[MarkRule]) -> Part:
    """The part with the rules applied one after the other.

    A face either shows or is hidden: the later rule wins. `KEEP_CLEAR` goes with either.

    Raises
    ------
    BadJob
        If a rule has no condition, a direction without length, an angle outside 0–180°, a box that is not finite, or
        a face number that the file does not have.
    """
    marks = part.marks.copy()
    findings: list[Finding] = []
    for number, rule in enumerate(rules, start=1):
        chosen = chosen_faces(part, rule)
        if not chosen.any():
            findings.append(_marks_nobody(rule, number))
        if rule.mark & (FaceMark.SHOW | FaceMark.HIDDEN):
            marks[chosen] &= np.uint8(FaceMark.KEEP_CLEAR)
        marks[chosen] |= np.uint8(rule.mark)
    return replace(part, marks=marks, findings=part.findings + tuple(findings))


def chosen_faces(part: Part, rule: MarkRule) -> BoolArray:
    """Which faces of the part meet the rule: (m,).

    Raises
    ------
    BadJob
        As `apply_marks`.
    """
    if rule.facing is None and rule.box_mm is None and rule.faces is None:
        raise BadJob(
            f"a {_name(rule)} rule says no faces", remedy="give it facing, box_mm or faces, or leave the rule out"
        )
    chosen = np.ones(len(part.mesh.faces), np.bool_)
    if rule.facing is not None:
        chosen &= _facing(part, rule.facing, rule.within_deg)
    if rule.box_mm is not None:
        chosen &= _in_box(part, rule.box_mm)
    if rule.faces is not None:
        chosen &= _numbered(part, rule.faces)
    return chosen


def _facing(part: Part, facing: Point, within_deg: float) -> BoolArray:
    direction = np.asarray(facing, np.float64)
    length = float(np.linalg.norm(direction)) if np.isfinite(direction).all() else 0.0
    if direction.shape != (3,) or not length > 1e-9:
        raise BadJob(
            f"facing = {list(facing)} is not a direction", remedy="give three finite numbers, for example 0, 0, -1"
        )
    if not 0.0 <= within_deg <= 180.0:
        raise BadJob(f"within_deg = {within_deg} is not an angle", remedy="give an angle from 0 to 180, usually 30")
    least = np.cos(np.radians(within_deg)) - 1e-9
    chosen: BoolArray = face_normals(part.mesh) @ (direction / length) >= least
    return chosen


def _in_box(part: Part, box_mm: tuple[Point, Point]) -> BoolArray:
    corners = np.asarray(box_mm, np.float64)
    if corners.shape != (2, 3) or not np.isfinite(corners).all():
        raise BadJob(f"box_mm = {box_mm} is not a box", remedy="give two corners of three finite numbers in mm each")
    centres = face_centres_mm(part.mesh)
    chosen: BoolArray = ((centres >= corners.min(axis=0)) & (centres <= corners.max(axis=0))).all(axis=1)
    return chosen


def _numbered(part: Part, numbers: tuple[int, ...]) -> BoolArray:
    count = len(part.mesh.faces) if part.faces_read is None else part.faces_read
    wrong = [number for number in numbers if not 0 <= number < count]
    if wrong:
        raise BadJob(
            f"face {wrong[0]} is not in {part.name}, which has faces 0 to {count - 1}",
            remedy="number the faces as they stand in the file, from 0",
        )
    source = np.arange(len(part.mesh.faces)) if part.source_face is None else part.source_face
    return np.isin(source, np.asarray(numbers, np.int64))


def _marks_nobody(rule: MarkRule, number: int) -> Finding:
    return Finding(
        severity=Severity.WARNING,
        code="mark-without-faces",
        what=f"mark rule {number} ({_name(rule)}) chose no face",
        remedy="widen its angle or box, or check the face numbers: it has no effect as it is",
    )


def _name(rule: MarkRule) -> str:
    return "+".join(str(mark.name).lower() for mark in FaceMark if mark and mark in rule.mark) or "none"
