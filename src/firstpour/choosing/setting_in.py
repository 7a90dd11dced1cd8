"""What the inserts of a part ask of every shot: the work of setting in and pulling, and how many to lay in."""

from collections.abc import Iterable

from firstpour.choosing.choice import PlannedStep, Supply
from firstpour.choosing.counts import filled_at_once, shots
from firstpour.choosing.need import PartNeed
from firstpour.materials.steps import step, with_hands

SET_IN, PULL = "set-inserts", "pull-rods"
LAID_IN = "insert"
"""Id of the supplies that are inserts."""


def insert_steps(need: PartNeed) -> tuple[PlannedStep, ...]:
    """Setting in before every shot, and pulling what is pulled from every copy; nothing without inserts."""
    if not need.inserts:
        return ()
    pulled = sum(one.pulled for one in need.inserts)
    lay, pull = step(SET_IN), step(PULL)
    found = [
        PlannedStep(
            before="casting",
            step=with_hands(lay, lay.hands_min * len(need.inserts) * need.cavities),
            reason=f"{len(need.inserts) * need.cavities} inserts a mould",
        )
    ]
    if pulled:
        found.append(
            PlannedStep(
                before="the copy is used",
                step=with_hands(pull, pull.hands_min * pulled),
                reason=f"{pulled} rods a copy",
            )
        )
    return tuple(found)


def insert_supplies(needs: Iterable[PartNeed]) -> tuple[Supply, ...]:
    """Inserts to lay in: one a shot of what stays, spoiled ones counted; of rods as many as a round fills."""
    found = []
    for need in needs:
        for words in dict.fromkeys(one.words for one in need.inserts):
            same = [one for one in need.inserts if one.words == words]
            pulled = same[0].pulled
            found.append(
                Supply(
                    id=LAID_IN,
                    name=f"{words.removeprefix('a ').removeprefix('the insert ')} for {need.name}",
                    count=len(same) * (filled_at_once(need) if pulled else shots(need)),
                    note="used again in every round" if pulled else "one a shot, spoiled shots counted",
                    never=(),
                )
            )
    return tuple(found)
