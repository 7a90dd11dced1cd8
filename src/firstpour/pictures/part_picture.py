"""The part with its draw: what each side of the mould reaches, what blocks, and where the seam runs."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from PIL import Image

from firstpour.part.part import Part
from firstpour.parting.values import Draw, Reach
from firstpour.pictures import sheet as on
from firstpour.pictures.colours import BLACK, CHALK, CLAY, FAINT_INK, PLUM, SLATE, rgb_of
from firstpour.pictures.shade import Body, Camera, Hatch, Line, camera_on, seen_at_px, shade, view_frame
from firstpour.values import FloatArray, IntArray, face_areas_mm2, frame_along

REACH_COLOUR = {Reach.BOTH: CHALK, Reach.ABOVE: SLATE, Reach.BELOW: CLAY, Reach.NEITHER: PLUM}
REACH_HATCH = {Reach.BOTH: Hatch.SLANTED, Reach.NEITHER: Hatch.CROSSED}
REACH_WORDS = {
    Reach.ABOVE: "reached from above",
    Reach.BELOW: "reached from below",
    Reach.BOTH: "vertical wall (draft 0)",
    Reach.NEITHER: "undercut",
}
ELEVATION_DEG, AZIMUTH_DEG = 38.0, -62.0
PANEL_PX, HEAD_PX, FOOT_PX = (700, 560), 86, 74


def view_along(direction: FloatArray, *, elevation_deg: float, azimuth_deg: float = AZIMUTH_DEG) -> FloatArray:
    """Frame of a view with `direction` upright, from `elevation_deg` above the plane across it (below: negative)."""
    u, v, d = frame_along(direction)
    elevation, azimuth = np.radians(elevation_deg), np.radians(azimuth_deg)
    level = np.cos(azimuth) * u + np.sin(azimuth) * v
    return view_frame(towards=np.cos(elevation) * level + np.sin(elevation) * d, up=d)


def part_picture(part: Part, draw: Draw, *, seam_mm: Sequence[FloatArray] = ()) -> Image.Image:
    """Two views of the part, from above and below along the draw, its faces coloured and hatched by their reach."""
    reach = np.asarray(draw.reach, dtype=np.int64)
    palette = np.stack([rgb_of(REACH_COLOUR[Reach(k)]) for k in range(len(Reach))])
    hatches = np.array([int(REACH_HATCH.get(Reach(k), Hatch.NONE)) for k in range(len(Reach))])
    body = Body(mesh=part.mesh, colour=palette[reach], hatch=hatches[reach])
    lines = [Line(points_mm=loop, colour=rgb_of(BLACK), width_px=3.0) for loop in seam_mm]
    sheet = on.blank_sheet((2 * PANEL_PX[0], HEAD_PX + PANEL_PX[1] + FOOT_PX))
    cameras = _both_sides(part, draw.direction)
    for k, (camera, words) in enumerate(zip(cameras, ("seen from above", "seen from below"), strict=True)):
        left = k * PANEL_PX[0]
        on.paste(sheet, shade([body], camera=camera, lines=lines), corner_px=(left, HEAD_PX))
        on.write_text(sheet, words, at_px=(left + 28, 60), colour=FAINT_INK)
        _arrow_of_draw(sheet, camera, draw.direction, left_px=left)
    on.write_text(sheet, f"{part.name}: the draw", at_px=(28, 20), size_px=on.TITLE_PX)
    on.write_legend(sheet, _legend(part, reach, with_seam=len(lines) > 0), left_px=28, top_px=sheet.height - 48)
    bottom = HEAD_PX + PANEL_PX[1] - 8
    on.draw_scale_bar(sheet, px_per_mm=cameras[0].px_per_mm, right_px=sheet.width - 36, bottom_px=bottom)
    return sheet


def _both_sides(part: Part, direction: FloatArray) -> tuple[Camera, Camera]:
    """Cameras above and below at one scale."""
    above, below = (
        camera_on(
            [part.mesh],
            frame=view_along(direction, elevation_deg=elevation),
            size_px=PANEL_PX,
            margin_px=44,
        )
        for elevation in (ELEVATION_DEG, -ELEVATION_DEG)
    )
    scale = min(above.px_per_mm, below.px_per_mm)
    return replace(above, px_per_mm=scale), replace(below, px_per_mm=scale)


def _arrow_of_draw(sheet: Image.Image, camera: Camera, direction: FloatArray, *, left_px: int) -> None:
    """A small upright arrow: which way along the draw is up."""
    ends = seen_at_px(camera, np.stack([camera.middle_mm, camera.middle_mm + direction / np.linalg.norm(direction)]))
    along = (ends[1] - ends[0]) / max(1e-9, float(np.linalg.norm(ends[1] - ends[0])))
    foot = np.array([left_px + 46.0, HEAD_PX + PANEL_PX[1] - 20.0])
    tip = foot + 64.0 * along
    on.draw_arrow(sheet, foot_px=(foot[0], foot[1]), tip_px=(tip[0], tip[1]))
    on.write_text(sheet, "draw", at_px=(foot[0] + 12, foot[1] - 24), size_px=on.SMALL_PX, anchor="lm")


def _legend(part: Part, reach: IntArray, *, with_seam: bool) -> list[on.LegendEntry]:
    """The kinds of reach that occur, with their share of the part's area."""
    area = face_areas_mm2(part.mesh)
    shares = np.bincount(reach, weights=area, minlength=len(Reach)) / area.sum()
    entries = [
        on.LegendEntry(
            colour=REACH_COLOUR[kind],
            words=f"{words}, {share_words(float(shares[kind]))}",
            hatch=REACH_HATCH.get(kind, Hatch.NONE),
        )
        for kind, words in REACH_WORDS.items()
        if shares[kind] > 0 or kind is Reach.NEITHER
    ]
    return entries + ([on.LegendEntry(colour=BLACK, words="seam", line=True)] if with_seam else [])


def share_words(ratio: float) -> str:
    """A share in per cent, small ones not rounded away.

    >>> share_words(0.5), share_words(0.002), share_words(0.0)
    ('50 %', '0.2 %', 'none')
    """
    if ratio <= 0:
        return "none"
    return f"{100 * ratio:.0f} %" if ratio >= 0.0095 else f"{max(0.1, 100 * ratio):.1f} %"
