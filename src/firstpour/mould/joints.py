"""Pieces too large for the printer are cut across and joined with pegs."""

from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely

from firstpour.parting.sheet import footprint
from firstpour.values import FloatArray

PEG_RADII_MM = (2.5, 1.5)
PEG_LENGTH_MM = 5.0
PEG_CLEARANCE_MM = 0.15
PEG_COVER_MM = 1.2
"""Plastic around a peg, the least."""
MOST_CUTS = 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joined:
    """The parts (solids, standing as printed) that a piece was cut into, and at how many joints no peg found room."""

    parts: tuple[manifold3d.Manifold, ...]
    joints_without_pegs: int


def fits(size_mm: FloatArray, printer_mm: FloatArray) -> bool:
    """Whether a size (3,) fits the build volume (3,), as it stands or turned a quarter about the vertical."""
    turned = size_mm[[1, 0, 2]]
    return bool((size_mm <= printer_mm).all() or (turned <= printer_mm).all())


def size_mm(solid: manifold3d.Manifold) -> FloatArray:
    """Extent of a solid along the axes (3,)."""
    bounds = np.array(solid.bounding_box())
    extent: FloatArray = bounds[3:] - bounds[:3]
    return extent


def cut_to_fit(solid: manifold3d.Manifold, printer_mm: FloatArray) -> Joined:
    """Cut a solid, standing as it is printed, into parts that fit the printer, pegs on one side of each joint.

    Each cut halves the part along the axis that overshoots most.
    """
    waiting: list[manifold3d.Manifold] = [solid]
    done: list[manifold3d.Manifold] = []
    without = 0
    while waiting:
        part = waiting.pop()
        size = size_mm(part)
        if fits(size, printer_mm) or len(waiting) + len(done) >= MOST_CUTS:
            done.append(part)
            continue
        along = (size[0] >= size[1]) == (printer_mm[0] >= printer_mm[1])
        room = printer_mm if along else printer_mm[[1, 0, 2]]
        first, second, pegged = _cut(part, axis=int(np.argmax(size / room)))
        without += not pegged
        waiting += [second, first]
    return Joined(parts=tuple(done), joints_without_pegs=without)


def _cut(solid: manifold3d.Manifold, *, axis: int) -> tuple[manifold3d.Manifold, manifold3d.Manifold, bool]:
    """Cut a solid across the middle of one axis; whether pegs found room."""
    bounds = np.array(solid.bounding_box())
    place = 0.5 * float(bounds[axis] + bounds[axis + 3])
    normal = np.zeros(3)
    normal[axis] = 1.0
    far, near = solid.split_by_plane(tuple(normal), place)
    pegs, seats = _pegs(solid, far, axis=axis, place=place)
    if pegs is None or seats is None:
        return near, far, False
    return near + pegs, far - seats, True


def _pegs(
    solid: manifold3d.Manifold, far: manifold3d.Manifold, *, axis: int, place: float
) -> tuple[manifold3d.Manifold | None, manifold3d.Manifold | None]:
    """Pegs and their seats along `axis` at the cut, at the two places farthest apart that have room all around."""
    to_z = _axis_to_z(axis)
    section = footprint(np.asarray(ring) for ring in solid.transform(to_z).slice(place).to_polygons())
    for radius_mm in PEG_RADII_MM:
        spots = _spots(section.buffer(-(radius_mm + PEG_COVER_MM)))
        pegs, seats = [], []
        for x, y in spots:
            peg = _peg(x, y, place, radius_mm=radius_mm, length_mm=PEG_LENGTH_MM, behind_mm=1.0)
            seat = _peg(
                x, y, place, radius_mm=radius_mm + PEG_CLEARANCE_MM, length_mm=PEG_LENGTH_MM + 0.5, behind_mm=0.1
            )
            covered = _peg(x, y, place, radius_mm=radius_mm + 0.6, length_mm=PEG_LENGTH_MM + 1.0, behind_mm=0.0)
            if (covered - far.transform(to_z)).volume() < 1e-3 * covered.volume():
                pegs.append(peg)
                seats.append(seat)
        if pegs:
            back = _transposed(to_z)
            return (
                manifold3d.Manifold.batch_boolean(pegs, manifold3d.OpType.Add).transform(back),
                manifold3d.Manifold.batch_boolean(seats, manifold3d.OpType.Add).transform(back),
            )
    return None, None


def _spots(room: shapely.Geometry) -> list[tuple[float, float]]:
    """Up to four places in the room for pegs: one a patch, and the ends of the largest."""
    spots: list[tuple[float, float]] = []
    for patch in sorted(shapely.get_parts(room), key=lambda patch: -patch.area)[:4]:
        if patch.is_empty:
            continue
        points = shapely.get_coordinates(patch)
        ends = [
            points[np.argmin(points[:, 0] + 0.01 * points[:, 1])],
            points[np.argmax(points[:, 0] + 0.01 * points[:, 1])],
        ]
        for end in ends:
            if all(np.hypot(end[0] - x, end[1] - y) > 4.0 * PEG_RADII_MM[0] for x, y in spots):
                spots.append((float(end[0]), float(end[1])))
    return spots[:6]


def _peg(
    x: float, y: float, z: float, *, radius_mm: float, length_mm: float, behind_mm: float
) -> manifold3d.Manifold:
    """A peg along +z from the cut at z, sunk `behind_mm` into the part that carries it, its tip narrowed."""
    tip = 0.5
    shaft = manifold3d.Manifold.cylinder(length_mm + behind_mm - tip, radius_mm, radius_mm, 24)
    cone = manifold3d.Manifold.cylinder(tip, radius_mm, radius_mm - 0.4, 24).translate(
        (0, 0, length_mm + behind_mm - tip)
    )
    return (shaft + cone).translate((x, y, z - behind_mm))


def _axis_to_z(axis: int) -> FloatArray:
    """Rotation (3, 4) that brings an axis to z."""
    order = [[1, 2, 0], [2, 0, 1], [0, 1, 2]][axis]
    return np.column_stack([np.eye(3)[order], np.zeros(3)])


def _transposed(turn: FloatArray) -> FloatArray:
    return np.column_stack([turn[:, :3].T, np.zeros(3)])
