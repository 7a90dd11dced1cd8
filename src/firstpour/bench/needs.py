"""What a part under way still needs: rounds or plates for the copies that are missing, by the yield that was seen."""

from math import ceil

from firstpour.bench.course import good_before, round_in, round_of, rounds_begun
from firstpour.bench.plates import copies_on
from firstpour.bench.read import Session, made_of
from firstpour.choosing.counts import ENOUGH_CONFIDENCE
from firstpour.formulas.yields import pours_for_good_seen
from firstpour.schedule.going_on import Needs
from firstpour.store.learned import Learned
from firstpour.store.runs import EntryKind

CAST_BEFORE = (18.0, 2.0)
"""Good and spoiled shots before any was seen: nine of ten, counted like 20 (decision 0072)."""
PRINT_BEFORE = (19.0, 1.0)
"""The same of prints: nineteen of twenty (decisions 0051 and 0072)."""


def cast_needs(session: Session, learned: Learned, *, planned_rounds: int) -> Needs:
    """Rounds in all and the moulds, from the log; before the first outcome, rounds as planned."""
    cavities = 1 if session.cast is None else session.cast.mould.cavities
    a_round = session.run.moulds * cavities
    done = max((round_of(session, one.entry_id) for one in session.outcomes), default=0)
    rounds = planned_rounds
    if done:
        to_come = a_round * done - len(session.outcomes)
        rounds = done + ceil(max(0, _more(session, learned, CAST_BEFORE) - to_come) / a_round)
    return Needs(
        rounds=max(rounds, rounds_begun(session)),
        moulds=session.run.moulds,
        renewed=tuple(
            (round_in(one.step) or 1, int(one.note)) for one in session.log if one.kind is EntryKind.NEW_MOULD
        ),
        a_round=a_round,
    )


def plates_needed(session: Session, learned: Learned) -> list[int]:
    """Copies on each plate: those begun as they are, then what is missing, spoiled ones reckoned in."""
    part = session.printed
    assert part is not None
    if not session.outcomes:
        return list(part.on_plates) or [part.copies]
    begun = rounds_begun(session)
    plates = [copies_on(part, n, part.copies - good_before(session, n)) for n in range(1, begun + 1)]
    answered = len(session.outcomes)
    to_come = sum(plates) - answered
    more = max(0, _more(session, learned, PRINT_BEFORE) - to_come)
    while more > 0:
        next_one = min(copies_on(part, len(plates) + 1, more), more)
        plates.append(next_one)
        more -= next_one
    return plates


def _more(session: Session, learned: Learned, before: tuple[float, float]) -> int:
    """Shots or prints that are still to reckon with, nine times in ten enough."""
    missing = max(0, session.part.copies - session.good)
    seen = learned.seen(made_of(session.part))
    return pours_for_good_seen(
        missing,
        good_weight=before[0] + seen.good,
        spoiled_weight=before[1] + seen.shots - seen.good,
        confidence_ratio=ENOUGH_CONFIDENCE,
    )
