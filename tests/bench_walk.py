"""A session walked through at the bench with the clock passed in: every step done, weighed as planned."""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta

from firstpour.bench.defects import Defect
from firstpour.bench.doing import advance, record_outcome
from firstpour.bench.kept import Bench
from firstpour.bench.state import SessionState
from firstpour.bench.steps import StepKind
from firstpour.bench.weigh_in import weigh_in

NOON = datetime(2027, 1, 4, 12, tzinfo=UTC)
MINUTES_A_STEP = 3
Spoiled = Mapping[int, Sequence[Defect]]


def walk(
    bench: Bench,
    state: SessionState,
    *,
    at: datetime,
    until: Callable[[SessionState], bool] = lambda _: False,
    spoiled: Spoiled | None = None,
) -> tuple[SessionState, datetime]:
    """Do step after step until one is reached, or the end; a wait takes as long as its longest clock.

    `spoiled`: the defects of what comes out in a round.
    """
    while not state.done and not until(state):
        assert state.step is not None
        step = state.step
        at += timedelta(minutes=MINUTES_A_STEP)
        waits = [one.ends_at for one in state.clocks if one.name in step.waits_for]
        at = max([at, *waits])
        if step.kind is StepKind.WEIGH:
            assert step.weigh is not None
            answer = weigh_in(bench, state.session, at=at, a_g=step.weigh.a_g, b_g=step.weigh.b_g, step=step.id)
            state = answer.state
        elif step.kind is StepKind.OUTCOME:
            defects = (spoiled or {}).get(state.round, ())
            state = record_outcome(bench, state.session, at=at, defects=defects, step=step.id)
        else:
            state = advance(bench, state.session, at=at, step=step.id)
    return state, at


def at_kind(kind: StepKind) -> Callable[[SessionState], bool]:
    """Whether the step to do is of this kind."""
    return lambda state: state.step is not None and state.step.kind is kind
