"""The mould: its pieces moved apart along the draw, and the printed ones as they lie on the printer."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from firstpour.errors import BadRequest
from firstpour.mould.bed import on_the_bed
from firstpour.mould.values import Mould, Piece, Role
from firstpour.parting.values import MouldKind
from firstpour.pictures import sheet as on
from firstpour.pictures.colours import ASH, CHALK, CLAY, FAINT_INK, LEAD, SLATE, STONE, rgb_of
from firstpour.pictures.part_picture import view_along
from firstpour.pictures.shade import Body, Camera, camera_on, seen_at_px, shade
from firstpour.surface.solids import from_solid, to_solid
from firstpour.values import FloatArray, Mesh, frame_along, mesh_bounds_mm, mesh_volume_mm3, moved, turned

ROLE_COLOUR = {
    Role.SILICONE: SLATE,
    Role.TRAY: CLAY,
    Role.BEDDING: STONE,
    Role.BOX: ASH,
    Role.MASTER: LEAD,
}
COPY_COLOUR = CHALK
HEAD_PX, FOOT_PX, LABEL_PX, LABEL_STEP_PX = 86, 60, 250, 52
WIDEST_PX, TALLEST_PX = 640, 1000
CELL_PX, CELL_WORDS_PX, LEAST_WIDE_PX = (460, 380), 66, 640
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """A named solid where the picture shows it."""

    name: str
    words: str
    mesh: Mesh
    colour: FloatArray


def mould_picture(mould: Mould, *, copy: Mesh, title: str) -> Image.Image:
    """The silicone and the copy moved apart along the draw, and beside it each half with its cavity up.

    A block in one pour has no halves: it is shown cut through. `copy` is the part at the mould's scale.
    """
    halves = [piece for piece in mould.pieces if piece.role is Role.SILICONE] or list(mould.pieces)
    _refuse_none(halves)
    direction = mould.draw.direction / np.linalg.norm(mould.draw.direction)
    stack = moved_apart([_as_placed(piece) for piece in halves] + [_as_copy(copy)], direction=direction)
    frame = view_along(direction, elevation_deg=30.0)
    steep = view_along(direction, elevation_deg=44.0)
    cut = mould.kind is MouldKind.BLOCK
    lying = [
        _cut_through(piece, viewer=steep[2], direction=direction)
        if cut
        else _cavity_up(piece, copy=copy, direction=direction)
        for piece in halves
    ]
    opened = _stacked([_centred(one, steep[0]) for one in lying], steep[1], gap_ratio=0.08)
    scale = min(_fitting(placed, view).px_per_mm for placed, view in ((stack, frame), (opened, steep)))
    left, right = _trimmed(stack, frame, scale), _trimmed(opened, steep, scale)
    height = HEAD_PX + max(left.size_px[1], right.size_px[1]) + FOOT_PX
    sheet = on.blank_sheet((left.size_px[0] + right.size_px[0] + 2 * LABEL_PX, height))
    on.write_text(sheet, title, at_px=(28, 20), size_px=on.TITLE_PX)
    _panel(sheet, stack, left, left_px=0, words="moved apart along the draw")
    words = "cut through the middle" if cut else "opened, cavity up"
    _panel(sheet, opened, right, left_px=left.size_px[0] + LABEL_PX, words=words)
    on.write_legend(sheet, _legend(halves, with_copy=True), left_px=28, top_px=sheet.height - 40)
    on.draw_scale_bar(sheet, px_per_mm=scale, right_px=sheet.width - 36, bottom_px=sheet.height - 22)
    return sheet


def pieces_picture(pieces: Sequence[Piece], *, title: str) -> Image.Image:
    """The pieces as they stand on the printer, all at one scale, each with its name and size below it."""
    _refuse_none(pieces)
    placed = [_as_printed(piece) for piece in pieces]
    frame = view_along(UP, elevation_deg=46.0)
    cameras = [camera_on([one.mesh], frame=frame, size_px=CELL_PX, margin_px=22) for one in placed]
    scale = min(camera.px_per_mm for camera in cameras)
    columns = min(len(placed), 3)
    deep = CELL_PX[1] + CELL_WORDS_PX
    wide = max(columns * CELL_PX[0], LEAST_WIDE_PX)
    sheet = on.blank_sheet((wide, 64 + -(-len(placed) // columns) * deep + FOOT_PX))
    on.write_text(sheet, title, at_px=(28, 20), size_px=on.TITLE_PX)
    for k, (one, camera) in enumerate(zip(placed, cameras, strict=True)):
        x, y = (k % columns) * CELL_PX[0], 64 + (k // columns) * deep
        picture = shade([Body(mesh=one.mesh, colour=one.colour)], camera=replace(camera, px_per_mm=scale))
        on.paste(sheet, picture, corner_px=(x, y))
        middle, foot = x + CELL_PX[0] / 2, y + CELL_PX[1] + 6
        on.write_text(sheet, one.name, at_px=(middle, foot), anchor="mt")
        at_px = (middle, foot + 25)
        on.write_text(sheet, one.words, at_px=at_px, size_px=on.SMALL_PX, colour=FAINT_INK, anchor="mt")
    on.write_legend(sheet, _legend(pieces, with_copy=False), left_px=28, top_px=sheet.height - 40)
    on.draw_scale_bar(sheet, px_per_mm=scale, right_px=sheet.width - 36, bottom_px=sheet.height - 20)
    return sheet


def _legend(pieces: Sequence[Piece], *, with_copy: bool) -> list[on.LegendEntry]:
    """What each colour stands for."""
    roles = {piece.role for piece in pieces}
    entries = [
        on.LegendEntry(colour=colour, words=role.value) for role, colour in ROLE_COLOUR.items() if role in roles
    ]
    return entries + ([on.LegendEntry(colour=COPY_COLOUR, words="copy")] if with_copy else [])


def _refuse_none(pieces: Sequence[Piece]) -> None:
    if not pieces:
        raise BadRequest("there are no pieces to show", remedy="make the mould first")


def moved_apart(placed: Sequence[Placed], *, direction: FloatArray) -> list[Placed]:
    """The solids in order along the unit `direction`, lowest first, with a gap between each two and the next."""
    middle = [float(_span(one.mesh, direction).mean()) for one in placed]
    return _stacked([placed[k] for k in np.argsort(middle, kind="stable")], direction)


def _stacked(placed: Sequence[Placed], direction: FloatArray, *, gap_ratio: float = 0.16) -> list[Placed]:
    gap_mm = gap_ratio * max(float(np.ptp(mesh_bounds_mm(one.mesh), axis=0).max()) for one in placed)
    floor_mm, stack = 0.0, []
    for one in placed:
        low, high = _span(one.mesh, direction)
        stack.append(replace(one, mesh=moved(one.mesh, offset_mm=(floor_mm - low) * direction)))
        floor_mm += high - low + gap_mm
    return stack


def _centred(one: Placed, direction: FloatArray) -> Placed:
    middle_mm = float(_span(one.mesh, direction).mean())
    return replace(one, mesh=moved(one.mesh, offset_mm=-middle_mm * direction))


def _span(mesh: Mesh, direction: FloatArray) -> FloatArray:
    along = mesh.vertices_mm @ direction
    return np.array([along.min(), along.max()])


def _as_placed(piece: Piece) -> Placed:
    return Placed(name=piece.name, words=_what(piece), mesh=piece.mesh, colour=rgb_of(ROLE_COLOUR[piece.role]))


def _as_printed(piece: Piece) -> Placed:
    mesh = on_the_bed(piece)
    size = " x ".join(f"{length:.0f}" for length in mesh.vertices_mm.max(axis=0))
    return Placed(name=piece.name, words=f"{size} mm", mesh=mesh, colour=rgb_of(ROLE_COLOUR[piece.role]))


def _as_copy(copy: Mesh) -> Placed:
    return Placed(
        name="copy", words=f"cast, {mesh_volume_mm3(copy) / 1000:.0f} ml", mesh=copy, colour=rgb_of(COPY_COLOUR)
    )


def _cavity_up(piece: Piece, *, copy: Mesh, direction: FloatArray) -> Placed:
    """The half as it lies on the bench once opened: one that sits above the copy is turned over."""
    above = _span(piece.mesh, direction).mean() > _span(copy, direction).mean()
    u = frame_along(direction)[0]
    over = 2.0 * np.outer(u, u) - np.eye(3)
    mesh = turned(piece.mesh, rotation=over) if above else piece.mesh
    words = "turned over" if above else "as it lies"
    return Placed(name=piece.name, words=words, mesh=mesh, colour=rgb_of(ROLE_COLOUR[piece.role]))


def _cut_through(piece: Piece, *, viewer: FloatArray, direction: FloatArray) -> Placed:
    """The half of the piece that lies away from the viewer, cut through its middle along the unit `direction`."""
    level = viewer - direction * (viewer @ direction)
    middle_mm = mesh_bounds_mm(piece.mesh).mean(axis=0)
    solid = to_solid(piece.mesh).trim_by_plane(
        tuple(-level), -float(middle_mm @ level) / float(np.linalg.norm(level))
    )
    return Placed(name=piece.name, words="half of it", mesh=from_solid(solid), colour=rgb_of(ROLE_COLOUR[piece.role]))


def _fitting(placed: Sequence[Placed], frame: FloatArray) -> Camera:
    return camera_on([one.mesh for one in placed], frame=frame, size_px=(WIDEST_PX, TALLEST_PX), margin_px=30)


def _trimmed(placed: Sequence[Placed], frame: FloatArray, px_per_mm: float) -> Camera:
    """A camera at the given scale whose picture is as large as its contents need."""
    camera = replace(_fitting(placed, frame), px_per_mm=px_per_mm)
    seen = np.concatenate([seen_at_px(camera, one.mesh.vertices_mm) for one in placed])
    width, height = (int(np.ceil(extent)) + 60 for extent in np.ptp(seen, axis=0))
    return replace(camera, size_px=(width, height))


def _panel(sheet: Image.Image, placed: Sequence[Placed], camera: Camera, *, left_px: int, words: str) -> None:
    """One group of solids with its heading, and each name at its right, never two on top of each other."""
    bodies = [Body(mesh=one.mesh, colour=one.colour) for one in placed]
    on.paste(sheet, shade(bodies, camera=camera), corner_px=(left_px, HEAD_PX))
    on.write_text(sheet, words, at_px=(left_px + 28, 60), colour=FAINT_INK)
    x = left_px + camera.size_px[0] + 4
    y_free = 0.0
    for one in reversed(placed):
        seen = seen_at_px(camera, one.mesh.vertices_mm)
        tip = seen[np.argmax(seen[:, 0])] + (left_px, HEAD_PX)
        y = max(float(tip[1]), y_free)
        on.draw_leader(sheet, start_px=(float(tip[0]) + 6, float(tip[1])), end_px=(x - 6, y))
        on.write_text(sheet, one.name, at_px=(x, y - 2), anchor="lb")
        on.write_text(sheet, one.words, at_px=(x, y + 4), size_px=on.SMALL_PX, colour=FAINT_INK)
        y_free = y + LABEL_STEP_PX


def _what(piece: Piece) -> str:
    """How the piece is made and how much goes into it: silicone is poured, all else printed.

    >>> _what(Piece(name="a", role=Role.TRAY, mesh=Mesh(vertices_mm=[], faces=[]), volume_mm3=12_400.0))
    'printed, 12 ml'
    """
    way = "poured" if piece.role is Role.SILICONE else "printed"
    return f"{way}, {piece.volume_mm3 / 1000.0:.0f} ml"
