"""What stands on a picture besides the solids: titles, labels, the legend, a scale bar, arrows; and the file."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont, PngImagePlugin

from firstpour.errors import CannotWrite
from firstpour.pictures.colours import FAINT_INK, INK, PAPER
from firstpour.pictures.shade import Hatch, Picture
from firstpour.writing.whole import OUR_MARK, Over, may_write, write_whole

TITLE_PX, TEXT_PX, SMALL_PX = 26, 19, 16
COMPRESSED = 4
"""How hard a PNG is packed, of 9: at 6 it takes twice as long and is a tenth smaller."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LegendEntry:
    """A swatch and its words; a `line` is a stroke instead of a square."""

    colour: str
    words: str
    line: bool = False
    hatch: Hatch = Hatch.NONE


def blank_sheet(size_px: tuple[int, int]) -> Image.Image:
    """A sheet of paper colour, (width, height) in pixels."""
    return Image.new("RGB", size_px, PAPER)


def paste(sheet: Image.Image, picture: Picture, *, corner_px: tuple[int, int]) -> None:
    """Lay the picture on the sheet, its upper left corner at `corner_px`."""
    sheet.paste(Image.fromarray(picture.pixels), corner_px)


def write_text(
    sheet: Image.Image,
    words: str,
    *,
    at_px: tuple[float, float],
    size_px: int = TEXT_PX,
    colour: str = INK,
    anchor: str = "lt",
) -> None:
    """Write `words`; `anchor` names the corner that lies at `at_px` (l, m, r and t, m, b)."""
    ImageDraw.Draw(sheet).text(at_px, words, fill=colour, font=ImageFont.load_default(size_px), anchor=anchor)


def text_width_px(words: str, *, size_px: int = TEXT_PX) -> float:
    """Width of the words as written."""
    return float(ImageFont.load_default(size_px).getlength(words))


def write_legend(sheet: Image.Image, entries: Sequence[LegendEntry], *, left_px: int, top_px: int) -> None:
    """Swatches with words in one row, going on to the next where the sheet ends."""
    pen = ImageDraw.Draw(sheet)
    x, y = left_px, top_px
    for entry in entries:
        width = 34 + text_width_px(entry.words) + 28
        if x > left_px and x + width > sheet.width:
            x, y = left_px, y + 32
        if entry.line:
            pen.line([(x, y + 10), (x + 22, y + 10)], fill=entry.colour, width=4)
        else:
            pen.rectangle([x, y, x + 20, y + 20], fill=entry.colour, outline=FAINT_INK)
            _hatch_swatch(pen, entry.hatch, x, y)
        write_text(sheet, entry.words, at_px=(x + 30, y + 10), anchor="lm")
        x += int(width)


def _hatch_swatch(pen: ImageDraw.ImageDraw, hatch: Hatch, x: int, y: int) -> None:
    """Slanted lines over a square of 20 pixels, and across them where it is crossed."""
    if hatch is Hatch.NONE:
        return
    for k in range(5, 40, 7):
        low, high = max(0, k - 20), min(20, k)
        pen.line([(x + low, y + high), (x + high, y + low)], fill=INK, width=1)
        if hatch is Hatch.CROSSED:
            pen.line([(x + low, y + 20 - high), (x + high, y + 20 - low)], fill=INK, width=1)


def scale_bar_mm(px_per_mm: float, *, about_px: float = 130.0) -> float:
    """The round length (1, 2 or 5 × a power of ten) whose bar comes nearest below `about_px`.

    >>> scale_bar_mm(4.0), scale_bar_mm(20.0), scale_bar_mm(0.1)
    (20.0, 5.0, 1000.0)
    """
    longest = about_px / px_per_mm
    power = float(10.0 ** np.floor(np.log10(longest)))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= longest * (1 + 1e-9))


def draw_scale_bar(sheet: Image.Image, *, px_per_mm: float, right_px: int, bottom_px: int) -> None:
    """A bar of a round length with its length in mm above it."""
    length_mm = scale_bar_mm(px_per_mm)
    left = right_px - length_mm * px_per_mm
    pen = ImageDraw.Draw(sheet)
    pen.line([(left, bottom_px), (right_px, bottom_px)], fill=INK, width=3)
    for x in (left, right_px):
        pen.line([(x, bottom_px - 6), (x, bottom_px + 6)], fill=INK, width=2)
    middle = (0.5 * (left + right_px), bottom_px - 10)
    write_text(sheet, f"{length_mm:g} mm", at_px=middle, size_px=SMALL_PX, anchor="mb")


def draw_arrow(
    sheet: Image.Image, *, foot_px: tuple[float, float], tip_px: tuple[float, float], colour: str = INK
) -> None:
    """A straight arrow from foot to tip."""
    foot, tip = np.array(foot_px), np.array(tip_px)
    along = (tip - foot) / max(1e-9, float(np.linalg.norm(tip - foot)))
    across = np.array([-along[1], along[0]])
    neck = tip - 14 * along
    pen = ImageDraw.Draw(sheet)
    pen.line([tuple(foot), tuple(neck)], fill=colour, width=3)
    pen.polygon([tuple(tip), tuple(neck + 6 * across), tuple(neck - 6 * across)], fill=colour)


def draw_leader(sheet: Image.Image, *, start_px: tuple[float, float], end_px: tuple[float, float]) -> None:
    """A thin line from a label to what it names."""
    ImageDraw.Draw(sheet).line([start_px, end_px], fill=FAINT_INK, width=1)


def may_draw(path: Path) -> None:
    """Say before the work what `save_png` would refuse.

    Raises
    ------
    CannotWrite
        If the file is not named .png, or another file is there.
    """
    if path.suffix.lower() != ".png":
        raise CannotWrite(f"the picture {path} is a PNG by another name", remedy=f"name it {path.stem}.png")
    may_write(path, over=Over.OURS)


def save_png(sheet: Image.Image, path: Path) -> None:
    """Write the sheet as a PNG, over an earlier one of ours alone: the same bytes for the same picture.

    Raises
    ------
    CannotWrite
        If the file cannot be written, is not named .png, or another file is there.
    """
    may_draw(path)
    said = PngImagePlugin.PngInfo()
    said.add_text("Software", OUR_MARK.decode())
    content = io.BytesIO()
    sheet.save(content, format="PNG", compress_level=COMPRESSED, pnginfo=said)
    write_whole(path, content.getvalue(), over=Over.OURS)
