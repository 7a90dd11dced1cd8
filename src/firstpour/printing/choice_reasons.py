"""Why this printer, direction and layer, in sentences; and the hollow that was got round."""

from firstpour.printing.choice import PrinterAtBest
from firstpour.printing.flaw import LEAST_SHUT_MM2
from firstpour.printing.orient import PrintDirection
from firstpour.printing.print_piece import PrintPlan
from firstpour.printing.printers import Process
from firstpour.printing.slices import Footing
from firstpour.values import Finding, Severity


def reasons(chosen: PrintPlan, others: tuple[PrinterAtBest, ...], *, wanted_step_mm: float) -> tuple[str, ...]:
    """Why this printer, this direction and this layer, in sentences."""
    best, found = chosen.direction, chosen.ranked
    said = [
        f"steps of {best.step_mm:.3f} mm or less on 95 % of the show faces"
        + (f", within the {wanted_step_mm:g} mm wanted" if best.step_mm <= wanted_step_mm else ", to be sanded")
    ]
    if best.roundness_mm > 0.0:
        said.append(f"round features come out of round by {best.roundness_mm:.2f} mm at most")
    tips = len(chosen.hollows.in_air_mm)
    if chosen.supported_mm2 > 0.0:
        shown = (
            f"{best.marks_mm2:.0f} mm² of it on show faces" if best.marks_mm2 >= 1.0 else "none of it on show faces"
        )
        hung = " (the print hangs off the plate)" if best.footing is Footing.SUPPORTS else ""
        places = f"; {tips} places start in the air" if tips > 1 else "; one place starts in the air" if tips else ""
        said.append(f"{chosen.supported_mm2:.0f} mm² is held by supports{hung}, {shown}{places}")
    else:
        said.append("needs no support: it stands on the plate")
    if chosen.process is Process.VAT:
        hollow = (
            "no hollow is shut" if best.shut_mm2 < LEAST_SHUT_MM2 else f"a hollow of {best.shut_mm2:.0f} mm² is shut"
        )
        said.append(f"the film pulls about {best.suction_n:.0f} N at most (an estimate), {hollow}")
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


def _against_printer(chosen: PrintPlan, other: PrinterAtBest) -> str:
    way = other.direction
    if chosen.direction.fits and not way.fits:
        return f"{other.printer.name}: the part does not fit its build volume"
    hollow = f", a shut hollow of {way.shut_mm2:.0f} mm²" if way.shut_mm2 >= LEAST_SHUT_MM2 else ""
    return (
        f"{other.printer.name} at its best: steps of {way.step_mm:.3f} mm, {way.roundness_mm:.2f} mm out of round"
        f"{hollow}, {other.total_min / 60.0:.1f} h with the work against {chosen.total_min / 60.0:.1f} h"
    )


def hollow_avoided(chosen: PrinterAtBest, others: tuple[PrinterAtBest, ...]) -> tuple[Finding, ...]:
    """A shut hollow that was got round: said, so that nobody turns the part back into it."""
    shutting = next((one for one in (chosen, *others) if one.shutting is not None), None)
    if shutting is None or shutting.shutting is None or chosen.direction.shut_mm2 >= LEAST_SHUT_MM2:
        return ()
    worst = shutting.shutting
    filament = chosen.printer.process is Process.FILAMENT
    how = (
        "in filament, where a shut hollow pulls nothing"
        if filament
        else "turned or lifted so that the hollow stays open"
    )
    x, y, z = worst.direction
    return (
        Finding(
            severity=Severity.INFO,
            code="shut-hollow-avoided",
            what=(
                f"with ({x:.2f}, {y:.2f}, {z:.2f}) up on {shutting.printer.name}, standing on"
                f" {worst.footing.value}, a hollow of {worst.shut_mm2:.0f} mm² would be shut against the film;"
                f" it is printed {how}"
            ),
            remedy="keep this direction; the other way up, the hollow needs a vent hole near its closed end",
        ),
    )
