"""How many cavities one mix of casting material fills in its time, and the silicone at hand is enough for."""

from dataclasses import replace

from firstpour.cavities.values import MOST_CAVITIES
from firstpour.choosing.counts import shots
from firstpour.choosing.decisions import Decision
from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import Trial, casting_trial, silicone_trial
from firstpour.errors import WorkshopError
from firstpour.job.job import PartRequest
from firstpour.workshop.workshop import Workshop


def cavity_room(
    request: PartRequest, need: PartNeed | None, decision: Decision | None, workshop: Workshop | None
) -> int:
    """The most cavities of a part that leaves their number open: one mix, its pot life, silicone, copies to make.

    The silicone of the shelf counts where it is enough for one cavity; else some is bought anyway.
    """
    if not isinstance(request.cavities, str) or need is None or workshop is None or decision is None:
        return MOST_CAVITIES
    most = min(MOST_CAVITIES, max(1, shots(need)))
    counts = range(most, 1, -1)
    return next((count for count in counts if _goes(replace(need, cavities=count), decision, workshop)), 1)


def _goes(need: PartNeed, decision: Decision, workshop: Workshop) -> bool:
    try:
        if decision.casting is not None:
            picked = decision.casting
            if not in_one_mix(casting_trial(need, workshop, picked.material, picked.additives)):
                return False
        return decision.silicone is None or _silicone_goes(need, decision, workshop)
    except WorkshopError:
        return False


def in_one_mix(trial: Trial) -> bool:
    """Whether a single mix fills every cavity of a round before it thickens."""
    return trial.mixes[0].mix.batches == 1 and trial.fit.fits


def _silicone_goes(need: PartNeed, decision: Decision, workshop: Workshop) -> bool:
    """Whether the silicone at hand is enough, each cavity as much as one alone; what must be bought has no bound."""
    assert decision.silicone is not None
    material = decision.silicone.material
    if not silicone_trial(replace(need, cavities=1), workshop, material, casting=None).enough:
        return True
    pieces = {name: need.cavities * volume_ml for name, volume_ml in need.pieces_ml.items()}
    return silicone_trial(replace(need, pieces_ml=pieces), workshop, material, casting=None).enough
