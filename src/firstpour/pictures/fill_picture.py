"""Pictures of a filling: the cavity seen through from the side and from above, and the level rising."""

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from firstpour.files.whole import OUR_MARK, Over, may_write, write_whole
from firstpour.fill.values import Fill
from firstpour.pictures.sheet import save_png
from firstpour.values import FloatArray

Rgb = NDArray[np.uint8]
Font = ImageFont.FreeTypeFont | ImageFont.ImageFont
Spot = tuple[float, float, float]
"""Left, top and scale of an image on the sheet, px."""

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
FRAMES = 20
MARGIN = 6  # pixels round a view


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Side:
    """The cavity seen through from the side: how much of it lies behind each pixel, material and trapped air (mm).

    `material_mm`, `air_mm` (rows from below, columns): the middle of pixel (r, c) lies `left_mm` + c · `step_mm`
    along `across` (2,) of the dexels' u, v, and `floor_mm` + r · `step_mm` up.
    """

    material_mm: FloatArray
    air_mm: FloatArray
    across: FloatArray
    left_mm: float
    floor_mm: float
    step_mm: float


def draw_fill(fill: Fill, *, width_px: int = 1200, title: str = "") -> Image.Image:
    """The filling at its end: seen through from the side beside the view from above, with a key."""
    return _sheet(fill, look_through(fill), level_mm=np.inf, width_px=width_px, title=title)


def save_fill(fill: Fill, folder: Path, *, name: str, title: str = "") -> tuple[Path, Path]:
    """Write NAME-fill.png and the animated NAME-fill.gif of the rising level into `folder`; gives both paths."""
    still, moving = folder / f"{name}-fill.png", folder / f"{name}-fill.gif"
    for path in (still, moving):
        may_write(path, over=Over.OURS)
    save_png(draw_fill(fill, title=title or name), still)
    first, *rest = rising(fill, title=title or name)
    content = io.BytesIO()
    first.save(
        content,
        format="GIF",
        save_all=True,
        append_images=rest,
        duration=[90] * (len(rest)) + [1800],
        loop=0,
        comment=OUR_MARK,
    )
    write_whole(moving, content.getvalue(), over=Over.OURS)
    return still, moving


def rising(fill: Fill, *, width_px: int = 640, title: str = "") -> list[Image.Image]:
    """Frames of the level rising from the floor to the top, in one palette."""
    z = fill.dexels.z_mm
    side = look_through(fill)
    levels = [*np.linspace(float(z.min()), float(z.max()), FRAMES - 1), np.inf]
    frames = [_sheet(fill, side, level_mm=level, width_px=width_px, title=title) for level in levels]
    both = Image.new("RGB", (width_px, 2 * frames[0].height))
    both.paste(frames[len(frames) // 2], (0, 0))
    both.paste(frames[-1], (0, frames[0].height))
    palette = both.quantize(192)
    return [frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in frames]


def look_through(fill: Fill) -> Side:
    """Look along the level: across lies from the gate to the largest pocket or vent, else along the longer side."""
    d = fill.dexels
    counts = np.diff(d.offsets) // 2
    line = np.repeat(np.arange(d.nx * d.ny), counts)
    uv = d.origin_mm + np.stack([line % d.nx, line // d.nx], axis=1) * d.pitch_mm
    across = _across(fill)
    place = uv @ across
    step = d.pitch_mm
    left, floor = float(place.min()) - MARGIN * step, float(d.z_mm.min()) - MARGIN * step
    shape = (
        int((float(d.z_mm.max()) - floor) / step) + MARGIN + 2,
        int((float(place.max()) - left) / step) + MARGIN + 2,
    )
    column = (place - left) / step
    bottom, top = d.z_mm[0::2], d.z_mm[1::2]
    sealed = np.clip(fill.trapped_from_mm, bottom, top)
    material = _project(column, (bottom - floor) / step, (sealed - floor) / step, shape) * step
    air = _project(column, (sealed - floor) / step, (top - floor) / step, shape) * step
    return Side(material_mm=material, air_mm=air, across=across, left_mm=left, floor_mm=floor, step_mm=step)


def sealed_air(fill: Fill, side: Side, *, level_mm: float) -> FloatArray:
    """Like `side.air_mm`, but only of the pockets cut off once the level has come to `level_mm`."""
    if np.isinf(level_mm):
        return side.air_mm
    d = fill.dexels
    held = np.flatnonzero((fill.trapped_from_mm <= level_mm) & (d.z_mm[1::2] > fill.trapped_from_mm))
    line = (np.searchsorted(d.offsets, 2 * held, side="right") - 1).astype(np.int64)
    uv = d.origin_mm + np.stack([line % d.nx, line // d.nx], axis=1) * d.pitch_mm
    column = (uv @ side.across - side.left_mm) / side.step_mm
    low = np.maximum(fill.trapped_from_mm[held], d.z_mm[2 * held])
    low, high = ((z - side.floor_mm) / side.step_mm for z in (low, d.z_mm[2 * held + 1]))
    shape = (side.air_mm.shape[0], side.air_mm.shape[1])
    return _project(column, low, high, shape) * side.step_mm


def _across(fill: Fill) -> FloatArray:
    d = fill.dexels
    gate = d.frame @ fill.gate_mm
    for other in [*(pocket.top_mm for pocket in fill.pockets[:1]), *fill.vents_mm]:
        apart = (d.frame @ other - gate)[:2]
        if np.linalg.norm(apart) > 4 * d.pitch_mm:
            along: FloatArray = apart / np.linalg.norm(apart)
            return along
    return np.array([1.0, 0.0]) if d.nx >= d.ny else np.array([0.0, 1.0])


def _project(column: FloatArray, low: FloatArray, high: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """How many lines lie behind each pixel: each line's stretch from `low` to `high` (rows) shared by two columns."""
    change = np.zeros((shape[0] + 1, shape[1] + 1))
    first = np.floor(column).astype(int)
    for c, share in ((first, 1 - (column - first)), (first + 1, column - first)):
        for row, sign in ((low, 1.0), (high, -1.0)):
            r = np.floor(row).astype(int)
            np.add.at(change, (r, c), sign * share * (1 - (row - r)))
            np.add.at(change, (r + 1, c), sign * share * (row - r))
    lines: FloatArray = np.maximum(np.cumsum(change, axis=0)[: shape[0], : shape[1]], 0.0)
    return lines


def paint_side(fill: Fill, side: Side, *, level_mm: float) -> Rgb:
    """The side view as an image (rows, columns, 3), top row first, with material up to `level_mm`."""
    rows = side.floor_mm + np.arange(len(side.air_mm)) * side.step_mm
    wet = np.clip((level_mm - rows) / side.step_mm + 0.5, 0, 1)[:, None, None]
    thick = side.material_mm + side.air_mm
    share = np.clip(thick / (1.5 * side.step_mm), 0, 1)[..., None]
    deep = np.sqrt(thick / max(float(thick.max()), 1e-9))[..., None]
    liquid = np.array(MATERIAL) * (1.12 - 0.42 * deep) + 12 * (1 - deep)
    inside = wet * liquid + (1 - wet) * np.array(EMPTY) * (1 - 0.10 * deep)
    air = sealed_air(fill, side, level_mm=level_mm)
    held = np.clip(air / (1.5 * side.step_mm), 0, 1)[..., None]
    inside = (1 - 0.9 * held) * inside + 0.9 * held * np.array(AIR)
    image = (1 - share) * np.array(MOULD) + share * inside
    solid = share[..., 0] > 0.5
    edge = np.zeros_like(solid)
    edge[1:] |= solid[1:] != solid[:-1]
    edge[:, 1:] |= solid[:, 1:] != solid[:, :-1]
    image[edge] = 0.55 * image[edge] + 0.45 * np.array(OUTLINE)
    painted: Rgb = image.clip(0, 255).astype(np.uint8)
    return painted[::-1]


def paint_above(fill: Fill, *, level_mm: float) -> Rgb:
    """The roof seen from above, shaded: material where it is under, trapped air where it stays; (ny, nx, 3)."""
    d = fill.dexels
    hit = np.diff(d.offsets) > 0
    last = d.offsets[1:][hit] - 1
    roof = np.full(d.nx * d.ny, np.nan)
    roof[hit] = d.z_mm[last]
    air = np.zeros(d.nx * d.ny, bool)
    sealed = fill.trapped_from_mm[last // 2]
    air[hit] = (d.z_mm[last] > sealed) & (sealed <= level_mm)
    wet = roof <= level_mm
    colour = np.empty((d.nx * d.ny, 3))
    colour[:] = EMPTY
    colour[wet] = MATERIAL
    colour[air] = AIR
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


def _sheet(fill: Fill, side: Side, *, level_mm: float, width_px: int, title: str) -> Image.Image:
    """Both views side by side on one sheet, drawn twice as large and brought down for smooth edges."""
    width = width_px * SAMPLES
    gap, head, foot, high = width // 48, width // 16, width // 14, int(width * 0.42)
    middle, base = int(width * 0.54), head + high
    sheet = Image.new("RGB", (width, base + foot), PAPER)
    draw = ImageDraw.Draw(sheet)
    side_spot = _place(sheet, paint_side(fill, side, level_mm=level_mm), (gap, head, middle - gap // 2, base))
    above = np.pad(paint_above(fill, level_mm=level_mm), ((MARGIN, MARGIN), (MARGIN, MARGIN), (0, 0)))
    above[:MARGIN], above[-MARGIN:], above[:, :MARGIN], above[:, -MARGIN:] = MOULD, MOULD, MOULD, MOULD
    above_spot = _place(sheet, above, (middle + gap // 2, head, width - gap, base))
    _openings(draw, fill, side, side_spot, above_spot, width)
    font, small = (ImageFont.load_default(size=width // k) for k in (42, 60))
    draw.text((gap, head * 0.28), title or "filling", fill=TEXT, font=font)
    for word, x in (("seen through from the side", middle - gap // 2), ("from above", width - gap)):
        draw.text((x - draw.textlength(word, font=small), head * 0.5), word, fill=TEXT, font=small)
    _key(draw, fill, level_mm, gap, base + foot * 0.3, width, small)
    return sheet.resize((width_px, sheet.height // SAMPLES), Image.Resampling.LANCZOS)


def _openings(
    draw: ImageDraw.ImageDraw, fill: Fill, side: Side, side_spot: Spot, above_spot: Spot, width: int
) -> None:
    """Mark the gate and the vents in both views."""
    d = fill.dexels
    for at, colour in [*((vent, VENT) for vent in fill.vents_mm), (fill.gate_mm, GATE)]:
        u, v, level = (float(value) for value in d.frame @ at)
        x, y = (u - d.origin_mm[0]) / d.pitch_mm, (v - d.origin_mm[1]) / d.pitch_mm
        _mark(draw, above_spot, float(x) + 0.5 + MARGIN, d.ny - 0.5 - float(y) + MARGIN, colour, width)
        column = (u * side.across[0] + v * side.across[1] - side.left_mm) / side.step_mm + 0.5
        row = len(side.air_mm) - (level - side.floor_mm) / side.step_mm - 0.5
        _mark(draw, side_spot, float(column), row, colour, width)


def _place(sheet: Image.Image, image: Rgb, box: tuple[int, int, int, int]) -> Spot:
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
    spot: Spot,
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
    font: Font,
) -> None:
    held = fill.trapped_mm3 + fill.unfilled_mm3
    words = [(MATERIAL, "material"), (AIR, f"air that stays, {held:.1f} cubic mm"), (GATE, "gate")]
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
