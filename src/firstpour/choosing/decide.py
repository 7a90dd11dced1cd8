"""Which silicone and which casting material each part of a job is made with, from volumes that may be estimates."""

from collections.abc import Sequence
from dataclasses import replace

from firstpour.choosing.decisions import Decision, Decisions, Picked
from firstpour.choosing.need import PartNeed
from firstpour.choosing.options import Judged, Option, casting_options, silicone_options, slower_than
from firstpour.choosing.trial import needs_of
from firstpour.materials.feel import wanted_hardness
from firstpour.materials.steps import time_words
from firstpour.stock.stock import after_taking
from firstpour.workshop.workshop import Workshop


def decide_materials(needs: Sequence[PartNeed], workshop: Workshop) -> Decisions:
    """Decide on silicone and casting material for every part: by feel, contact, stretch, clock and shelf.

    Parts are served from the shelf in their order: what one uses up does not count for the next.

    Raises
    ------
    BadRequest
        If a part's hardness cannot be read.
    UnknownMaterial
        If a part names a material that is not known.
    """
    shelf, parts = workshop, []
    for need in needs:
        castings = casting_options(need, shelf, wanted_hardness(need.hardness))
        casting = next(iter(castings.options), None)
        silicones = silicone_options(need, shelf, casting=None if casting is None else casting.trial)
        silicone = next(iter(silicones.options), None)
        parts.append(
            Decision(
                name=need.name,
                wanted=wanted_hardness(need.hardness),
                silicone=_picked(silicone, silicones),
                casting=_picked(casting, castings),
                silicones_rejected=silicones.rejected,
                castings_rejected=castings.rejected,
            )
        )
        shelf = _served(shelf, [option for option in (silicone, casting) if option is not None])
    return Decisions(parts=tuple(parts))


def _picked(option: Option | None, judged: Judged) -> Picked | None:
    if option is None:
        return None
    return Picked(
        material=option.material,
        additives=option.trial.additives,
        reached=None if option.way is None else option.way.reached,
        others=_others(option, judged.options[1:]),
        slower=slower_than(option, judged.options),
    )


def _others(best: Option, others: Sequence[Option]) -> str:
    """What else would do, and why the next of them stands behind."""
    if not others:
        return ""
    second = others[0]
    if best.trial.fit.fits and not second.trial.fit.fits:
        reason = "its pour does not fit its pot life"
    elif best.trial.enough and not second.trial.enough:
        reason = "there is not enough of it"
    elif best.trial.roomy and not second.trial.roomy:
        reason = "its pour leaves no room for a mishap"
    elif second.trial.bubbly and not best.trial.bubbly:
        reason = "without vacuum it keeps bubbles"
    elif second.off_points > best.off_points:
        reason = "it is farther from the wanted feel"
    else:
        reason = f"ready after {time_words(second.trial.ready_min)}"
    return f"{len(others)} more would do, the next {second.material.name}: {reason}."


def _served(shelf: Workshop, options: Sequence[Option]) -> Workshop:
    stock = shelf.stock
    for option in options:
        for key, amount in needs_of(option.trial.mixes).items():
            stock = after_taking(stock, shelf.catalogue.get(key), amount, today=shelf.today)
    return replace(shelf, stock=stock)
