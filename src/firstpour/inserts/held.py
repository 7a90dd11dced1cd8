"""A part with its inserts: what the silicone must be cast around, and what is then left for the shot."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import manifold3d
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstpour.errors import BadRequest
from firstpour.inserts.placing import HeldInsert, place
from firstpour.inserts.shapes import FILLER_MM, cylinder, end_slice, outside, rod_between
from firstpour.inserts.told import told
from firstpour.inserts.values import Hold, Insert
from firstpour.part.part import FaceMark, Part
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from firstpour.values import Finding, FloatArray

DRAWN_RATIO = 0.02
"""An insert that overlaps the part by less of its volume fills a hole that is drawn: the shot is the part."""
SAME_MM3 = 0.01
"""Two inserts that overlap by less touch: rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """A part with inserts. `cored` is what silicone is cast around; `shot` what casting material fills.

    `taken_mm3`: of `cored`, what the inserts take, at the part's own size.
    """

    cored: Part
    shot: Part
    taken_mm3: float
    inserts: tuple[HeldInsert, ...]
    findings: tuple[Finding, ...]


def hold_inserts(
    part: Part, inserts: Sequence[Insert], *, draw: FloatArray, wall_mm: float, casting_shrinkage_ratio: float
) -> Held:
    """Set the inserts into the part, each held along the `draw` by the silicone of one half or of both.

    Seats and pins are as large as the insert once the master is scaled and the silicone has shrunk: only the casting
    shrinks after that, so they are drawn smaller by its shrinkage.

    Raises
    ------
    BadRequest
        If an insert lies across the draw, is larger than the part, touches nothing of it, is held by nothing, or
        overlaps another.
    """
    solid = to_solid(part.mesh)
    shrunk = 1.0 - casting_shrinkage_ratio
    held = tuple(place(one, solid, draw=draw, wall_mm=wall_mm) for one in inserts)
    bodies = [_in_mould(one, shrunk=shrunk) for one in held]
    _check_apart(held, bodies)
    cored, shot = solid, solid
    for one, body in zip(held, bodies, strict=True):
        cored = _cored(cored, one, body, shrunk=shrunk)
        shot = _shot(shot, one, solid)
    if count_bodies(shot) != count_bodies(solid):
        raise BadRequest(
            f"{' and '.join(one.words for one in inserts)} leave no shot in one piece",
            remedy="take a thinner insert, or one that lies within the part",
        )
    inside = manifold3d.Manifold.batch_boolean(bodies, manifold3d.OpType.Add) ^ cored
    return Held(
        cored=_as_part(part, cored),
        shot=part if shot is solid else _as_part(part, shot, own=set(solid.to_mesh64().run_original_id)),
        taken_mm3=float(inside.volume()),
        inserts=held,
        findings=tuple(finding for one in held for finding in told(one)),
    )


def _check_apart(held: Sequence[HeldInsert], bodies: Sequence[manifold3d.Manifold]) -> None:
    for (a, one), (b, other) in combinations(enumerate(bodies), 2):
        shared_mm3 = float((one ^ other).volume())
        if shared_mm3 > SAME_MM3:
            raise BadRequest(
                f"{held[a].insert.words} and {held[b].insert.words} overlap by {shared_mm3:.1f} mm³",
                remedy="correct at_mm of one of them, or take them as one mesh",
            )


def _in_mould(one: HeldInsert, *, shrunk: float) -> manifold3d.Manifold:
    """The insert as it lies in the mould: its bore shut, a rod with what sits in the silicone."""
    body = outside(one.insert)
    for end in one.ends if one.hold is Hold.HOLE else ():
        shift_mm = end * 0.5 * one.insert.length_mm
        body += cylinder(one.insert, shrunk * one.insert.diameter_mm, shift_mm=shift_mm, length_mm=2.0 * one.seat_mm)
    return body


def _cored(
    cored: manifold3d.Manifold, one: HeldInsert, body: manifold3d.Manifold, *, shrunk: float
) -> manifold3d.Manifold:
    """What the silicone is cast around: no hole for the insert, its seats added, its pins and pegs cut out."""
    insert = one.insert
    fits = one.proud and not insert.copy_of
    cored = cored + (outside(insert, wider_mm=0.0 if fits else FILLER_MM) ^ cored.hull())
    if one.hold is Hold.HOLE:
        return cored + _seats(one, shrunk=shrunk)
    if one.proud:
        cored = cored + outside(insert, shrunk=shrunk)
    if one.hold is Hold.PIN:
        return cored - _bore(one, shrunk * insert.bore_mm)
    return cored - _pegs(one, body)


def _seats(one: HeldInsert, *, shrunk: float) -> manifold3d.Manifold:
    """A rod from end to end, with what sits in the silicone."""
    shift_mm = 0.5 * one.seat_mm * sum(one.ends)
    return cylinder(one.insert, shrunk * one.insert.diameter_mm, shift_mm=shift_mm, length_mm=one.length_mm)


def _bore(one: HeldInsert, diameter_mm: float) -> manifold3d.Manifold:
    """What a pin of silicone fills: a hair beyond each open end, for rounding would leave a film there."""
    beyond_mm = 0.5 * FILLER_MM
    length_mm = one.insert.length_mm + beyond_mm * len(one.ends)
    return cylinder(one.insert, diameter_mm, shift_mm=0.5 * beyond_mm * sum(one.ends), length_mm=length_mm)


def _pegs(one: HeldInsert, body: manifold3d.Manifold) -> manifold3d.Manifold:
    """The pegs less the insert that lies between their shoulders."""
    rods = [rod_between(line, one.peg_mm) for line in one.pegs]
    return manifold3d.Manifold.batch_boolean(rods, manifold3d.OpType.Add) - body


def _shot(shot: manifold3d.Manifold, one: HeldInsert, solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """What is left for the casting material; as drawn where the insert's hole is drawn."""
    body = outside(one.insert)
    if float((body ^ solid).volume()) >= DRAWN_RATIO * float(body.volume()):
        for end in one.ends:
            body += end_slice(one.insert, end, deep_mm=0.5 * FILLER_MM)
        shot = shot - body
    return shot - _pegs(one, body) if one.pegs else shot


def _as_part(part: Part, solid: manifold3d.Manifold, *, own: set[int] | None = None) -> Part:
    """The solid as the part with the marks of the part's faces nearby; of a shot, whose `own` surfaces are named, no
    gate and no vent may lie on what touches an insert.
    """
    mesh = from_solid(solid)
    made = replace(part, mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8), source_face=None)
    marks = _marks(part, made) if part.marks.any() else made.marks.copy()
    if own is not None:
        marks[_foreign(solid, own)] |= int(FaceMark.KEEP_CLEAR)
    return replace(made, marks=marks)


def _foreign(solid: manifold3d.Manifold, own: set[int]) -> NDArray[np.bool_]:
    """Faces (m,) that a cutter left."""
    raw = solid.to_mesh64()
    runs = np.diff(np.array(raw.run_index)) // 3
    return np.repeat([each not in own for each in raw.run_original_id], runs)


def _marks(part: Part, made: Part) -> NDArray[np.uint8]:
    """Marks (m,) of the new faces: those of the nearest corner or middle of a face of the part."""
    solid_faces = part.mesh.vertices_mm[part.mesh.faces]
    middles = made.mesh.vertices_mm[made.mesh.faces].mean(axis=1)
    samples = np.concatenate([solid_faces.mean(axis=1), *(solid_faces[:, k] for k in range(3))])
    _, nearest = cKDTree(samples).query(middles)
    marks: NDArray[np.uint8] = part.marks[nearest % len(part.mesh.faces)]
    return marks
