"""The exact solids of inserts: their outsides, their bores, and what fills a hole that is drawn for them."""

from functools import lru_cache

import manifold3d
import numpy as np

from firstpour.errors import BadRequest, WorkshopError
from firstpour.inserts.values import Insert, InsertShape
from firstpour.part.read import read_part
from firstpour.surface.solids import to_solid
from firstpour.values import FloatArray, frame_along

FACETS = 96
FILLER_MM = 0.1
"""A drawn hole and the insert differ by their facets; between them would stand a film of silicone."""
NUT_SIDES = 6
FLATS_PER_CIRCLE = 2.0 / np.sqrt(3.0)
"""Diameter of the circle around a hexagon ÷ its width across flats."""


def axis_of(one: Insert) -> FloatArray:
    """The unit vector (3,) along the insert."""
    axis: FloatArray = np.array(one.along) / np.linalg.norm(one.along)
    return axis


def outside(one: Insert, *, wider_mm: float = 0.0, shrunk: float = 1.0) -> manifold3d.Manifold:
    """The insert with its bore shut, `wider_mm` wider and then `shrunk` about its middle: a mesh all round, any other
    only across, for lengths are short, and cut at the bench.
    """
    if one.shape is InsertShape.MESH:
        return _mesh(one, wider_mm=wider_mm, shrunk=shrunk)
    if one.shape is InsertShape.NUT:
        across_mm = shrunk * (one.across_flats_mm + wider_mm) * FLATS_PER_CIRCLE
        return _prism(one, across_mm, length_mm=one.length_mm, sides=NUT_SIDES)
    body = cylinder(one, shrunk * (one.diameter_mm + wider_mm))
    if not one.flange_mm:
        return body
    shift_mm = 0.5 * (one.length_mm - one.flange_length_mm)
    flange_mm = shrunk * (one.flange_mm + wider_mm)
    return body + cylinder(one, flange_mm, shift_mm=shift_mm, length_mm=one.flange_length_mm)


def cylinder(
    one: Insert, diameter_mm: float, *, shift_mm: float = 0.0, length_mm: float | None = None
) -> manifold3d.Manifold:
    """A cylinder about the insert's axis, its middle moved along it."""
    length_mm = one.length_mm if length_mm is None else length_mm
    return _prism(one, diameter_mm, length_mm=length_mm, shift_mm=shift_mm)


def end_slice(one: Insert, end: int, *, deep_mm: float, across_mm: float = 0.0) -> manifold3d.Manifold:
    """A slice beyond the insert's end (+1: the one that `along` points to), `deep_mm` thick, as wide as the insert
    or round and `across_mm` wide.
    """
    shift_mm = end * 0.5 * (one.length_mm + deep_mm)
    if across_mm:
        return cylinder(one, across_mm, shift_mm=shift_mm, length_mm=deep_mm)
    if one.shape is InsertShape.NUT:
        across_mm = one.across_flats_mm * FLATS_PER_CIRCLE
        return _prism(one, across_mm, length_mm=deep_mm, sides=NUT_SIDES, shift_mm=shift_mm)
    wide_mm = one.flange_mm if one.flange_mm and end > 0 else one.diameter_mm
    return cylinder(one, wide_mm, shift_mm=shift_mm, length_mm=deep_mm)


def peg(one: Insert, end: int, turn_rad: float, *, across_mm: float, low_mm: float, high_mm: float) -> FloatArray:
    """Both ends (2, 3) of a peg's axis at the insert's rim: `low_mm` within its end face, `high_mm` beyond it."""
    u, v, axis = frame_along(axis_of(one))
    foot = np.array(one.at_mm) + 0.5 * across_mm * (np.cos(turn_rad) * u + np.sin(turn_rad) * v)
    half_mm = 0.5 * one.length_mm
    return np.array([foot + end * (half_mm - low_mm) * axis, foot + end * (half_mm + high_mm) * axis])


def rod_between(ends: FloatArray, diameter_mm: float) -> manifold3d.Manifold:
    """A round rod between two points (2, 3)."""
    axis = ends[1] - ends[0]
    length_mm, radius_mm = float(np.linalg.norm(axis)), 0.5 * diameter_mm
    upright = manifold3d.Manifold.cylinder(length_mm, radius_mm, radius_mm, FACETS, True)
    return upright.transform(np.column_stack([frame_along(axis).T, ends.mean(axis=0)]))


def _prism(
    one: Insert, circle_mm: float, *, length_mm: float, sides: int = FACETS, shift_mm: float = 0.0
) -> manifold3d.Manifold:
    """A prism about the insert's axis within a circle of that diameter."""
    upright = manifold3d.Manifold.cylinder(length_mm, 0.5 * circle_mm, 0.5 * circle_mm, sides, True)
    axis = axis_of(one)
    return upright.transform(np.column_stack([frame_along(axis).T, np.array(one.at_mm) + shift_mm * axis]))


def _mesh(one: Insert, *, wider_mm: float, shrunk: float) -> manifold3d.Manifold:
    """The mesh where it was placed, scaled about the middle of its box so that it is wider by that at its widest."""
    solid = _read(one)
    low, high = np.array(solid.bounding_box()).reshape(2, 3)
    factor = shrunk * (1.0 + wider_mm / float((high - low).max()))
    middle = (low + high) / 2.0
    return solid.translate(-middle).scale([factor] * 3).translate(middle)


def _read(one: Insert) -> manifold3d.Manifold:
    """The closed solid of the insert's file, where it was placed.

    Raises
    ------
    BadRequest
        If it cannot be read or is not closed.
    """
    assert one.file is not None
    try:
        stat = one.file.stat()
    except OSError as error:
        raise BadRequest(
            f"{one.words} cannot be read: {error.strerror}",
            remedy="mend its file key: it is relative to the job file",
        ) from error
    solid = _in_file(one, stat.st_mtime_ns, stat.st_size)
    return solid.transform(np.column_stack([frame_along(axis_of(one)).T, np.array(one.at_mm)]))


@lru_cache(maxsize=8)
def _in_file(one: Insert, _changed_ns: int, _bytes: int) -> manifold3d.Manifold:
    """As in its file, read once as long as that stays the same."""
    assert one.file is not None
    try:
        return to_solid(read_part(one.file, unit=one.unit).mesh)
    except WorkshopError as error:
        raise BadRequest(f"{one.words}: {error.problem}", remedy=error.remedy) from error
