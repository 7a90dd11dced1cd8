"""Why this printer, direction and layer, in sentences; and what is left to know of them."""

from firstpour.printing.choice import MasterChoice
from firstpour.printing.estimate import SMOOTH_MM
from firstpour.printing.flaw import LEAST_CUP_MM2
from firstpour.printing.orient import PrintDirection
from firstpour.printing.printers import Process
from firstpour.printing.slices import Hollows
from firstpour.values import Finding, Severity, place_words


def reasons(
    chosen: MasterChoice,
    others: tuple[MasterChoice, ...],
    found: tuple[PrintDirection, ...],
    *,
    wanted_step_mm: float,
) -> tuple[str, ...]:
    """Why this printer, this direction and this layer, in sentences."""
    best = chosen.direction
    said = [
        f"steps of {best.step_mm:.3f} mm or less on 95 % of the show faces"
        + (f", within the {wanted_step_mm:g} mm wanted" if best.step_mm <= wanted_step_mm else ", to be sanded")
    ]
    if best.roundness_mm > 0.0:
        said.append(f"round features come out of round by {best.roundness_mm:.2f} mm at most")
    if best.support_mm2 > 0.0:
        shown = (
            f"{best.marks_mm2:.0f} mm² of it on show faces" if best.marks_mm2 >= 1.0 else "none of it on show faces"
        )
        said.append(f"{best.support_mm2:.0f} mm² needs support, {shown}")
    else:
        said.append("needs no support")
    if chosen.process is Process.VAT:
        cup = "no cup is sealed" if best.cup_mm2 < LEAST_CUP_MM2 else f"a cup of {best.cup_mm2:.0f} mm² is sealed"
        said.append(f"the film pulls about {best.suction_n:.0f} N at most (an estimate), {cup}")
    if len(found) > 1:
        said.append(_against(best, found[1]))
    said += [_against_printer(chosen, other) for other in others]
    return tuple(said)


def _against(best: PrintDirection, next_best: PrintDirection) -> str:
    x, y, z = next_best.direction
    return (
        f"the next direction ({x:.2f}, {y:.2f}, {z:.2f}; {next_best.footing.value}) has steps of"
        f" {next_best.step_mm:.3f} mm, {next_best.roundness_mm:.2f} mm out of round,"
        f" {next_best.print_min:.0f} min against {best.print_min:.0f}"
    )


def _against_printer(chosen: MasterChoice, other: MasterChoice) -> str:
    way = other.direction
    if chosen.direction.fits and not way.fits:
        return f"{other.printer.name}: the part does not fit its build volume"
    cup = f", a sealed cup of {way.cup_mm2:.0f} mm²" if way.cup_mm2 >= LEAST_CUP_MM2 else ""
    return (
        f"{other.printer.name} at its best: steps of {way.step_mm:.3f} mm, {way.roundness_mm:.2f} mm out of round"
        f"{cup}, {other.total_min / 60.0:.1f} h with the work against {chosen.total_min / 60.0:.1f} h"
    )


def direction_findings(chosen: MasterChoice, hollows: Hollows) -> tuple[Finding, ...]:
    """What is wrong with the chosen direction: too large, islands, steps that would be copied."""
    best = chosen.direction
    findings = []
    if not best.fits:
        size = " × ".join(f"{v:g}" for v in chosen.printer.size_mm)
        findings.append(
            Finding(
                severity=Severity.ERROR,
                code="master-too-large",
                what=f"the master fits no printer; the nearest, {chosen.printer.name}, holds {size} mm",
                remedy="print it in pieces and join them, or enter a larger printer",
            )
        )
    if len(hollows.islands_mm):
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="islands",
                what=f"places that begin in the air, above the first layers: {len(hollows.islands_mm)}",
                remedy="each needs a support under it; see that none is missed",
                where="; ".join(place_words(at) for at in hollows.islands_mm[:6]),
            )
        )
    if best.step_mm > SMOOTH_MM:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="steps-show",
                what=f"layer steps of {best.step_mm:.3f} mm would be copied into every casting",
                remedy="sand and prime the show faces before sealing, or use thinner layers",
            )
        )
    return tuple(findings)


def cup_avoided(chosen: MasterChoice, others: tuple[MasterChoice, ...]) -> tuple[Finding, ...]:
    """A cup that was got round: said, so that nobody turns the part back into it."""
    cupped = next((one for one in (chosen, *others) if one.cupped is not None), None)
    if cupped is None or cupped.cupped is None or chosen.direction.cup_mm2 >= LEAST_CUP_MM2:
        return ()
    worst = cupped.cupped
    filament = chosen.process is Process.FILAMENT
    how = "in filament, where a cup pulls nothing" if filament else "turned or lifted so that the hollow stays open"
    x, y, z = worst.direction
    return (
        Finding(
            severity=Severity.INFO,
            code="cup-avoided",
            what=(
                f"with ({x:.2f}, {y:.2f}, {z:.2f}) up on {cupped.printer.name}, standing on"
                f" {worst.footing.value}, a cup of {worst.cup_mm2:.0f} mm² would be sealed against the film;"
                f" it is printed {how}"
            ),
            remedy="keep this direction; the other way up, the hollow needs a vent hole near its closed end",
        ),
    )
