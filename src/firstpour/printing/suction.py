"""What pulls a vat print off its plate: large sections and shut hollows, layer by layer, and what to do about it."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from firstpour.formulas.bubbles import ATMOSPHERE_PA
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Footing, Hollows, ShutHollow, Slices
from firstpour.values import Finding, FloatArray, Severity, frozen_array, place_words

PA_MM2_TO_N = 1e-6


class PullCause(StrEnum):
    """What the pull at its peak comes from."""

    SECTION = "section"
    SHUT_HOLLOW = "shut-hollow"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suction:
    """Pull by layer `pull_n` (n,), its peak, the height of the peak above the plate, and what causes most of it."""

    pull_n: FloatArray
    peak_n: float
    peak_mm: float
    cause: PullCause
    capped: bool
    """The section's share at the peak is the weight of the air on it: no film can pull harder."""


def pulls_n(
    area_mm2: FloatArray, perimeter_mm: FloatArray, shut_mm2: FloatArray, *, printer: Printer
) -> tuple[FloatArray, FloatArray]:
    r"""Pull of sections and of shut hollows, N, element by element; to rank with, real films flex.

    .. math:: F = \min(p_{atm} A,\; \tfrac32 \mu v (2A/P)^2 A / h^3), \qquad F_{shut} = \Delta p\, A_{shut}

    2A/P is the radius of a disc and the width of a long strip or a thin ring, so a disc gets Stefan's own value,
    3πμR⁴v/2h³, and a long strip 1.5 times that of lubrication theory (mean pressure μvw²/h³): an estimate of our
    own, on
    the safe side. No film pulls harder than the air presses.

    References
    ----------
    Stefan, "Versuche über die scheinbare Adhäsion", Sitzungsberichte der Akademie der Wissenschaften Wien 69 (1874)
    713-735.
    """
    width_mm = np.divide(2.0 * area_mm2, perimeter_mm, out=np.zeros_like(area_mm2), where=perimeter_mm > 0.0)
    pressure_pa = 1.5 * printer.viscosity_pa_s * printer.pull_mm_s * width_mm**2 / printer.film_gap_mm**3
    section: FloatArray = np.minimum(pressure_pa, ATMOSPHERE_PA) * area_mm2 * PA_MM2_TO_N
    shut: FloatArray = printer.shut_drop_pa * shut_mm2 * PA_MM2_TO_N
    return section, shut


def suction_of(slices: Slices, hollows: Hollows, *, printer: Printer) -> Suction:
    """The pull of each layer of a vat print; nothing on a filament printer."""
    if printer.process is not Process.VAT:
        none = np.zeros(len(slices.z_mm))
        return Suction(
            pull_n=frozen_array(none, np.float64), peak_n=0.0, peak_mm=0.0, cause=PullCause.SECTION, capped=False
        )
    section, shut = pulls_n(slices.area_mm2, slices.perimeter_mm, hollows.shut_area_mm2, printer=printer)
    total = section + shut
    k = int(np.argmax(total))
    return Suction(
        pull_n=frozen_array(total, np.float64),
        peak_n=float(total[k]),
        peak_mm=float(slices.z_mm[k]),
        cause=PullCause.SHUT_HOLLOW if shut[k] > section[k] else PullCause.SECTION,
        capped=bool(section[k] >= 0.999 * ATMOSPHERE_PA * slices.area_mm2[k] * PA_MM2_TO_N),
    )


def suction_findings(suction: Suction, hollows: Hollows, *, printer: Printer) -> tuple[Finding, ...]:
    """What the peak pull and the shut hollows mean, and what to change."""
    if printer.process is not Process.VAT:
        return ()
    findings = [_hollow_finding(hollow, hollows) for hollow in hollows.shut]
    if suction.peak_n > printer.pull_limit_n:
        findings.append(_pull_finding(suction, printer))
    return tuple(findings)


def _hollow_finding(hollow: ShutHollow, hollows: Hollows) -> Finding:
    if hollow.opens_mm is None:
        until, remedy = (
            "and never opens",
            "give it a drain: uncured resin inside would seep out and stop silicone curing",
        )
    else:
        until = f"until {hollow.opens_mm:.1f} mm"
        remedy = "tilt the part, vent it by a hole of 2 to 3 mm near there and plug that, or print in filament"
    above = "plate" if hollows.footing is Footing.PLATE else "lowest point"
    return Finding(
        severity=Severity.WARNING,
        code="shut-hollow",
        what=(
            f"a shut hollow of {hollow.volume_mm3 / 1000:.1f} ml, {hollow.area_mm2:.0f} mm² against the film,"
            f" holds resin and pulls a vacuum from {hollow.closes_mm:.1f} mm above the {above} {until}"
        ),
        remedy=remedy,
        where=place_words(hollow.at_mm),
    )


def _pull_finding(suction: Suction, printer: Printer) -> Finding:
    section = suction.cause is PullCause.SECTION
    return Finding(
        severity=Severity.WARNING,
        code="strong-pull",
        what=(
            f"the film pulls hardest {suction.peak_mm:.1f} mm up, about {suction.peak_n:.0f} N as an estimate"
            f" ({'a large section' if section else 'a shut hollow'}"
            f"{', capped at the weight of the air' if suction.capped and section else ''});"
            f" {printer.name} is taken to hold {printer.pull_limit_n:.0f} N"
        ),
        remedy=(
            "tilt the part so that the section grows slowly, hollow it with a drain, or use another process"
            if section
            else "open the hollow: tilt the part, or give it a vent hole"
        ),
    )
