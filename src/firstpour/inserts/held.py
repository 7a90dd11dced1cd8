"""A part with its inserts: what the silicone must be cast around, and what is then left for the shot."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import manifold3d
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstpour.errors import BadRequest
from firstpour.inserts.values import Insert, InsertShape
from firstpour.part.part import Part
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from firstpour.values import Finding, FloatArray, Severity, frame_along

SEAT_MM = 5.0
"""How deep a rod sits in the silicone at each end (our own choice, decision 0055)."""
LEAST_SEAT_MM, LEAST_OVER_MM = 2.0, 2.0
"""The least that holds a rod, and the silicone left over its end (our own choices, decision 0055)."""
FACETS = 96
FILLER_MM = 0.1
"""A drawn hole and the insert differ by their facets; between them would stand a film of silicone."""
ALONG_COS = float(np.cos(np.radians(2.0)))
"""An insert that leans further from the draw would lock the halves."""
DRAWN_RATIO = 0.02
"""An insert that overlaps the part by less of its volume fills a hole that is drawn: the shot is the part."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """A part with inserts. `cored` is what silicone is cast around; `shot` what casting material fills.

    `taken_mm3`: of `cored`, what the inserts take, at the part's own size.
    """

    cored: Part
    shot: Part
    taken_mm3: float
    findings: tuple[Finding, ...]


def hold_inserts(
    part: Part, inserts: Sequence[Insert], *, draw: FloatArray, wall_mm: float, casting_shrinkage_ratio: float
) -> Held:
    """Set the inserts into the part, each held by both halves along the `draw`.

    Seats and pins are as large as the insert once the master is scaled and the silicone has shrunk: only the casting
    shrinks after that, so they are drawn smaller by its shrinkage.

    Raises
    ------
    BadRequest
        If an insert lies across the draw, is larger than the part, touches nothing of it or is not held at both ends.
    """
    solid = to_solid(part.mesh)
    seat_mm = min(SEAT_MM, wall_mm - LEAST_OVER_MM)
    cored, shot, taken, findings = solid, solid, [], []
    shrunk = 1.0 - casting_shrinkage_ratio
    for one in inserts:
        _check(one, solid, draw, seat_mm)
        piece = _in_mould(one, seat_mm, shrunk=shrunk)
        cored, shot = _cored(cored, one, piece, shrunk), shot - _through(one, one.diameter_mm)
        taken.append(piece)
        findings.append(_told(one, _length_mm(one, seat_mm)))
    if count_bodies(shot) != count_bodies(solid):
        raise BadRequest(
            f"{' and '.join(one.words for one in inserts)} leave no shot in one piece",
            remedy="take a thinner insert, or one that lies within the part",
        )
    inside_mm3 = float(manifold3d.Manifold.batch_boolean(taken, manifold3d.OpType.Add).volume())
    drawn = float(solid.volume() - shot.volume()) < DRAWN_RATIO * inside_mm3
    return Held(
        cored=_as_part(part, cored),
        shot=part if drawn else _as_part(part, shot),
        taken_mm3=inside_mm3,
        findings=tuple(findings),
    )


def _check(one: Insert, solid: manifold3d.Manifold, draw: FloatArray, seat_mm: float) -> None:
    """Refuse an insert that cannot be held."""
    axis = np.array(one.along) / np.linalg.norm(one.along)
    if abs(float(axis @ draw)) < ALONG_COS:
        raise BadRequest(
            f"{one.words} lies across the draw direction: the halves could not be drawn off it",
            remedy="give draw = along of the insert, so that each half holds an end of it",
        )
    if one.shape is InsertShape.ROD and seat_mm < LEAST_SEAT_MM:
        raise BadRequest(
            f"{one.words} has only {seat_mm:g} mm of silicone to sit in", remedy="give a larger mould.wall_mm"
        )
    whole = _cylinder(one, one.diameter_mm)
    hull = solid.hull()
    out_mm3 = float((whole - hull).volume())
    across = max(float(np.ptp(np.array(from_solid(solid).vertices_mm) @ row)) for row in frame_along(axis)[:2])
    if one.diameter_mm >= across or float(whole.volume()) >= float(hull.volume()):
        raise BadRequest(
            f"{one.words} is larger than the part, which is {across:.1f} mm wide there",
            remedy="correct diameter_mm, length_mm or the unit of the part",
        )
    around = _cylinder(one, one.diameter_mm + 1.0)
    if out_mm3 > 0.5 * float(whole.volume()) or float((around ^ solid).volume()) < 0.05 * float(
        (around - whole).volume()
    ):
        raise BadRequest(
            f"{one.words} hangs in air: hardly any of the part lies around it",
            remedy="correct at_mm and along: the middle of the insert, in the part's coordinates",
        )
    for way, end in ((1.0, "far"), (-1.0, "near")):
        beyond = _cylinder(one, one.diameter_mm, shift_mm=way * (0.5 * one.length_mm + 0.5), length_mm=1.0)
        if float((beyond ^ solid).volume()) > 0.01 * float(beyond.volume()):
            raise BadRequest(
                f"{one.words} ends inside the part at its {end} end: no half of the mould holds it there",
                remedy="make it so long, length_mm, that both ends come to the part's surface",
            )


def _in_mould(one: Insert, seat_mm: float, *, shrunk: float) -> manifold3d.Manifold:
    """What of the insert the silicone is cast around: a rod with its seats, a tube but for its bore."""
    if one.shape is InsertShape.ROD:
        return _cylinder(one, shrunk * one.diameter_mm, length_mm=_length_mm(one, seat_mm))
    return _cylinder(one, one.diameter_mm) - _through(one, shrunk * one.bore_mm)


def _cored(cored: manifold3d.Manifold, one: Insert, piece: manifold3d.Manifold, shrunk: float) -> manifold3d.Manifold:
    """The part with the hole of a rod filled, or the bore of a tube open."""
    if one.shape is InsertShape.ROD:
        return cored + _filler(one, cored) + piece
    return (cored + _filler(one, cored)) - _through(one, shrunk * one.bore_mm)


def _through(one: Insert, diameter_mm: float) -> manifold3d.Manifold:
    """A cutter about the insert's axis, a hair longer than it: else rounding leaves a film at its ends."""
    return _cylinder(one, diameter_mm, length_mm=one.length_mm + FILLER_MM)


def _filler(one: Insert, cored: manifold3d.Manifold) -> manifold3d.Manifold:
    """What closes a hole drawn for the insert, facets and all: a hair wider, but never beyond the part."""
    return _cylinder(one, one.diameter_mm + FILLER_MM) ^ cored.hull()


def _length_mm(one: Insert, seat_mm: float) -> float:
    """How long it is cut: a rod sticks out into both halves."""
    return one.length_mm + (2.0 * seat_mm if one.shape is InsertShape.ROD else 0.0)


def _cylinder(
    one: Insert, diameter_mm: float, *, shift_mm: float = 0.0, length_mm: float | None = None
) -> manifold3d.Manifold:
    """A cylinder about the insert's axis, its middle moved along it."""
    length_mm = one.length_mm if length_mm is None else length_mm
    axis = np.array(one.along) / np.linalg.norm(one.along)
    radius_mm = 0.5 * diameter_mm
    upright = manifold3d.Manifold.cylinder(length_mm, radius_mm, radius_mm, FACETS, True)
    middle = np.array(one.at_mm) + shift_mm * axis
    return upright.transform(np.column_stack([frame_along(axis).T, middle]))


def _as_part(part: Part, solid: manifold3d.Manifold) -> Part:
    """The solid as the part with the marks of the part's faces nearby."""
    mesh = from_solid(solid)
    made = replace(part, mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8), source_face=None)
    return made if not part.marks.any() else replace(made, marks=_marks(part, made))


def _marks(part: Part, made: Part) -> NDArray[np.uint8]:
    """Marks (m,) of the new faces: those of the nearest corner or middle of a face of the part."""
    solid_faces = part.mesh.vertices_mm[part.mesh.faces]
    middles = made.mesh.vertices_mm[made.mesh.faces].mean(axis=1)
    samples = np.concatenate([solid_faces.mean(axis=1), *(solid_faces[:, k] for k in range(3))])
    _, nearest = cKDTree(samples).query(middles)
    marks: NDArray[np.uint8] = part.marks[nearest % len(part.mesh.faces)]
    return marks


def _told(one: Insert, length_mm: float) -> Finding:
    """Say what to lay ready for every shot, and what becomes of it."""
    if one.shape is InsertShape.ROD:
        return Finding(
            severity=Severity.INFO,
            code="insert-pulled",
            what=f"for every cavity {one.words} is set in, cut to {length_mm:.1f} mm: it sits in a pilot hole of "
            f"each half and leaves a hole of {one.hole_mm:.2f} ± {one.tolerance_mm:g} mm, whatever "
            "the casting shrinks by",
            remedy="round its ends, grease it thinly before every shot, pull it before the copy has set fully hard",
        )
    return Finding(
        severity=Severity.INFO,
        code="insert-stays",
        what=f"for every cavity {one.words} is set in and stays in the copy, on a pin of silicone in its bore of "
        f"{one.hole_mm:.2f} ± {one.tolerance_mm:g} mm",
        remedy="roughen and degrease it outside, so that the casting holds on to it; keep its bore and ends clean",
    )
