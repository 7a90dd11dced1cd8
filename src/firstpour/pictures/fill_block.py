"""The block of a filling as it stands on the bench, its channels, and the level to pour to."""

from dataclasses import dataclass

import numpy as np
from PIL import ImageDraw, ImageFont

from firstpour.fill.values import Channel
from firstpour.pictures.fill_around import Standing
from firstpour.pictures.fill_views import EMPTY, MATERIAL, MOULD, OUTLINE
from firstpour.values import FloatArray

Font = ImageFont.FreeTypeFont | ImageFont.ImageFont

TEXT, FAINT, WEDGE = (32, 33, 36), (107, 111, 118), (222, 220, 216)
DISC = 24
"""Corners of a disc."""
LARGEST_WEDGE_DEG = 15.0
"""Beyond it the block would slide off a wedge: it is cradled."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """A view on the sheet: `low_mm` (2,) of it lies at `corner_px` (2,), its lower left."""

    low_mm: FloatArray
    corner_px: FloatArray
    px_per_mm: float

    def at(self, points_mm: FloatArray) -> list[tuple[float, float]]:
        """Points (k, 2) in mm as places on the sheet."""
        px = self.corner_px + (np.atleast_2d(points_mm) - self.low_mm) * self.px_per_mm * np.array([1.0, -1.0])
        return [(float(x), float(y)) for x, y in px]


def draw_block(
    draw: ImageDraw.ImageDraw,
    panel: Panel,
    corners: FloatArray,
    standing: Standing,
    box: tuple[int, int, int, int],
    font: Font,
) -> None:
    """The block on the bench; under one that leans a wedge, or the words that it is cradled."""
    floor_mm = float(corners[:, 1].min())
    low, high = float(corners[:, 0].min()), float(corners[:, 0].max())
    bench = panel.at(np.array([[low, floor_mm]]))[0][1]
    if 0 < standing.tilt_deg <= LARGEST_WEDGE_DEG:
        outline = panel.at(np.concatenate([corners, [[low, floor_mm], [high, floor_mm]]]))
        draw.polygon(outer(outline), fill=WEDGE, outline=FAINT)
    draw.polygon(outer(panel.at(corners)), fill=MOULD, outline=OUTLINE, width=3)
    draw.line([(box[0], bench), (box[2], bench)], fill=FAINT, width=3)
    words = standing_words(standing.tilt_deg)
    draw.text((box[0], bench + 8), words, fill=FAINT, font=font)


def standing_words(tilt_deg: float) -> str:
    """How the block stands.

    >>> standing_words(0.0), standing_words(5.0), standing_words(30.0)
    ('stands level', 'tilted 5° on a wedge', 'tilted 30°: cradle it')
    """
    if tilt_deg == 0:
        return "stands level"
    return f"tilted {tilt_deg:.0f}°" + (" on a wedge" if tilt_deg <= LARGEST_WEDGE_DEG else ": cradle it")


def outer(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The corners of the convex outline in order."""
    from scipy.spatial import ConvexHull

    return [points[k] for k in ConvexHull(np.array(points)).vertices]


def channel_strips(flat: list[FloatArray], channels: tuple[Channel, ...], corners: FloatArray) -> list[FloatArray]:
    """Each channel along its path (k, 2) in strips as wide as it is, convex (n, 2), cut where the block ends."""
    from scipy.spatial import ConvexHull

    sides = ConvexHull(corners).equations
    strips = [strip for path, channel in zip(flat, channels, strict=True) for strip in _strips(path, channel)]
    for side in sides:
        strips = [clipped(strip, side[:2], -float(side[2])) for strip in strips]
    return [strip for strip in strips if len(strip) > 2]


def draw_channels(draw: ImageDraw.ImageDraw, panel: Panel, strips: list[FloatArray], width: int) -> None:
    """The channels, empty."""
    for strip in strips:
        draw.polygon(panel.at(strip), fill=OUTLINE, outline=OUTLINE, width=2 * max(1, width // 1200))
    for strip in strips:
        draw.polygon(panel.at(strip), fill=EMPTY)


def draw_material(draw: ImageDraw.ImageDraw, panel: Panel, strips: list[FloatArray], level_mm: float) -> None:
    """Material in the channels, as high as it stands."""
    for strip in strips:
        under = clipped(strip, np.array([0.0, 1.0]), level_mm)
        if len(under) > 2:
            draw.polygon(panel.at(under), fill=MATERIAL)


def _strips(path: FloatArray, channel: Channel) -> list[FloatArray]:
    """A strip (4, 2) for each stretch of the path, the last too long by the mouth; a disc at each bend."""
    steps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    share = np.concatenate([[0.0], np.cumsum(steps)]) / max(float(steps.sum()), 1e-9)
    radius = channel.radius_start_mm + share * (channel.radius_end_mm - channel.radius_start_mm)
    turns = 2.0 * np.pi * np.arange(DISC) / DISC
    disc = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    strips = [path[k] + radius[k] * disc for k in range(1, len(path) - 1)]
    for k, step in enumerate(steps):
        if step < 1e-6:
            continue
        along = (path[k + 1] - path[k]) / step
        aside = np.array([-along[1], along[0]])
        near, far = radius[k] * aside, radius[k + 1] * aside
        end = path[k + 1] + (2.0 * channel.radius_end_mm * along if k == len(steps) - 1 else 0.0)
        strips.append(np.array([path[k] + near, end + far, end - far, path[k] - near]))
    return strips


def clipped(polygon: FloatArray, normal: FloatArray, most: float) -> FloatArray:
    """The part of a convex polygon (k, 2) whose height along `normal` (2,) is at most `most`.

    >>> clipped(np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]]), np.array([0.0, 1.0]), 1.0).tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]
    """
    kept = []
    over = polygon @ normal - most
    for k in range(len(polygon)):
        after = (k + 1) % len(polygon)
        if over[k] <= 0:
            kept.append(polygon[k])
        if (over[k] <= 0) != (over[after] <= 0):
            kept.append(polygon[k] + over[k] / (over[k] - over[after]) * (polygon[after] - polygon[k]))
    return np.array(kept).reshape(-1, 2)


def draw_level(
    draw: ImageDraw.ImageDraw, panel: Panel, level_mm: float, box: tuple[int, int, int, int], font: Font
) -> None:
    """A broken line at the level, with its words above it at the left."""
    y = panel.at(np.array([[panel.low_mm[0], level_mm]]))[0][1]
    dash = (box[2] - box[0]) // 60
    for x in range(box[0], box[2], 2 * dash):
        draw.line([(x, y), (min(box[2], x + dash), y)], fill=TEXT, width=3)
    draw.text((box[0], y - 8), "pour to here", fill=TEXT, font=font, anchor="lb")


def draw_mouth(draw: ImageDraw.ImageDraw, panel: Panel, path: FloatArray, channel: Channel, width: int) -> None:
    """The outline of a channel's mouth, and a line to it from where it meets the part."""
    line = max(1, width // 1200)
    draw.line(panel.at(path), fill=OUTLINE, width=line)
    x, y = panel.at(path[-1:])[0]
    r = channel.radius_end_mm * panel.px_per_mm
    draw.ellipse((x - r, y - r, x + r, y + r), outline=OUTLINE, width=2 * line)
