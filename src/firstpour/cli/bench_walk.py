"""A session at the screen: one prompt a step; what is typed is the answer to the step."""

from collections.abc import Callable
from datetime import datetime

import typer

from firstpour.bench.dates import dates_now
from firstpour.bench.defects import defect_said
from firstpour.bench.doing import advance, record_outcome
from firstpour.bench.kept import Bench
from firstpour.bench.sessions import state, undo
from firstpour.bench.state import SessionState
from firstpour.bench.steps import StepKind
from firstpour.bench.weigh_in import weigh_in
from firstpour.cli import bench_shown, show
from firstpour.errors import WorkshopError

ASKS = {
    StepKind.WEIGH: "grams of A + B",
    StepKind.OUTCOME: "good, or DEFECT @ PLACE; several with “;”",
}


def walk_through(bench: Bench, now_is: SessionState, *, now: Callable[[], datetime]) -> None:
    """Until the session is done, or the maker leaves; what was said stays either way."""
    while True:
        bench_shown.show_state(now_is, at=now(), as_json=False)
        if now_is.step is None:
            return
        asked = ASKS.get(now_is.step.kind, "Enter: done")
        words = typer.prompt(f"{asked} (u: take back, c: clocks, q: leave)", default="", show_default=False).strip()
        if words == "q":
            return
        try:
            now_is = _answered(bench, now_is, words, now())
        except WorkshopError as error:
            show.print_words(f"{error.problem} {error.remedy}", style="yellow")


def _answered(bench: Bench, now_is: SessionState, words: str, at: datetime) -> SessionState:
    from firstpour.cli.bench_doing import grams_typed

    step = now_is.step
    assert step is not None  # the walk ends before
    if words == "u":
        return undo(bench, now_is.session, at=at)
    if words == "c":
        return state(bench, now_is.session, at=at)
    if step.kind is StepKind.WEIGH and words:
        a_g, b_g = grams_typed(words)
        answer = weigh_in(bench, now_is.session, at=at, a_g=a_g, b_g=b_g, step=step.id)
        for said in answer.weighed.advice:
            show.print_words(said, style="yellow")
        return answer.state
    if step.kind is StepKind.OUTCOME and words:
        found = [] if words == "good" else [defect_said(one.strip()) for one in words.split(";")]
        told = record_outcome(bench, now_is.session, at=at, defects=found, step=step.id)
        show.print_words(bench_shown.dates_words(dates_now(bench, told.session, at=at)), style="bold")
        return told
    return advance(bench, now_is.session, at=at, step=step.id)
