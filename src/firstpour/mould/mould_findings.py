"""What the mould says of itself: seam, keys, pieces that do not fit the printer or fall apart."""

from collections.abc import Sequence

from firstpour.mould.joints import Joined, fits, size_mm
from firstpour.mould.values import Piece, Spare
from firstpour.parting.halves import Halves
from firstpour.parting.opening import CRUMB_MM3
from firstpour.parting.parting import Parting
from firstpour.parting.values import MouldKind
from firstpour.values import Finding, FloatArray, Severity

WORTH_SPARING_ML, WORTH_SPARING_RATIO = 20.0, 0.2
"""Silicone that is worth a print: so much, and such a share of all (our own choice)."""


def shut_findings(parting: Parting) -> tuple[Finding, ...]:
    """Say what keeps two halves from coming apart, and what is made of it."""
    if not parting.shut:
        return ()
    rings = "; cut through each ring, too, to get the copy out" if parting.shut.rings else ""
    if parting.kind is MouldKind.BLOCK:
        return (
            Finding(
                severity=Severity.WARNING,
                code="closed-ring" if parting.shut.rings else "cut-open",
                what=f"two halves would not come apart ({parting.shut.words}): the mould is poured as one block",
                remedy=f"cut it open along the seam with a wavy cut{rings}; or part the model in pieces that open",
            ),
        )
    return (
        Finding(
            severity=Severity.WARNING,
            code="closed-ring" if parting.shut.rings else "loose-silicone",
            what=f"{parting.shut.words}: the halves do not come apart by themselves",
            remedy='cut what holds with a sharp blade, take kind = "block", or another draw direction',
        ),
    )


def spare_findings(spares: Sequence[Spare], *, silicone_ml: float, made: bool) -> tuple[Finding, ...]:
    """Say what jackets spare, or would; `silicone_ml` is what is poured as the mould is."""
    jackets_ml, cubes = sum(one.jacket_ml for one in spares), sum(one.cubes for one in spares)
    whole_ml = silicone_ml + (jackets_ml if made else 0.0)
    if jackets_ml < max(WORTH_SPARING_ML, WORTH_SPARING_RATIO * whole_ml):
        return ()
    cubes_ml = sum(one.cubes_ml for one in spares)
    instead = f"; or {cubes} cubes of cured silicone of {spares[0].cube_mm:g} mm take the place of {cubes_ml:.0f} ml"
    would = "spare" if made else "would spare"
    return (
        Finding(
            severity=Severity.INFO,
            code="silicone-to-spare",
            what=f"jackets {would} {jackets_ml:.0f} of {whole_ml:.0f} ml of silicone and leave the wall everywhere"
            + ("" if made or not cubes else instead),
            remedy="print them flat side down and pour through the wide hole until silicone stands in all holes"
            if made
            else "give jackets a thickness among the settings of the mould; cubes must be of the same silicone, "
            "clean and dry, and lie no nearer to the part than the wall",
        ),
    )


def thin_findings(parting: Parting) -> tuple[Finding, ...]:
    """Say where the halves are thinner than silicone survives: by the parting surface, or in grooves of the part."""
    showing = parting.showing
    if showing is None:
        return ()
    peel = "a tough silicone, release and slow peeling; if it tears, "
    places = (
        (showing.fin, "the parting surface leaves", peel + "choose another draw direction"),
        (
            showing.groove,
            "in grooves of the part stand",
            peel + "widen the groove, make the part larger, or leave the groove out and cut it into each copy",
        ),
    )
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="thin-silicone",
            what=f"{where} {thin.area_mm2:.0f} mm² of silicone thinner than {showing.least_wall_mm:g} mm, "
            f"{thin.least_mm:.2f} mm at the thinnest, about {_place(thin.at_mm @ parting.frame)}",
            remedy=remedy,
        )
        for thin, where, remedy in places
        if thin is not None
    )


def _place(at_mm: FloatArray) -> str:
    return "(" + ", ".join(f"{value:.1f}" for value in at_mm) + ") mm"


def two_part_findings(halves: Halves, *, crossing: bool, keyed: bool) -> tuple[Finding, ...]:
    """Say where the seam crosses itself, a void is shut in, or keys that close one way only find no room."""
    findings = []
    if crossing:
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="seam-crosses",
                what="seen along the draw the seam crosses itself, so the parting surface follows the part's outline "
                "instead and may leave thin splinters of undercut beside it",
                remedy="look at the picture of the halves; try another draw direction",
            )
        )
    if halves.enclosed_mm3 >= CRUMB_MM3:
        findings.append(
            Finding(
                severity=Severity.ERROR,
                code="enclosed-void",
                what=f"{halves.enclosed_mm3:.0f} mm³ of silicone would lie shut inside the part",
                remedy="close the void in the model, or open it to the outside",
            )
        )
    if not keyed:
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="no-room-for-keys",
                what="three keys that close one way only find no room on the parting surface",
                remedy="give more silicone beside the part (mould.wall_mm) or smaller keys (mould.key_radius_mm)",
            )
        )
    return tuple(findings)


def cut_finding(name: str, cut: Joined, printer_mm: FloatArray) -> Finding:
    """Say that a piece was cut to fit the printer, or that it cannot be."""
    too_large = not all(fits(size_mm(part), printer_mm) for part in cut.parts)
    bare = f"; {cut.joints_without_pegs} of the joints have no room for pegs" if cut.joints_without_pegs else ""
    return Finding(
        severity=Severity.ERROR if too_large else Severity.WARNING,
        code="too-large-to-print" if too_large else "cut-to-fit",
        what=f"{name} is larger than the printer's {printer_mm[0]:g} × {printer_mm[1]:g} × {printer_mm[2]:g} mm "
        f"and is cut into {len(cut.parts)} parts{bare}",
        remedy="glue the parts and seal the joint before silicone goes in"
        if not too_large
        else "use a larger printer, or make the part in smaller pieces",
    )


def bodies_finding(piece: Piece) -> Finding:
    """Say that a piece comes out in more than one surface."""
    return Finding(
        severity=Severity.WARNING,
        code="loose-bodies",
        what=f"{piece.name} comes out in {piece.bodies} separate surfaces instead of one",
        remedy="look at the piece: a thin place of the part may have cut it through",
    )


def no_basin_finding(why: str) -> Finding:
    """Say why each gate is poured by itself though one basin was wanted."""
    return Finding(
        severity=Severity.WARNING,
        code="basin-not-made",
        what=f"no basin joins the gates: {why}; each is poured by itself",
        remedy="give up along the draw direction and gate places from which straight troughs run clear of the vents, "
        "or basin = false",
    )
