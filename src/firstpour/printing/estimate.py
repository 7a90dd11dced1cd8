"""Printing time, material, and the work on a print before silicone may touch it."""

import math
from dataclasses import dataclass

from firstpour.errors import OutOfRange
from firstpour.materials.steps import Step, in_order, step, with_hands
from firstpour.printing.printers import Printer, Process
from firstpour.units import ml_from_mm3


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintEstimate:
    """How long a print runs, how many layers, and what goes into it."""

    print_min: float
    layers: int
    material_ml: float
    material_g: float


def estimate_print(
    *,
    printer: Printer,
    layer_mm: float,
    height_mm: float,
    volume_mm3: float,
    area_mm2: float,
    support_mm3: float,
) -> PrintEstimate:
    r"""Time and material of one print.

    Filament: t = V / (q (1 − travel)) + layers · change, with V the walls (surface × walls × line width, never more
    than the part), the infill's share of the rest and the support's share of its room. Vat: layers × cycle, the first
    ones slower. Both plus the start, and as much longer as such prints were seen to take. An estimate of our own: the
    printer's figures are the workshop's.

    Raises
    ------
    OutOfRange
        If a figure is below 0 or `layer_mm` or `height_mm` is not above 0.

    >>> from firstpour.printing.printers import VAT_PRINTER
    >>> estimate_print(printer=VAT_PRINTER, layer_mm=0.05, height_mm=20, volume_mm3=8000, area_mm2=2400,
    ...                support_mm3=0).layers
    400
    """
    if min(volume_mm3, area_mm2, support_mm3) < 0.0 or not (layer_mm > 0.0 and height_mm > 0.0):
        raise OutOfRange(
            f"a print {height_mm} mm high in layers of {layer_mm} mm, {volume_mm3} mm³", remedy="give sizes above 0"
        )
    layers = max(1, math.ceil(height_mm / layer_mm - 1e-6))
    support = support_mm3 * printer.support_ratio
    if printer.process is Process.FILAMENT:
        walls = min(volume_mm3, area_mm2 * printer.walls * printer.line_width_mm)
        body = walls + printer.infill_ratio * (volume_mm3 - walls)
        # a thin layer limits the flow that a line of this width can carry at the machine's speed
        flow = printer.flow_mm3_s * min(1.0, layer_mm / FULL_FLOW_LAYER_MM)
        seconds = (body + support) / (flow * (1.0 - printer.travel_ratio)) + layers * printer.layer_change_s
    else:
        body = volume_mm3
        first = min(layers, printer.first_layers)
        seconds = first * printer.first_layer_cycle_s + (layers - first) * printer.layer_cycle_s
    material_ml = ml_from_mm3(body + support)
    return PrintEstimate(
        print_min=printer.minutes_factor * (printer.start_min + seconds / 60.0),
        layers=layers,
        material_ml=material_ml,
        material_g=material_ml * printer.density_g_ml,
    )


FULL_FLOW_LAYER_MM = 0.2
"""Layer height at which a filament machine reaches its flow; thinner layers flow in proportion (common practice)."""

SMOOTH_MM = 0.02
"""Steps below this go under the primer (about 5 µm Ra); common practice, no source."""
WANTED_STEP_MM = 0.03
"""Steps below this are gone after priming and a light sanding (common practice, no source)."""


def post_steps(*, process: Process, step_mm: float, show_area_mm2: float, support_mm2: float) -> tuple[Step, ...]:
    """The work on a print until it is a master, in order: the table's steps, their hands by area and support.

    One minute of sanding to 10 cm², and four more for each tenth of a millimetre of step; three minutes for supports
    and one to every 2 cm² that they touched. Estimates of our own.
    """
    sand_min = round(show_area_mm2 / 1000.0 * (1.0 + 4.0 * max(0.0, step_mm - SMOOTH_MM) / 0.1), 1)
    hands_min = {
        "supports-off": round(3.0 + support_mm2 / 200.0, 1) if support_mm2 > 0.0 else 0.0,
        "sand": sand_min,
        "sand-primer": round(0.5 * sand_min, 1),
    }
    names = ["supports-off", "seal", "dry-sealer"]
    names += ["wash", "dry-wash", "post-cure"] if process is Process.VAT else []
    if process is Process.FILAMENT or step_mm > SMOOTH_MM:
        names += ["sand", "prime", "dry-primer", "sand-primer"]
    made = (with_hands(step(name), hands_min[name]) if name in hands_min else step(name) for name in names)
    return tuple(one for one in in_order(made) if one.hands_min > 0.0 or one.wait_min > 0.0)
