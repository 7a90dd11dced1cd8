"""Shaded pictures of solids from a depth buffer: no graphics card, the same picture on every machine."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from firstpour.errors import BadRequest
from firstpour.kernels import shade as kernel
from firstpour.pictures.colours import PAPER, linear, rgb_of
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, Remembered, frozen_array

CREASE_DEG = 35.0
"""Faces that meet at less than this look like one smooth surface (our own choice)."""

LIGHTS = np.array([[-0.42, 0.58, 0.70, 0.50], [0.80, 0.15, 0.55, 0.16], [-0.2, -0.75, 0.6, 0.10]])
AMBIENT, GLOSS = 0.46, 0.05
OUTLINE, EDGE = 0.30, 0.62
HOLLOWS = ((2.0, 0.16), (7.0, 0.26))
"""How hollows darken: over so many coarse pixels, by so much at most."""
SAMPLES = 2
"""Samples a side of each pixel."""
SLACK_SAMPLES, DOT_STEP, SHORTEST_STROKE = 6.0, 0.5, 2.5
"""A line may lie so many samples behind the surface it runs on; its dots are so many samples apart; no stroke or gap
of a line is shorter than so many times its width (our own choice)."""
HATCH_PX, HATCH_LINE_PX, HATCH_DARK = 9, 2, 0.55
"""Distance and width of hatching in pixels of the picture, and what it leaves of the light."""


_CORNERS: Remembered[Mesh, NDArray[np.float32]] = Remembered(1)
"""Corner normals in the mesh's own frame: worked out once for all views of it."""


class Hatch(IntEnum):
    """Lines over a face, for what colour should not say alone."""

    NONE = 0
    SLANTED = 1
    CROSSED = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """A closed mesh and its colour, one for all faces (3,) or one a face (m, 3), as screen values 0–1.

    `hatch` (m,): the `Hatch` of each face, if any has one.
    """

    mesh: Mesh
    colour: FloatArray
    hatch: IntArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A line through `points_mm` (k, 3), hidden where a body stands before it."""

    points_mm: FloatArray
    colour: FloatArray
    width_px: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """A parallel view of `middle_mm`: the rows of `frame` (3, 3) are right, up and towards the viewer."""

    frame: FloatArray
    middle_mm: FloatArray
    px_per_mm: float
    size_px: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """The picture (height, width, 3) uint8, and which pixels show a body."""

    pixels: NDArray[np.uint8]
    covered: BoolArray


def view_frame(*, towards: FloatArray, up: FloatArray) -> FloatArray:
    """Rows right, up, towards the viewer (3, 3); `up` need only not lie along `towards`.

    Raises
    ------
    BadRequest
        If the two lie along one line.

    >>> view_frame(towards=np.array([0, 0, 2.0]), up=np.array([0, 1.0, 0])).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    right = np.cross(up, towards)
    if not np.linalg.norm(right) > 1e-9 * np.linalg.norm(up) * np.linalg.norm(towards):
        raise BadRequest("a view needs an up that does not lie along it", remedy="choose another up direction")
    right, back = right / np.linalg.norm(right), towards / np.linalg.norm(towards)
    return np.stack([right, np.cross(back, right), back]) + 0.0


def camera_on(meshes: Sequence[Mesh], *, frame: FloatArray, size_px: tuple[int, int], margin_px: int = 24) -> Camera:
    """A camera that fits all `meshes` into the picture, `margin_px` from its sides."""
    turned = np.concatenate([_ends(mesh.vertices_mm @ frame.T) for mesh in meshes])
    low, high = turned.min(axis=0), turned.max(axis=0)
    room = np.array(size_px) - 2.0 * margin_px
    extent = np.maximum((high - low)[:2], 1e-9)
    return Camera(
        frame=frozen_array(frame, np.float64),
        middle_mm=frozen_array(0.5 * (low + high) @ frame, np.float64),
        px_per_mm=float((room / extent).min()),
        size_px=size_px,
    )


def _ends(points: FloatArray) -> FloatArray:
    return np.stack([points.min(axis=0), points.max(axis=0)])


def seen_at_px(camera: Camera, points_mm: FloatArray) -> FloatArray:
    """Where points (k, 3) fall in the picture: (k, 2), x to the right and y down, in pixels."""
    turned = (np.atleast_2d(points_mm) - camera.middle_mm) @ camera.frame.T
    flip = np.array([1.0, -1.0])
    seen: FloatArray = turned[:, :2] * camera.px_per_mm * flip + 0.5 * np.array(camera.size_px)
    return seen


def shade(bodies: Sequence[Body], *, camera: Camera, lines: Sequence[Line] = ()) -> Picture:
    """Take the picture of `bodies` and `lines`.

    Raises
    ------
    BadRequest
        If there is nothing to show or the picture has no size.
    """
    width, height = camera.size_px
    if not bodies or min(width, height) < 1:
        raise BadRequest("a picture needs a body and a size", remedy="give at least one body and 1 × 1 pixels")
    nx, ny = width * SAMPLES, height * SAMPLES
    mesh, colours = _joined(bodies)
    pix = _pixels(camera, mesh.vertices_mm)
    depth, face = kernel.nearest_faces(pix, mesh.faces, nx, ny)
    corners = np.concatenate([_corners_of(body.mesh) for body in bodies])
    normal = kernel.pixel_normals(face, pix, mesh.faces, corners, camera.frame, nx, ny)
    paper = linear(rgb_of(PAPER))
    lights = LIGHTS.copy()
    lights[:, :3] /= np.linalg.norm(lights[:, :3], axis=1, keepdims=True)
    rgb = kernel.lit_pixels(face, normal, linear(colours), paper, lights, AMBIENT, GLOSS)
    _hatch(rgb, face, bodies, nx=nx)
    pitch_mm = 1.0 / (camera.px_per_mm * SAMPLES)
    _shade_hollows(rgb, depth, nx=nx, ny=ny, pitch_mm=pitch_mm)
    cos_edge = float(np.cos(np.radians(CREASE_DEG)))
    kernel.darken_edges(rgb, face, depth, normal, nx, ny, pitch_mm, cos_edge, OUTLINE, EDGE)
    for line in lines:
        dots = _dots(_pixels(camera, line.points_mm))
        wide = line.width_px * SAMPLES
        seen = kernel.dots_in_sight(depth, dots, SLACK_SAMPLES * pitch_mm, nx, ny)
        drawn = np.ascontiguousarray(dots[_whole_strokes(seen, least=int(SHORTEST_STROKE * wide / DOT_STEP))])
        kernel.draw_dots(rgb, drawn, linear(line.colour), 0.5 * wide, nx, ny)
    return Picture(pixels=_developed(rgb, width, height), covered=_coverage(face, width, height))


def _corners_of(mesh: Mesh) -> NDArray[np.float32]:
    """Smooth normals at the corners of a mesh, worked out once for all its pictures."""
    return _CORNERS.of(mesh, None, lambda: _smooth_corners(mesh))


def _hatch(rgb: NDArray[np.float32], face: NDArray[np.int32], bodies: Sequence[Body], *, nx: int) -> None:
    """Darken, in place, the lines of the hatching of the faces that have one."""
    if all(body.hatch is None for body in bodies):
        return
    none = [np.zeros(len(body.mesh.faces), np.int64) if body.hatch is None else body.hatch for body in bodies]
    kind = np.append(np.concatenate(none), int(Hatch.NONE))[face]  # the last is what shows nothing
    seen = np.flatnonzero(kind)
    row, column = np.divmod(seen, nx)
    step, line = HATCH_PX * SAMPLES, HATCH_LINE_PX * SAMPLES
    lined = (row + column) % step < line
    lined |= (kind[seen] == Hatch.CROSSED) & ((row - column) % step < line)
    rgb[seen[lined]] *= np.float32(HATCH_DARK)


def _joined(bodies: Sequence[Body]) -> tuple[Mesh, FloatArray]:
    """One mesh of all bodies, and the colour of each of its faces."""
    starts = np.cumsum([0] + [len(body.mesh.vertices_mm) for body in bodies])
    mesh = Mesh(
        vertices_mm=np.concatenate([body.mesh.vertices_mm for body in bodies]),
        faces=np.concatenate([body.mesh.faces + start for body, start in zip(bodies, starts, strict=False)]),
    )
    colours = [np.broadcast_to(body.colour, (len(body.mesh.faces), 3)) for body in bodies]
    return mesh, np.concatenate(colours)


def _pixels(camera: Camera, points_mm: FloatArray) -> FloatArray:
    """Points in the kernel's frame: x right and y up in samples, z towards the viewer in mm."""
    turned: FloatArray = (points_mm - camera.middle_mm) @ camera.frame.T
    half = 0.5 * SAMPLES * np.array(camera.size_px)
    turned[:, :2] = turned[:, :2] * (camera.px_per_mm * SAMPLES) + half - 0.5
    return turned


def _smooth_corners(mesh: Mesh) -> NDArray[np.float32]:
    cos_crease = float(np.cos(np.radians(CREASE_DEG)))
    smooth: NDArray[np.float32] = kernel.corner_normals(mesh.vertices_mm, mesh.faces, cos_crease)
    return smooth


def _shade_hollows(
    rgb: NDArray[np.float32], depth: NDArray[np.float32], *, nx: int, ny: int, pitch_mm: float
) -> None:
    """Soft shade on what lies behind the mean depth around it: our own stand-in for the light that hollows lose."""
    step = 4 * SAMPLES
    small = depth.reshape(ny, nx)[::step, ::step]
    seen = np.isfinite(small)
    shallow = np.where(seen, small, 0.0).astype(np.float32)
    for sigma, strength in HOLLOWS:
        weight = ndimage.gaussian_filter(seen.astype(np.float32), sigma, truncate=2.5)
        around = ndimage.gaussian_filter(shallow, sigma, truncate=2.5) / np.maximum(weight, 1e-6)
        kernel.shade_hollows(rgb, depth, around, step, sigma * step * pitch_mm, strength, nx, ny)


def _dots(points: FloatArray) -> FloatArray:
    """The line as dots no more than `DOT_STEP` samples apart."""
    if len(points) < 2:
        return np.ascontiguousarray(points)
    steps = np.maximum(1, np.ceil(np.linalg.norm(np.diff(points[:, :2], axis=0), axis=1) / DOT_STEP)).astype(np.int64)
    along = np.concatenate([np.arange(n) / n + k for k, n in enumerate(steps)] + [[float(len(steps))]])
    where = np.arange(len(points), dtype=np.float64)
    return np.ascontiguousarray(np.stack([np.interp(along, where, points[:, k]) for k in range(3)], axis=1))


def _whole_strokes(seen: BoolArray, *, least: int) -> BoolArray:
    """Which dots to draw: gaps of fewer than `least` dots are bridged, and strokes shorter than that left out.

    >>> _whole_strokes(np.array([1, 1, 1, 0, 1, 1, 0, 0, 0, 0, 1], bool), least=3).astype(int).tolist()
    [1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0]
    """
    bridged = _without_short_runs(seen, of=False, least=least)
    return _without_short_runs(bridged, of=True, least=least)


def _without_short_runs(seen: BoolArray, *, of: bool, least: int) -> BoolArray:
    """The runs of the value `of` that are shorter than `least` turned into the other, save where all are alike."""
    ends = np.flatnonzero(np.diff(seen)) + 1
    starts, stops = np.append(0, ends), np.append(ends, len(seen))
    if len(starts) < 2:
        return seen
    short = (stops - starts < least) & (seen[starts] == of)
    kept: BoolArray = seen ^ np.repeat(short, stops - starts)
    return kept


def _developed(rgb: NDArray[np.float32], width: int, height: int) -> NDArray[np.uint8]:
    """Average the samples as light, then encode for the screen (IEC 61966-2-1), top row first."""
    samples = rgb.reshape(height, SAMPLES, width, SAMPLES, 3)
    light = sum((samples[:, v, :, u] for v in range(SAMPLES) for u in range(SAMPLES)), np.float32(0.5 / 4095.0))
    levels = np.clip(light * (4095.0 / SAMPLES**2), 0, 4095).astype(np.uint16)
    pixels: NDArray[np.uint8] = _SCREEN[levels][::-1].copy()
    return pixels


def _screen_values() -> NDArray[np.uint8]:
    light = np.arange(4096) / 4095.0
    encoded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(encoded * 255.0).astype(np.uint8)


_SCREEN = _screen_values()


def _coverage(face: NDArray[np.int32], width: int, height: int) -> BoolArray:
    samples = face.reshape(height, SAMPLES, width, SAMPLES) >= 0
    covered = np.zeros((height, width), bool)
    for v in range(SAMPLES):
        for u in range(SAMPLES):
            covered |= samples[:, v, :, u]
    return covered[::-1]
