"""Pictures of a filling: the block as it stands, the cavity seen through and from above, and the level rising."""

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from firstpour.fill.values import Channel, ChannelUse, Fill
from firstpour.pictures.fill_around import Around, Standing, stand
from firstpour.pictures.fill_block import (
    FAINT,
    TEXT,
    Font,
    Panel,
    channel_strips,
    draw_block,
    draw_channels,
    draw_level,
    draw_material,
    draw_mouth,
    outer,
)
from firstpour.pictures.fill_views import (
    AIR,
    MATERIAL,
    MOULD,
    OUTLINE,
    Above,
    Rgb,
    Side,
    Tones,
    look_down,
    look_through,
    paint_above,
    paint_side,
    side_mask,
    tones_of,
)
from firstpour.pictures.sheet import save_png
from firstpour.units import MM3_PER_ML
from firstpour.values import FloatArray
from firstpour.writing.whole import OUR_MARK, Over, may_write, write_whole

Colour = tuple[int, int, int]

PAPER = (250, 250, 248)
SAMPLES = 2
FRAMES = 20
ROOM = 0.06
"""Free on each side of a view, as a share of it."""
HATCH_SHARE, HATCH_DARK = 0.006, 0.6
"""Distance of the hatching of air as a share of the sheet's width, and what it leaves of the light."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scene:
    """What all frames share: the filling, the block around it and the views."""

    fill: Fill
    channels: tuple[Channel, ...]
    standing: Standing | None
    side: Side
    tones: Tones
    above: Above


def draw_fill(fill: Fill, *, around: Around | None = None, width_px: int = 1200, title: str = "") -> Image.Image:
    """The filling at its end: seen through from the side beside the view from above, with a key."""
    return _sheet(_scene(fill, around), level_mm=np.inf, width_px=width_px, title=title)


def save_fill(
    fill: Fill, folder: Path, *, name: str, title: str = "", around: Around | None = None
) -> tuple[Path, Path]:
    """Write NAME-fill.png and the animated NAME-fill.gif of the rising level into `folder`; gives both paths."""
    still, moving = folder / f"{name}-fill.png", folder / f"{name}-fill.gif"
    for path in (still, moving):
        may_write(path, over=Over.OURS)
    scene = _scene(fill, around)
    save_png(_sheet(scene, level_mm=np.inf, width_px=1200, title=title or name), still)
    first, *rest = _rising(scene, width_px=640, title=title or name)
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


def _rising(scene: Scene, *, width_px: int, title: str) -> list[Image.Image]:
    """Frames of the level rising from the floor to the top, in one palette."""
    z = scene.fill.dexels.z_mm
    levels = [*np.linspace(float(z.min()), float(z.max()), FRAMES - 1), np.inf]
    frames = [_sheet(scene, level_mm=level, width_px=width_px, title=title) for level in levels]
    both = Image.new("RGB", (width_px, 2 * frames[0].height))
    both.paste(frames[len(frames) // 2], (0, 0))
    both.paste(frames[-1], (0, frames[0].height))
    palette = both.quantize(192)
    return [frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in frames]


def _scene(fill: Fill, around: Around | None) -> Scene:
    """A block that leans is seen from where its lean shows."""
    around = around or Around()
    standing = stand(around, fill.dexels.frame)
    leans = standing is not None and standing.tilt_deg > 0
    side = look_through(fill, across=standing.lean if standing is not None and leans else None)
    return Scene(
        fill=fill, channels=around.channels, standing=standing, side=side, tones=tones_of(side), above=look_down(fill)
    )


def _sheet(scene: Scene, *, level_mm: float, width_px: int, title: str) -> Image.Image:
    """Both views side by side on one sheet, drawn twice as large and brought down for smooth edges."""
    width = width_px * SAMPLES
    gap, head, foot, high = width // 48, width // 15, width // 14, int(width * 0.42)
    middle, base = int(width * 0.54), head + high
    sheet = Image.new("RGB", (width, base + foot), PAPER)
    font, small = (ImageFont.load_default(size=width // k) for k in (46, 66))
    _side_view(sheet, scene, (gap, head, middle - gap // 2, base), level_mm, small)
    _view_above(sheet, scene, (middle + gap // 2, head, width - gap, base), level_mm)
    draw = ImageDraw.Draw(sheet)
    draw.text((gap, head * 0.2), title or "filling", fill=TEXT, font=font)
    for word, x in (("seen through from the side", gap), ("from above", middle + gap // 2)):
        draw.text((x, head * 0.66), word, fill=FAINT, font=small)
    _key(draw, scene, level_mm, gap, base + foot * 0.34, width, small)
    return sheet.reduce(SAMPLES)


def _fit(low_mm: FloatArray, high_mm: FloatArray, box: tuple[int, int, int, int]) -> Panel:
    """The view from `low_mm` to `high_mm` (2,) as large as it goes into the box, in its middle."""
    size = np.array([box[2] - box[0], box[3] - box[1]], dtype=float)
    scale = float((size * (1 - 2 * ROOM) / np.maximum(high_mm - low_mm, 1e-9)).min())
    spare = 0.5 * (size - (high_mm - low_mm) * scale)
    return Panel(low_mm=low_mm, corner_px=np.array([box[0], box[3]]) + spare * [1.0, -1.0], px_per_mm=scale)


def _lay(
    sheet: Image.Image, panel: Panel, image: Rgb, mask: FloatArray, air: FloatArray, at_mm: FloatArray, step_mm: float
) -> None:
    """Lay an image of pixels of `step_mm`, its lower left corner at `at_mm`, where the mask is; hatch the air."""
    left, low = panel.at(at_mm)[0]
    size = tuple(max(1, round(n * step_mm * panel.px_per_mm)) for n in image.shape[1::-1])
    corner = (round(left), round(low) - size[1])
    shown = Image.fromarray(image).resize(size, Image.Resampling.BICUBIC)
    covers = _as_large(mask, size)
    if air.any():
        pixels, where = np.array(shown), np.asarray(_as_large(air, size)) > 127
        row, column = np.nonzero(where)
        step = max(4, int(sheet.width * HATCH_SHARE))
        lined = (row + column) % step < max(2, step // 4)
        pixels[row[lined], column[lined]] = (pixels[row[lined], column[lined]] * HATCH_DARK).astype(np.uint8)
        shown = Image.fromarray(pixels)
    sheet.paste(shown, corner, covers)


def _as_large(share: FloatArray, size: tuple[int, ...]) -> Image.Image:
    """Shares 0–1 as a grey image of (width, height)."""
    return Image.fromarray((255 * share).astype(np.uint8)).resize((size[0], size[1]), Image.Resampling.BICUBIC)


def _side_view(sheet: Image.Image, scene: Scene, box: tuple[int, int, int, int], level_mm: float, font: Font) -> None:
    side, standing, draw = scene.side, scene.standing, ImageDraw.Draw(sheet)
    at_mm = np.array([side.left_mm, side.floor_mm]) - 0.5 * side.step_mm
    extent = np.array(side.air_mm.shape[::-1]) * side.step_mm
    corners = np.empty((0, 2)) if standing is None else _seen_from_side(standing.corners_mm, side)
    ends = np.concatenate([corners, [at_mm, at_mm + extent]])
    panel = _fit(ends.min(axis=0), ends.max(axis=0), box)
    if standing is None:
        draw.rectangle(box, fill=MOULD)
    else:
        draw_block(draw, panel, corners, standing, box, font)
    image, held = paint_side(scene.fill, side, scene.tones, level_mm=level_mm)
    if standing is not None:
        flat = [_seen_from_side(path, side) for path in standing.paths_mm]
        strips = channel_strips(flat, scene.channels, corners)
        draw_channels(draw, panel, strips, sheet.width)
        if standing.pour_to_mm is not None:
            draw_material(draw, panel, strips, min(level_mm, standing.pour_to_mm))
    _lay(sheet, panel, image, side_mask(side), held, at_mm, side.step_mm)
    if standing is not None and standing.pour_to_mm is not None:
        draw_level(draw, panel, standing.pour_to_mm, box, font)
    for at, use in _openings(scene):
        _mark(draw, panel.at(_seen_from_side(at[None], side))[0], use, sheet.width)


def _seen_from_side(points: FloatArray, side: Side) -> FloatArray:
    """Points (k, 3) of the fill's frame as the side view has them (k, 2)."""
    return np.stack([points[:, :2] @ side.across, points[:, 2]], axis=1)


def _view_above(sheet: Image.Image, scene: Scene, box: tuple[int, int, int, int], level_mm: float) -> None:
    d, standing, draw = scene.fill.dexels, scene.standing, ImageDraw.Draw(sheet)
    at_mm = np.asarray(d.origin_mm)[:2] - 0.5 * d.pitch_mm
    corners = np.empty((0, 2)) if standing is None else standing.corners_mm[:, :2]
    ends = np.concatenate([corners, [at_mm, at_mm + np.array([d.nx, d.ny]) * d.pitch_mm]])
    panel = _fit(ends.min(axis=0), ends.max(axis=0), box)
    if standing is None:
        draw.rectangle(box, fill=MOULD)
    else:
        draw.polygon(outer(panel.at(corners)), fill=MOULD, outline=OUTLINE, width=3)
    image, hit, air = paint_above(scene.fill, scene.above, level_mm=level_mm)
    _lay(sheet, panel, image, hit.astype(float), air.astype(float), at_mm, d.pitch_mm)
    if standing is not None:
        flat = [path[:, :2] for path in standing.paths_mm]
        for path, channel in zip(flat, scene.channels, strict=True):
            draw_mouth(draw, panel, path, channel, sheet.width)
    for at, use in _openings(scene):
        _mark(draw, panel.at(at[None, :2])[0], use, sheet.width)


def _openings(scene: Scene) -> list[tuple[FloatArray, ChannelUse]]:
    """Where gate and vents meet the part, in the frame of the fill."""
    fill, frame = scene.fill, scene.fill.dexels.frame
    places = [(vent, ChannelUse.VENT) for vent in fill.vents_mm]
    return [(frame @ at, use) for at, use in [*places, (fill.gate_mm, ChannelUse.GATE)]]


def _mark(draw: ImageDraw.ImageDraw, at: tuple[float, float], use: ChannelUse, width: int) -> None:
    """A full dot for the gate, a ring for a vent."""
    r = width / (170 if use is ChannelUse.GATE else 200)
    spot = (at[0] - r, at[1] - r, at[0] + r, at[1] + r)
    if use is ChannelUse.GATE:
        draw.ellipse(spot, fill=TEXT, outline=PAPER, width=max(2, width // 800))
    else:
        draw.ellipse(spot, fill=PAPER, outline=TEXT, width=max(2, width // 600))


def _key(
    draw: ImageDraw.ImageDraw, scene: Scene, level_mm: float, x: float, y: float, width: int, font: Font
) -> None:
    """The legend: only what the picture shows, and the level while it rises."""
    fill, side = scene.fill, width / 66
    held = fill.trapped_mm3 + fill.unfilled_mm3
    words: list[tuple[Colour | ChannelUse, str]] = [(MOULD, "silicone"), (MATERIAL, "material")]
    words.append((AIR, _air_words(held)))
    words.append((ChannelUse.GATE, "gate"))
    if fill.vents_mm:
        words.append((ChannelUse.VENT, "vent" if len(fill.vents_mm) == 1 else f"{len(fill.vents_mm)} vents"))
    for what, word in words:
        if isinstance(what, ChannelUse):
            _mark(draw, (x + side / 2, y + side / 2), what, width)
        else:
            draw.rectangle((x, y, x + side, y + side), fill=what, outline=FAINT)
            if what == AIR:
                for k in (0.5, 1.0, 1.5):
                    low, high = max(0.0, k - 1) * side, min(1.0, k) * side
                    draw.line([(x + low, y + high), (x + high, y + low)], fill=TEXT, width=max(1, width // 1200))
        draw.text((x + 1.4 * side, y + side / 2), word, fill=TEXT, font=font, anchor="lm")
        x += 2.6 * side + draw.textlength(word, font=font)
    if np.isfinite(level_mm):
        word = f"level {level_mm - float(fill.dexels.z_mm.min()):.1f} mm"
        draw.text((width - 2 * side, y + side / 2), word, fill=TEXT, font=font, anchor="rm")


def _air_words(held_mm3: float) -> str:
    """Air that stays; what is no more than a speck is told as less than a thousandth of a millilitre.

    >>> _air_words(0.0), _air_words(0.3), _air_words(60.4)
    ('no air stays', 'air that stays, below 0.001 ml', 'air that stays, 0.06 ml')
    """
    if held_mm3 < 0.05:
        return "no air stays"
    return f"air that stays, {f'{held_mm3 / MM3_PER_ML:.2g}' if held_mm3 >= 1.0 else 'below 0.001'} ml"
