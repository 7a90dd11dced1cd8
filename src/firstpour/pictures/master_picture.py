"""The master as it is printed: the height of its layer steps, and its layers from the plate up."""

import numpy as np
from PIL import Image, ImageDraw

from firstpour.part.part import Part
from firstpour.pictures import sheet as on
from firstpour.pictures.colours import BLUE, FAINT_INK, INK, PLUM, pale, rgb_of
from firstpour.pictures.part_picture import ELEVATION_DEG, view_along
from firstpour.pictures.shade import Body, camera_on, shade
from firstpour.printing.choice import MasterPlan
from firstpour.printing.flaw import LEAST_SHUT_MM2
from firstpour.printing.layer_steps import face_steps_mm
from firstpour.printing.printers import Process
from firstpour.printing.slices import Footing
from firstpour.printing.to_print import show_faces
from firstpour.values import FloatArray

STEP_COLOURS = ("#E9ECEF", "#B9C7D6", "#86A1BC", "#53799F", "#2B5580", "#11365C")
"""One hue from light to dark, so that lightness alone tells: our own choice."""

PANEL_PX, HEAD_PX, FOOT_PX = (700, 560), 86, 84
CHART = (90, 30, 560, 500)
"""Left, top, right and bottom of the chart within its panel."""


def master_picture(part: Part, plan: MasterPlan) -> Image.Image:
    """The part as it stands in the printer, coloured by the height of its steps, beside its area layer by layer."""
    sheet = on.blank_sheet((2 * PANEL_PX[0], HEAD_PX + PANEL_PX[1] + FOOT_PX))
    direction = plan.direction.direction
    steps_mm = face_steps_mm(
        part.mesh, direction, printer=plan.chosen.printer, layer_mm=plan.layer_mm, show=show_faces(part)
    )
    body = Body(mesh=part.mesh, colour=step_colours(steps_mm, full_mm=plan.layer_mm))
    camera = camera_on(
        [part.mesh], frame=view_along(direction, elevation_deg=ELEVATION_DEG), size_px=PANEL_PX, margin_px=44
    )
    on.paste(sheet, shade([body], camera=camera), corner_px=(0, HEAD_PX))
    standing = "flat on the plate" if plan.direction.footing is Footing.PLATE else "lifted on supports"
    on.write_text(sheet, f"{part.name}: the master, {plan.chosen.printer.name}", at_px=(28, 20), size_px=on.TITLE_PX)
    up = ", ".join(f"{v + 0.0:.2f}" for v in np.round(direction, 2))
    on.write_text(
        sheet,
        f"{up} up, {standing}, layers of {plan.layer_mm:g} mm",
        at_px=(28, 60),
        colour=FAINT_INK,
    )
    on.draw_scale_bar(
        sheet, px_per_mm=camera.px_per_mm, right_px=PANEL_PX[0] - 36, bottom_px=HEAD_PX + PANEL_PX[1] - 8
    )
    _step_scale(sheet, plan.layer_mm)
    _area_chart(sheet, plan, left_px=PANEL_PX[0], top_px=HEAD_PX - 20)
    return sheet


def step_colours(steps_mm: FloatArray, *, full_mm: float) -> FloatArray:
    """Colour (m, 3) of each step, from light at 0 to dark at `full_mm`."""
    stops = np.stack([rgb_of(one) for one in STEP_COLOURS])
    place = np.clip(steps_mm / full_mm, 0.0, 1.0)
    at = np.linspace(0.0, 1.0, len(stops))
    return np.stack([np.interp(place, at, stops[:, k]) for k in range(3)], axis=-1)


def _step_scale(sheet: Image.Image, full_mm: float) -> None:
    """A bar of the colours with three figures."""
    left, top, width = 28, sheet.height - 62, 320
    bar = step_colours(np.linspace(0.0, full_mm, width), full_mm=full_mm)
    strip = np.broadcast_to((bar * 255.0).round().astype(np.uint8), (18, width, 3))
    sheet.paste(Image.fromarray(np.ascontiguousarray(strip)), (left, top))
    for share in (0.0, 0.5, 1.0):
        words = f"{share * full_mm:.3g}"
        on.write_text(sheet, words, at_px=(left + share * width, top + 24), size_px=on.SMALL_PX, anchor="mt")
    on.write_text(sheet, "height of the steps, mm", at_px=(left + width + 22, top), size_px=on.SMALL_PX)


def _area_chart(sheet: Image.Image, plan: MasterPlan, *, left_px: int, top_px: int) -> None:
    """Area to the right, height upwards as printed; the area of shut hollows over it, the hardest pull marked."""
    left, top, right, bottom = CHART[0] + left_px, CHART[1] + top_px, CHART[2] + left_px, CHART[3] + top_px
    slices, shut = plan.slices, plan.hollows.shut_area_mm2
    widest = _round_above(max(float(slices.area_mm2.max()), float(shut.max()), 1e-6))
    tallest = slices.height_mm
    x_of, y_of = (right - left) / widest, (bottom - top) / tallest
    pen = ImageDraw.Draw(sheet)
    for values, colour in ((slices.area_mm2, BLUE), (shut, PLUM)):
        if values.max() >= LEAST_SHUT_MM2:
            outline = [
                (left + float(a) * x_of, bottom - float(z) * y_of) for a, z in zip(values, slices.z_mm, strict=True)
            ]
            fill = tuple(int(v) for v in (pale(colour, by_ratio=0.6) * 255).round())
            pen.polygon([(left, outline[0][1]), *outline, (left, outline[-1][1])], fill=fill)
            pen.line(outline, fill=colour, width=2)
    pen.line([(left, top), (left, bottom), (right, bottom)], fill=INK, width=2)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, y = left + share * (right - left), bottom - share * (bottom - top)
        pen.line([(x, bottom), (x, bottom + 6)], fill=INK, width=2)
        pen.line([(left - 6, y), (left, y)], fill=INK, width=2)
        on.write_text(sheet, f"{share * widest:g}", at_px=(x, bottom + 10), size_px=on.SMALL_PX, anchor="mt")
        on.write_text(sheet, f"{share * tallest:.1f}", at_px=(left - 12, y), size_px=on.SMALL_PX, anchor="rm")
    on.write_text(sheet, "height, mm", at_px=(left - 64, top - 26), size_px=on.SMALL_PX)
    on.write_text(sheet, "area of the layer, square mm", at_px=(right, bottom + 34), size_px=on.SMALL_PX, anchor="rt")
    if plan.process is Process.VAT:
        y = bottom - plan.suction.peak_mm * y_of
        pen.line([(left, y), (right, y)], fill=FAINT_INK, width=1)
        for k, words in enumerate(("hardest pull,", f"about {plan.suction.peak_n:.0f} N")):
            on.write_text(
                sheet, words, at_px=(right + 8, y - 18 + 20 * k), size_px=on.SMALL_PX, colour=FAINT_INK, anchor="lt"
            )
    entries = [on.LegendEntry(colour=BLUE, words="solid")]
    if shut.max() >= LEAST_SHUT_MM2:
        entries.append(on.LegendEntry(colour=PLUM, words="shut in by the print"))
    on.write_legend(sheet, entries, left_px=left, top_px=sheet.height - 48)


def _round_above(value: float) -> float:
    """The smallest of 1, 2, 4, 8 × a power of ten that is not below the value.

    >>> _round_above(1810.0), _round_above(0.7), _round_above(4.0)
    (2000.0, 0.8, 4.0)
    """
    power = 10.0 ** np.floor(np.log10(value))
    return float(next(step * power for step in (1.0, 2.0, 4.0, 8.0, 10.0) if step * power >= value * (1 - 1e-9)))
