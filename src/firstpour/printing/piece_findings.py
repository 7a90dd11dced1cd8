"""What is left to know of a print: too large, steps that would be copied, what starts in the air, what pulls."""

from firstpour.printing.estimate import WANTED_STEP_MM
from firstpour.printing.orient import PrintDirection
from firstpour.printing.printers import Printer
from firstpour.printing.slices import Hollows
from firstpour.printing.suction import Suction, suction_findings
from firstpour.values import Finding, Severity, place_words


def piece_findings(
    best: PrintDirection, hollows: Hollows, suction: Suction, *, printer: Printer
) -> tuple[Finding, ...]:
    """What is wrong with a print: too large, starting in the air, steps that would be copied, pull, shut hollows."""
    findings = []
    if not best.fits:
        size = " × ".join(f"{v:g}" for v in printer.size_mm)
        findings.append(
            Finding(
                severity=Severity.ERROR,
                code="master-too-large",
                what=f"it does not fit the {printer.name}, which holds {size} mm",
                remedy="print it in pieces and join them, or enter a larger printer",
            )
        )
    if len(hollows.in_air_mm):
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="starts-in-air",
                what=f"places that start in the air, above the first layers: {len(hollows.in_air_mm)}",
                remedy="each needs a support under it; see that none is missed",
                where="; ".join(place_words(at) for at in hollows.in_air_mm[:6]),
            )
        )
    if best.step_mm > WANTED_STEP_MM:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="steps-show",
                what=f"layer steps of {best.step_mm:.3f} mm would be copied into every casting",
                remedy="sand and prime the show faces before sealing, or use thinner layers",
            )
        )
    return (*findings, *suction_findings(suction, hollows, printer=printer))
