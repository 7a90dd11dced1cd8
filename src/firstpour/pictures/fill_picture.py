"""Pictures of a filling: a cut through the cavity, the view from above, and the level rising."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from firstpour.fill.values import Fill
from firstpour.values import FloatArray

Rgb = NDArray[np.uint8]

PAPER = (252, 252, 250)
MOULD = (226, 230, 233)
OUTLINE = (70, 78, 84)
TEXT = (40, 46, 50)
MATERIAL = (86, 180, 233)  # Okabe & Ito's sky blue; air in their vermilion, openings in their bluish green
EMPTY = (247, 251, 253)
AIR = (213, 94, 0)
GATE = (0, 114, 178)
VENT = (0, 158, 115)
SAMPLES = 2
FRAMES = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """A plane through the cavity, `across` and up: `state` (rows, columns) 0 mould, 1 cavity, 2 trapped; rows from below.

    The middle of pixel (r, c) lies at `left_mm` + c · `step_mm` across and `floor_mm` + r · `step_mm` up.
    """

    state: NDArray[np.uint8]
    across: FloatArray
    left_mm: float
    floor_mm: float
    step_mm: float


def draw_fill(fill: Fill, *, width_px: int = 1200, title: str = "") -> Image.Image:
    """The filling at its end: the cut through gate and largest pocket beside the view from above, with a key."""
    return _sheet(fill, cut_through(fill, rows=420), level_mm=np.inf, width_px=width_px, title=title)


def save_fill(fill: Fill, folder: Path, *, name: str) -> tuple[Path, Path]:
    """Write NAME-fill.png and the animated NAME-fill.gif of the rising level into `folder`; gives both paths."""
    still, moving = folder / f"{name}-fill.png", folder / f"{name}-fill.gif"
    draw_fill(fill, title=name).save(still, optimize=True)
    first, *rest = rising(fill, title=name)
    first.save(moving, save_all=True, append_images=rest, duration=[90] * (len(rest)) + [1800], loop=0)
    return still, moving


def rising(fill: Fill, *, width_px: int = 800, title: str = "") -> list[Image.Image]:
    """Frames of the level rising from the floor to the top, in one palette."""
    z = fill.dexels.z_mm
    low, high = float(z.min()), float(z.max())
    cut = cut_through(fill, rows=280)
    levels = [*np.linspace(low, high, FRAMES - 1), np.inf]
    frames = [_sheet(fill, cut, level_mm=level, width_px=width_px, title=title) for level in levels]
    palette = frames[-1].quantize(128)
    return [frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in frames]


def cut_through(fill: Fill, *, rows: int) -> Cut:
    """Cut the cavity by the plane through the gate along `up`, turned to the largest pocket, or to its longest side."""
    d = fill.dexels
    gate_uv = (d.frame @ fill.gate_mm)[:2]
    size = np.array([d.nx, d.ny]) * d.pitch_mm
    across = np.array([1.0, 0.0]) if size[0] >= size[1] else np.array([0.0, 1.0])
    if fill.pockets:
        apart = (d.frame @ fill.pockets[0].top_mm)[:2] - gate_uv
        if np.linalg.norm(apart) > 2 * d.pitch_mm:
            across = apart / np.linalg.norm(apart)
    low, high = float(d.z_mm.min()), float(d.z_mm.max())
    reach = float(np.linalg.norm(size)) / 2
    step = max((high - low) * 1.25, 2.2 * reach * 0.3) / rows
    middle = d.origin_mm + (np.array([d.nx, d.ny]) - 1) / 2 * d.pitch_mm
    left = float((middle - gate_uv) @ across) - 1.1 * reach
    columns = int(np.ceil(2.2 * reach / step))
    floor = (low + high) / 2 - step * rows / 2
    state = np.zeros((rows, columns), np.uint8)
    for c in range(columns):
        i, j = np.rint((gate_uv + (left + c * step) * across - d.origin_mm) / d.pitch_mm).astype(int)
        if 0 <= i < d.nx and 0 <= j < d.ny:
            _fill_column(fill, int(j * d.nx + i), state[:, c], floor, step)
    used = np.flatnonzero(state.any(axis=0))
    margin = int(0.12 * rows)
    first, last = max(0, int(used[0]) - margin), min(columns, int(used[-1]) + margin)
    return Cut(
        state=state[:, first:last],
        across=across @ d.frame[:2],
        left_mm=left + first * step,
        floor_mm=floor,
        step_mm=step,
    )


def _fill_column(fill: Fill, line: int, column: NDArray[np.uint8], floor: float, step: float) -> None:
    d = fill.dexels
    for k in range(int(d.offsets[line]), int(d.offsets[line + 1]), 2):
        sealed = min(max(fill.trapped_from_mm[k // 2], d.z_mm[k]), d.z_mm[k + 1])
        a, b, c = (max(0, int(np.ceil((z - floor) / step))) for z in (d.z_mm[k], sealed, d.z_mm[k + 1]))
        column[a:b] = 1
        column[b:c] = 2


def paint_cut(cut: Cut, *, level_mm: float) -> Rgb:
    """The cut as an image (rows, columns, 3), top row first, with material up to `level_mm`."""
    below = (cut.floor_mm + np.arange(len(cut.state)) * cut.step_mm <= level_mm)[:, None]
    image = np.empty((*cut.state.shape, 3), np.uint8)
    image[:] = MOULD
    image[(cut.state == 1) & below] = MATERIAL
    image[(cut.state == 1) & ~below] = EMPTY
    image[(cut.state == 2)] = AIR if np.isinf(level_mm) else EMPTY
    image[(cut.state == 2) & below] = AIR
    inside = cut.state > 0
    edge = np.zeros_like(inside)
    edge[1:] |= inside[1:] != inside[:-1]
    edge[:, 1:] |= inside[:, 1:] != inside[:, :-1]
    image[edge] = OUTLINE
    return image[::-1]


def paint_above(fill: Fill, *, level_mm: float) -> Rgb:
    """The roof seen from above, shaded: material where it is under, trapped air where it stays; (ny, nx, 3)."""
    d = fill.dexels
    hit = np.diff(d.offsets) > 0
    last = d.offsets[1:][hit] - 1
    roof = np.full(d.nx * d.ny, np.nan)
    roof[hit] = d.z_mm[last]
    air = np.zeros(d.nx * d.ny, bool)
    air[hit] = d.z_mm[last] > fill.trapped_from_mm[last // 2]
    wet = roof <= level_mm
    colour = np.empty((d.nx * d.ny, 3))
    colour[:] = EMPTY
    colour[wet] = MATERIAL
    colour[air & wet] = AIR
    light = _light(roof.reshape(d.ny, d.nx), d.pitch_mm).reshape(-1, 1)
    image = np.where(hit[:, None], colour * light, MOULD).clip(0, 255).astype(np.uint8)
    return image.reshape(d.ny, d.nx, 3)[::-1]


def _light(roof: FloatArray, pitch_mm: float) -> FloatArray:
    dv, du = np.gradient(roof, pitch_mm)
    normal = np.stack([-du, -dv, np.ones_like(roof)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    lit = normal @ (np.array([-0.4, 0.5, 0.77]))
    shade: FloatArray = np.nan_to_num(0.55 + 0.5 * np.clip(lit, 0, 1), nan=0.75)
    return shade


def _sheet(fill: Fill, cut: Cut, *, level_mm: float, width_px: int, title: str) -> Image.Image:
    """Both views side by side on one sheet, drawn twice as large and brought down for smooth edges."""
    width = width_px * SAMPLES
    gap, head, foot = width // 48, width // 16, width // 14
    left_w, right_w = int(width * 0.56), int(width * 0.44)
    high = int(width * 0.42)
    sheet = Image.new("RGB", (width, head + high + foot), PAPER)
    boxes = (
        (gap, head, left_w - gap // 2, head + high),
        (left_w + gap // 2, head, left_w + right_w - gap, head + high),
    )
    draw = ImageDraw.Draw(sheet)
    d = fill.dexels
    cut_spot = _place(sheet, paint_cut(cut, level_mm=level_mm), boxes[0])
    above_spot = _place(sheet, paint_above(fill, level_mm=level_mm), boxes[1])
    openings = [(fill.gate_mm, GATE), *((vent, VENT) for vent in fill.vents_mm)]
    gate_uv = (d.frame @ fill.gate_mm)[:2]
    for at, colour in reversed(openings):
        u, v, level = d.frame @ at
        x, y = (np.array([u, v]) - d.origin_mm) / d.pitch_mm
        _mark(draw, above_spot, x + 0.5, d.ny - y - 0.5, colour, width)
        flat = cut.across @ d.frame[:2].T
        side = (np.array([u, v]) - gate_uv) @ np.array([-flat[1], flat[0]])
        if abs(side) <= 2 * d.pitch_mm:
            column = ((np.array([u, v]) - gate_uv) @ flat - cut.left_mm) / cut.step_mm
            _mark(draw, cut_spot, column, len(cut.state) - (level - cut.floor_mm) / cut.step_mm, colour, width)
    font, small = (ImageFont.load_default(size=width // k) for k in (42, 56))
    draw.text((gap, head * 0.28), title or "filling", fill=TEXT, font=font)
    draw.text((left_w * 0.56, head * 0.42), "cut along the gate, up is up", fill=TEXT, font=small)
    draw.text((left_w + gap // 2, head * 0.42), "from above", fill=TEXT, font=small)
    _key(draw, fill, level_mm, gap, head + high + foot * 0.3, width, small)
    return sheet.resize((width_px, sheet.height // SAMPLES), Image.Resampling.LANCZOS)


def _place(sheet: Image.Image, image: Rgb, box: tuple[int, int, int, int]) -> tuple[float, float, float]:
    """Paste an image into the box, as large as it goes; gives left, top and the scale."""
    wide, high = box[2] - box[0], box[3] - box[1]
    scale = min(wide / image.shape[1], high / image.shape[0])
    size = (max(1, int(image.shape[1] * scale)), max(1, int(image.shape[0] * scale)))
    left, top = box[0] + (wide - size[0]) // 2, box[1] + (high - size[1]) // 2
    ImageDraw.Draw(sheet).rectangle(box, fill=MOULD)
    sheet.paste(Image.fromarray(image).resize(size, Image.Resampling.BICUBIC), (left, top))
    return float(left), float(top), scale


def _mark(
    draw: ImageDraw.ImageDraw,
    spot: tuple[float, float, float],
    x: float,
    y: float,
    colour: tuple[int, int, int],
    width: int,
) -> None:
    left, top, scale = spot
    r = width / 150
    at = (left + x * scale, top + y * scale)
    draw.ellipse((at[0] - r, at[1] - r, at[0] + r, at[1] + r), fill=colour, outline=PAPER, width=max(2, width // 800))


def _key(
    draw: ImageDraw.ImageDraw,
    fill: Fill,
    level_mm: float,
    x: float,
    y: float,
    width: int,
    font: ImageFont.FreeTypeFont,
) -> None:
    held = fill.trapped_mm3 + fill.unfilled_mm3
    words = [(MATERIAL, "material"), (AIR, f"air that stays, {held:.1f} mm³"), (GATE, "gate")]
    if fill.vents_mm:
        words.append((VENT, "vent" if len(fill.vents_mm) == 1 else f"{len(fill.vents_mm)} vents"))
    side = width / 60
    for colour, word in words:
        draw.rectangle((x, y, x + side, y + side), fill=colour)
        draw.text((x + 1.4 * side, y - side * 0.1), word, fill=TEXT, font=font)
        x += 2.6 * side + draw.textlength(word, font=font)
    if np.isfinite(level_mm):
        word = f"level {level_mm - float(fill.dexels.z_mm.min()):.1f} mm"
        draw.text((width - 2 * side - draw.textlength(word, font=font), y - side * 0.1), word, fill=TEXT, font=font)
