"""The inserts of a part on its way to the mould: held, laid in, told."""

from dataclasses import replace

import numpy as np

from firstpour.errors import BadRequest
from firstpour.fill.spots import nearest_spots
from firstpour.inserts.held import Held, hold_inserts
from firstpour.inserts.told import may_fall
from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.values import Mould
from firstpour.parting.draw import draw_along
from firstpour.parting.draw_findings import draw_findings
from firstpour.parting.parting import Parting
from firstpour.parting.stretch import Give
from firstpour.parting.values import Draw, MouldKind
from firstpour.plan.filling import PartFill
from firstpour.plan.look import Looked
from firstpour.values import Finding, FloatArray


def held_in(looked: Looked, request: PartRequest, settings: MouldSettings, materials: MouldMaterials) -> Held | None:
    """The part with its inserts; None where it has none."""
    if not request.inserts:
        return None
    return hold_inserts(
        looked.part,
        request.inserts,
        draw=looked.draw.direction,
        wall_mm=settings.wall_mm,
        casting_shrinkage_ratio=materials.casting_shrinkage_ratio,
    )


def check_held(held: Held, parting: Parting, looked: Looked) -> None:
    """Refuse a mould that does not hold its inserts, or into which they cannot be laid.

    Raises
    ------
    BadRequest
        If it has no half on a side that must hold one, or silicone would have to close over one.
    """
    if parting.kind is MouldKind.BLOCK:
        raise BadRequest(
            f"a mould of kind {parting.kind} holds no insert: it has not two halves that each hold an end",
            remedy='give draw along the insert and kind = "trays"',
        )
    for one in held.inserts:
        if parting.kind is MouldKind.OPEN_FACE and one.sides != ((-1 if _turned(parting, looked) else 1),):
            raise BadRequest(
                f"{one.insert.words} is to be held at the open back of the mould, where there is no silicone",
                remedy='give kind = "trays", or turn the insert so that the mould\'s own side holds it',
            )
    before, after = looked.draw, parting.draw
    if after.locked_loops > before.locked_loops:
        more_mm3 = after.undercut_mm3 - before.undercut_mm3
        words = " and ".join(one.insert.words for one in held.inserts)
        raise BadRequest(
            f"{words} cannot be laid into the mould: a ring of silicone would close over what stands out of "
            f"the part, or be shut in behind it ({more_mm3:.0f} mm³)",
            remedy="place it along the draw, or on the seam so that each half takes a side of it",
        )


ON_SHOT_MM = 0.1
"""The seam lies on the shot as far as it is this near: an insert is widened by as much to fill a drawn hole."""


def seam_on_shot(parting: Parting, held: Held) -> Parting:
    """The parting with the seam that lies on the shot alone, for gate and vents: around an insert there is nothing to
    fill. A loop that does so in parts is left as its single edges.
    """
    seam: list[FloatArray] = []
    for loop in parting.seam_mm:
        spots = nearest_spots(held.shot, loop @ parting.frame, up=parting.draw.direction)
        on = spots.distances_mm < ON_SHOT_MM
        if on.all():
            seam.append(loop)
        else:
            seam += [loop[[k, (k + 1) % len(loop)]] for k in np.flatnonzero(on & np.roll(on, -1))]
    return replace(parting, seam_mm=tuple(seam))


LEAST_STRETCH = 0.01
"""Less more stretch is the grid's."""
NO_FACES = np.empty(0, np.int64)
"""Faces of what lies in the mould together are none of the part's own."""


def own_draw(held: Held, looked: Looked, parting: Parting, settings: MouldSettings) -> Draw:
    """The draw of the part alone, face by face, the way up that the mould stands.

    Where the part is cast around a copy, no silicone comes where that lies: it must give what both together ask.
    """
    own = looked.draw
    if _turned(parting, looked):
        own = draw_along(looked.part, parting.draw.direction, give=Give(wall_mm=settings.wall_mm))
    if not any(one.insert.copy_of for one in held.inserts):
        return own
    both = parting.draw
    return replace(
        own,
        undercut_mm3=both.undercut_mm3,
        undercut_mm2=both.undercut_mm2,
        undercut_depth_mm=both.undercut_depth_mm,
        stretch_ratio=both.stretch_ratio,
        squeeze_ratio=both.squeeze_ratio,
        locked_loops=both.locked_loops,
        regions=tuple(replace(one, faces=NO_FACES) for one in both.regions),
    )


def _turned(parting: Parting, looked: Looked) -> bool:
    """Whether the mould stands the other way up than the draw that was chosen, as one with a flat back may."""
    return float(parting.draw.direction @ looked.draw.direction) < 0.0


def with_inserts(mould: Mould, held: Held | None, parting: Parting, settings: MouldSettings) -> Mould:
    """The mould with the stretch that its pins, seats and recesses ask, where that is more than the part's own."""
    if held is None or parting.draw.stretch_ratio - mould.stretch_ratio < LEAST_STRETCH:
        return mould
    own = [one for one in mould.findings if one.code != "undercut"]
    more = (one for one in draw_findings(parting.draw, Give(wall_mm=settings.wall_mm)) if one.code == "undercut")
    return replace(mould, stretch_ratio=parting.draw.stretch_ratio, findings=(*own, *more))


def told_of(held: Held, looked: Looked, fill: PartFill | None) -> tuple[Finding, ...]:
    """What is said of the inserts, and of those that would hang in the mould as it is poured."""
    if fill is None:
        return held.findings
    falls = (may_fall(one, fill.up, looked.draw.direction) for one in held.inserts)
    return (*held.findings, *(one for one in falls if one is not None))
