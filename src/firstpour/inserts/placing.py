"""How an insert is held in the mould, or why it cannot be."""

from dataclasses import dataclass

import manifold3d
import numpy as np

from firstpour.errors import BadRequest
from firstpour.inserts.shapes import axis_of, cylinder, end_slice, outside, peg, rod_between
from firstpour.inserts.values import Hold, Insert, InsertShape
from firstpour.surface.solids import from_solid
from firstpour.values import FloatArray, frame_along

SEAT_MM = 5.0
"""How deep a rod sits in the silicone at each end (our own choice, decision 0055)."""
LEAST_SEAT_MM, LEAST_OVER_MM = 2.0, 2.0
"""The least that holds a rod, and the silicone left over its end (our own choices, decision 0055)."""
ALONG_COS = float(np.cos(np.radians(2.0)))
"""An insert that leans further from the draw would lock the halves."""
LEAST_RECESS_MM = 0.5
"""What must stand out of the part to be held in a recess (our own choice, decision 0062)."""
LEAST_OUT_RATIO = 0.03
"""The share of a mesh that must stand out of the part to be held there (our own choice, decision 0062)."""
LEAST_OVER_MM2, LEAST_GRIP_MM2 = 20.0, 5.0
"""Least surface that a cast lies on of the copy it is cast around, and least silicone in that copy's way (our own
choices, decision 0057)."""
MOVED_MM, WAYS = 0.5, 8
"""How far a copy is moved to see what holds it, and in how many ways across the draw."""
PEGS, PEG_MM, LEAST_PEG_MM, SHOULDER_MM = 3, 3.0, 1.5, 1.0
"""Pegs under an insert, their diameter, and how far their shoulders rise beside it (our own, decision 0062)."""
SLENDER = 3.0
"""A peg of silicone longer than so many of its diameters bends under an insert (our own choice, decision 0062)."""
TOUCH_MM = 1.0
"""How much wider the shell around an insert is in which the part is looked for."""
OPEN_RATIO = 0.01
"""Up to this share of an end may lie against the part, and it is still open; and the other way round."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldInsert:
    """One insert and what holds it. `sides`: +1 the upper half, −1 the lower, both where both do.

    `ends`: the ends that come out of the part, +1 the one that `along` points to. `seat_mm`: how deep a rod sits in
    the silicone; `stand_off_mm`: how far pegs hold it off the mould's face; `pegs` are their axes (k, 2, 3).
    """

    insert: Insert
    hold: Hold
    sides: tuple[int, ...]
    ends: tuple[int, ...] = ()
    seat_mm: float = 0.0
    proud: bool = False
    stand_off_mm: float = 0.0
    peg_mm: float = 0.0
    pegs: tuple[FloatArray, ...] = ()
    cast_over_mm2: float = 0.0
    shut_off_mm2: float = 0.0
    """Of a copy that is cast around: its surface under the cast, and that on which the silicone closes."""

    @property
    def length_mm(self) -> float:
        """How long a rod is cut: it sits in the silicone with each end that is held."""
        return self.insert.length_mm + self.seat_mm * len(self.ends)


def place(one: Insert, solid: manifold3d.Manifold, *, draw: FloatArray, wall_mm: float) -> HeldInsert:
    """Find what holds the insert in the part `solid`.

    Raises
    ------
    BadRequest
        If it is larger than the part, touches nothing of it, or nothing can hold it.
    """
    whole = outside(one)
    if one.copy_of:
        return _copy(one, whole, solid, draw)
    _check_size(one, whole, solid)
    if one.shape is InsertShape.MESH:
        return _mesh(one, whole, solid, draw)
    ends = _open_ends(one, solid)
    sides = tuple(sorted({_side(one, end, draw) for end in ends if _clear(one, end, solid)}, reverse=True))
    proud = any(_out_mm(one, end, solid) > LEAST_RECESS_MM - 1e-6 for end in ends)
    if one.shape is InsertShape.ROD:
        seat_mm = _seat_mm(one, ends, wall_mm)
        _check_along(one, draw)
        return HeldInsert(insert=one, hold=Hold.HOLE, sides=sides, ends=ends, seat_mm=seat_mm)
    if one.bore_mm:
        _check_ends(one, ends)
        _check_along(one, draw)
        return HeldInsert(insert=one, hold=Hold.PIN, sides=sides, ends=ends, proud=proud)
    if proud:
        return HeldInsert(insert=one, hold=Hold.RECESS, sides=sides, ends=ends, proud=True)
    if ends:
        raise BadRequest(
            f"{one.words} lies flush with the part and has no bore: nothing holds it",
            remedy=f"let it stand out by {LEAST_RECESS_MM:g} mm or more, for a recess, or lie 1 mm or more within "
            "the part, on pegs",
        )
    _check_along(one, draw)
    return _on_pegs(one, solid, draw)


def _clear(one: Insert, end: int, solid: manifold3d.Manifold) -> bool:
    """Whether the silicone beyond that end belongs to the half on its side, and does not fill a blind hole there."""
    far_mm = float(np.linalg.norm(np.ptp(np.array(solid.bounding_box()).reshape(2, 3), axis=0)))
    shift_mm = end * 0.5 * (one.length_mm + far_mm)
    way = cylinder(one, one.hole_mm or one.diameter_mm, shift_mm=shift_mm, length_mm=far_mm)
    return float((way ^ solid).volume()) < OPEN_RATIO * float(solid.volume())


def _side(one: Insert, end: int, draw: FloatArray) -> int:
    """The half on the side of that end."""
    return 1 if end * float(axis_of(one) @ draw) > 0.0 else -1


def _check_size(one: Insert, whole: manifold3d.Manifold, solid: manifold3d.Manifold) -> None:
    hull = solid.hull()
    whole_mm3 = float(whole.volume())
    rows = frame_along(axis_of(one))
    part_mm, insert_mm = (np.ptp(np.array(from_solid(one_).vertices_mm) @ rows.T, axis=0) for one_ in (solid, whole))
    if whole_mm3 >= float(hull.volume()) or (insert_mm[:2] >= part_mm[:2]).any():
        raise BadRequest(
            f"{one.words} is larger than the part, which is {part_mm[0]:.1f} × {part_mm[1]:.1f} mm across there",
            remedy="correct the sizes of the insert or the unit of the part",
        )
    shell = outside(one, wider_mm=TOUCH_MM) - whole
    touched_mm3 = float((shell ^ solid).volume())
    most_out = 0.5 if one.shape is not InsertShape.MESH else 0.9
    if float((whole - hull).volume()) > most_out * whole_mm3 or touched_mm3 < 0.05 * float(shell.volume()):
        raise BadRequest(
            f"{one.words} hangs in air: hardly any of the part lies around it",
            remedy="correct at_mm and along: the middle of the insert, in the part's coordinates, mm",
        )


def _open_ends(one: Insert, solid: manifold3d.Manifold) -> tuple[int, ...]:
    """The ends that come out of the part, or of what has a bore, those whose bore does; one that does so with a part
    of its face alone is refused.
    """
    ends = []
    what = "bore" if one.bore_mm else "end"
    for end, word in ((1, "far"), (-1, "near")):
        beyond = end_slice(one, end, deep_mm=1.0, across_mm=one.bore_mm)
        covered = float((beyond ^ solid).volume()) / float(beyond.volume())
        if covered < OPEN_RATIO:
            ends.append(end)
        elif covered < 1.0 - OPEN_RATIO:
            raise BadRequest(
                f"{one.words} comes out of the part with {1.0 - covered:.0%} of its {word} {what} alone, as seen "
                "1 mm beyond it",
                remedy="move it along, or change length_mm, so that each end lies wholly within or wholly at the "
                "surface",
            )
    return tuple(ends)


def _out_mm(one: Insert, end: int, solid: manifold3d.Manifold) -> float:
    """How much of the half of the insert at that end stands out of the part."""
    half_mm = 0.5 * one.length_mm
    long_mm = 4.0 * (one.diameter_mm + one.across_flats_mm + one.flange_mm)
    halving = cylinder(one, long_mm, shift_mm=end * 0.5 * half_mm, length_mm=half_mm)
    shell = (outside(one, wider_mm=TOUCH_MM) - outside(one)) ^ halving
    return half_mm * (1.0 - float((shell ^ solid).volume()) / float(shell.volume()))


def _seat_mm(one: Insert, ends: tuple[int, ...], wall_mm: float) -> float:
    seat_mm = min(SEAT_MM, wall_mm - LEAST_OVER_MM)
    _check_ends(one, ends)
    if seat_mm < LEAST_SEAT_MM:
        raise BadRequest(
            f"{one.words} has only {seat_mm:g} mm of silicone to sit in", remedy="give a larger mould.wall_mm"
        )
    return seat_mm


def _check_ends(one: Insert, ends: tuple[int, ...]) -> None:
    if not ends:
        raise BadRequest(
            f"{one.words} ends inside the part at both ends: no half of the mould holds it",
            remedy="make it so long, length_mm, that an end comes to the part's surface",
        )


def _check_along(one: Insert, draw: FloatArray) -> None:
    if abs(float(axis_of(one) @ draw)) < ALONG_COS:
        raise BadRequest(
            f"{one.words} lies across the draw direction: the halves could not be drawn off it",
            remedy="give draw = along of the insert, so that the halves hold it by its ends",
        )


def _mesh(one: Insert, whole: manifold3d.Manifold, solid: manifold3d.Manifold, draw: FloatArray) -> HeldInsert:
    """A mesh is held by what stands out of the part."""
    out = whole - solid.hull()
    if float(out.volume()) < LEAST_OUT_RATIO * float(whole.volume()):
        raise BadRequest(
            f"{one.words} stands out of the part with {float(out.volume()):.1f} mm³ alone: nothing holds it",
            remedy=f"place it so that {LEAST_OUT_RATIO:.0%} of it or more stand out, to sit in a recess of the mould",
        )
    heights = from_solid(out).vertices_mm @ draw
    middle = float(np.mean(from_solid(solid).vertices_mm @ draw))
    sides = tuple(side for side in (1, -1) if (side * (heights - middle) > 0.0).any())
    return HeldInsert(insert=one, hold=Hold.RECESS, sides=sides, proud=True)


def _copy(one: Insert, whole: manifold3d.Manifold, solid: manifold3d.Manifold, draw: FloatArray) -> HeldInsert:
    """A copy that is cast around is held by the silicone on what the cast leaves bare of it.

    It is moved a little each way: silicone must stand in its way on all sides across the draw, and on one along it.
    """
    both = whole + solid
    area_mm2 = float(whole.surface_area())
    over_mm2 = 0.5 * (area_mm2 + float((solid - whole).surface_area()) - float(both.surface_area()))
    if over_mm2 < LEAST_OVER_MM2:
        raise BadRequest(
            f"{one.words} hangs in air: what is cast around it touches {max(0.0, over_mm2):.0f} mm² of it",
            remedy="let both files have the same origin and unit, so that the parts lie in each other as they shall",
        )
    rows = frame_along(draw)
    ways = [np.cos(turn) * rows[0] + np.sin(turn) * rows[1] for turn in np.arange(WAYS) * 2.0 * np.pi / WAYS]
    loose = next((way for way in ways if _in_the_way_mm2(whole, both, way) < LEAST_GRIP_MM2), None)
    sides = tuple(side for side in (1, -1) if _in_the_way_mm2(whole, both, side * rows[2]) >= LEAST_GRIP_MM2)
    if loose is not None or not sides:
        x, y, z = rows[2] if loose is None else loose
        raise BadRequest(
            f"{one.words} would float in the mould: no silicone holds it along ({x:.2f}, {y:.2f}, {z:.2f})",
            remedy="leave some of it bare on that side, or a hole through it for silicone; or give another draw",
        )
    return HeldInsert(
        insert=one,
        hold=Hold.RECESS,
        sides=sides,
        proud=True,
        cast_over_mm2=over_mm2,
        shut_off_mm2=area_mm2 - over_mm2,
    )


def _in_the_way_mm2(whole: manifold3d.Manifold, both: manifold3d.Manifold, way: FloatArray) -> float:
    """Silicone that stands in the way of a body moved a little, as an area square to that."""
    moved = whole.translate(tuple(float(value) for value in MOVED_MM * way))
    return float((moved - both).volume()) / MOVED_MM


def _on_pegs(one: Insert, solid: manifold3d.Manifold, draw: FloatArray) -> HeldInsert:
    """Stood on three pegs from the nearer of the two sides."""
    across_mm = one.across_flats_mm or one.diameter_mm
    peg_mm = min(PEG_MM, 0.6 * across_mm)
    offs = {end: _way_out_mm(one, end, solid, across_mm=across_mm, peg_mm=peg_mm) for end in (1, -1)}
    end = min(offs, key=lambda each: offs[each])
    off_mm = offs[end]
    if peg_mm < LEAST_PEG_MM or off_mm > SLENDER * peg_mm:
        raise BadRequest(
            f"{one.words} lies {off_mm:.1f} mm within the part: pegs of {peg_mm:.1f} mm would not carry it there",
            remedy=f"place it no deeper than {SLENDER * peg_mm:.1f} mm, let an end stand out, or take a ring",
        )
    shoulder_mm = min(SHOULDER_MM, 0.5 * one.length_mm)
    pegs = tuple(
        peg(one, end, turn, across_mm=across_mm, low_mm=shoulder_mm, high_mm=off_mm + 0.05) for turn in _turns()
    )
    return HeldInsert(
        insert=one,
        hold=Hold.PEGS,
        sides=(_side(one, end, draw),),
        stand_off_mm=off_mm,
        peg_mm=peg_mm,
        pegs=pegs,
    )


def _turns() -> FloatArray:
    return np.arange(PEGS) * 2.0 * np.pi / PEGS


def _way_out_mm(one: Insert, end: int, solid: manifold3d.Manifold, *, across_mm: float, peg_mm: float) -> float:
    """How far the surface of the part lies beyond that end, where pegs would stand: the furthest of them."""
    box = np.array(solid.bounding_box()).reshape(2, 3)
    far_mm = float(np.linalg.norm(box[1] - box[0]))
    axis = end * axis_of(one)
    face_mm = float(np.array(one.at_mm) @ axis) + 0.5 * one.length_mm
    ways = []
    for turn in _turns():
        line = peg(one, end, float(turn), across_mm=across_mm, low_mm=0.0, high_mm=far_mm)
        bodies = (rod_between(line, peg_mm) ^ solid).decompose()
        first = min(bodies, key=lambda body: float((from_solid(body).vertices_mm @ axis).min()), default=None)
        ways.append(0.0 if first is None else float((from_solid(first).vertices_mm @ axis).max()) - face_mm)
    return max(ways)
