"""How many cavities one mix of casting material fills in its time, and the silicone at hand is enough for."""

from dataclasses import dataclass, replace

from firstpour.cavities.values import MOST_CAVITIES
from firstpour.choosing.counts import shots
from firstpour.choosing.decisions import Decision
from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import Trial, casting_trial, silicone_trial
from firstpour.errors import WorkshopError
from firstpour.job.job import PartRequest
from firstpour.workshop.workshop import Workshop


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The most cavities that the materials allow, and whether their gates are filled from one basin."""

    cavities: int = MOST_CAVITIES
    basin: bool = False


def cavity_room(
    request: PartRequest, need: PartNeed | None, decision: Decision | None, workshop: Workshop | None
) -> Room:
    """The most cavities of a part that leaves their number open: one mix, its pot life, silicone, copies to make.

    Each gate is poured by itself as long as one mix then fills all: a basin is cast full each time, for nothing. The
    silicone of the shelf counts where it is enough for one cavity; else some is bought anyway.
    """
    ways = (False, True) if request.basin is None else (request.basin,)
    if need is None or workshop is None or decision is None:
        return Room(basin=ways[0])
    if not isinstance(request.cavities, str):
        wanted = replace(need, cavities=request.cavities)
        going = (basin for basin in ways if _pours(replace(wanted, basin=basin), decision, workshop))
        return Room(basin=next(going, ways[0]))
    most = min(MOST_CAVITIES, shots(need))
    counts = {
        basin: next(
            (
                count
                for count in range(most, 1, -1)
                if _goes(replace(need, cavities=count, basin=basin), decision, workshop)
            ),
            1,
        )
        for basin in ways
    }
    best = max(ways, key=lambda basin: counts[basin])
    return Room(cavities=counts[best], basin=best)


def _goes(need: PartNeed, decision: Decision, workshop: Workshop) -> bool:
    return _pours(need, decision, workshop) and _silicone_goes(need, decision, workshop)


def _pours(need: PartNeed, decision: Decision, workshop: Workshop) -> bool:
    """Whether one mix of the casting material fills all; where none is decided on, nothing is against it."""
    picked = decision.casting
    try:
        return picked is None or in_one_mix(casting_trial(need, workshop, picked.material, picked.additives))
    except WorkshopError:
        return False


def in_one_mix(trial: Trial) -> bool:
    """Whether a single mix fills every cavity of a round before it thickens."""
    return trial.mixes[0].mix.batches == 1 and trial.fit.fits


def _silicone_goes(need: PartNeed, decision: Decision, workshop: Workshop) -> bool:
    """Whether the silicone at hand is enough, each cavity as much as one alone; what must be bought has no bound."""
    if decision.silicone is None:
        return True
    material = decision.silicone.material
    pieces = {name: need.cavities * volume_ml for name, volume_ml in need.pieces_ml.items()}
    try:
        alone = silicone_trial(replace(need, cavities=1), workshop, material, casting=None)
        return (
            not alone.enough
            or silicone_trial(replace(need, pieces_ml=pieces), workshop, material, casting=None).enough
        )
    except WorkshopError:
        return False
