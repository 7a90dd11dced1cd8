"""What is bad news in a draw: silicone that is locked, shut in, or must stretch too far."""

from firstpour.parting.stretch import Give
from firstpour.parting.values import Draw, RankedDraw, UndercutRegion, Way
from firstpour.values import Finding, Severity, place_words

LOCKED = "locked"


def draw_findings(draw: RankedDraw, give: Give) -> tuple[Finding, ...]:
    """Voids shut in, rings of silicone through the part, and the stretch that the undercuts ask.

    Of a draw that was only ranked no more than the rings is told.
    """
    regions = draw.regions if isinstance(draw, Draw) else ()
    if any(region.stretch.way is Way.SHUT for region in regions):
        return (_shut_in(),)
    found = []
    if draw.locked_loops > 0:
        found.append(_locked(draw.locked_loops, regions))
    if regions and draw.stretch_ratio > 0.0:
        found.append(_stretched(draw, regions, give))
    return tuple(found)


def _shut_in() -> Finding:
    return Finding(
        severity=Severity.ERROR,
        code="enclosed-void",
        what="the part has a void shut inside it: no silicone can leave it, and no mould can form it",
        remedy="close the void in the model, or open it to the outside",
    )


def _locked(loops: int, regions: tuple[UndercutRegion, ...]) -> Finding:
    locked = next((region for region in regions if region.stretch.way is Way.LOOP), None)
    rings = "a ring of silicone" if loops == 1 else f"{loops} rings of silicone"
    return Finding(
        severity=Severity.WARNING,
        code=LOCKED,
        what=f"{rings} would run through the part, across a hole or a window: it cannot come out uncut",
        remedy="draw along the hole, fill it with a loose pin or core pulled first, or cut the ring",
        where=None if locked is None else place_words(locked.centre_mm),
    )


def _stretched(draw: RankedDraw, regions: tuple[UndercutRegion, ...], give: Give) -> Finding:
    """The worst undercut in words: what the silicone does there, and whether it may."""
    worst = max(regions, key=lambda region: region.stretch.stretch_ratio or 0.0)
    tight = draw.stretch_ratio > give.allowed_ratio
    squeeze = f"{100 * worst.stretch.squeeze_ratio:.0f} %"
    percent = f"{100 * draw.stretch_ratio:.0f} %"
    ways = {
        Way.LIP: f"a closed lip stretches by {percent} to pass over a bulge",
        Way.PLUG: f"a plug is squeezed by {squeeze} in a neck and stretches by {percent}",
        Way.TONGUE: f"a tongue {worst.depth_mm or 0.0:.1f} mm deep bends or swings out, about {percent} (estimate)",
    }
    return Finding(
        severity=Severity.WARNING if tight else Severity.INFO,
        code="undercut",
        what=f"{draw.undercut_mm3:.0f} mm³ of undercut: {ways[worst.stretch.way]}; "
        f"{100 * give.allowed_ratio:.0f} % is allowed for",
        remedy="choose another draw direction, a softer silicone that stretches further, or a mould in more pieces"
        if tight
        else "a soft silicone gives that much; peel it off slowly, with release",
        where=place_words(worst.centre_mm),
    )
