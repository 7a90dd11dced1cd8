"""How a session is shown: the step large and plain, its clocks, and what to look out for."""

from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from firstpour.cli import show
from firstpour.sheets.words import wait_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from firstpour.bench.again import Again
    from firstpour.bench.causes import Likely
    from firstpour.bench.clocks import ClockLine
    from firstpour.bench.dates import Dates
    from firstpour.bench.kept import Bench
    from firstpour.bench.state import SessionState
    from firstpour.bench.weigh_in import WeighAnswer
    from firstpour.store.learned import Learned


def show_state(state: "SessionState", *, at: datetime, as_json: bool) -> None:
    """The session as it stands at `at`."""
    if as_json:
        show.print_json(as_table(state))
        return
    show.print_words(
        f"Session {state.session}, {state.part}: {state.good} of {state.copies} good"
        + (f", {state.spoiled} spoiled" if state.spoiled else "")
    )
    if state.step is None:
        show.print_words(state.stage.capitalize() + ".", style="bold")
    else:
        step = state.step
        for caution in step.cautions:
            show.print_words(f"! {caution}", style="yellow")
        place = f"{state.stage}, step {state.step_number} of {state.steps_in_stage}"
        show.print_words(f"{step.title}  ({place})", style="bold")
        for item in step.items:
            show.print_words(f"- {item}")
        if step.picture is not None:
            show.print_words(f"Picture: {state.plan_folder}/{step.picture}", style="dim")
    for clock in state.clocks:
        show.print_words(f"Clock: {clock_words(clock)}", style="" if clock.left_s > 0 else "bold")
    show.print_findings(state.findings)


def show_with_dates(bench: "Bench", state: "SessionState", *, at: datetime, as_json: bool) -> None:
    """The session, and the last copy of its job before and after what was just said."""
    from firstpour.bench.dates import dates_now

    dates = dates_now(bench, state.session, at=at)
    if as_json:
        show.print_json({**as_table(state), "dates": as_table(dates)})
        return
    show_state(state, at=at, as_json=False)
    show.print_words(dates_words(dates), style="bold")


def dates_words(dates: "Dates") -> str:
    """“Last copy of Tide pool: Fri 16 Apr, 12:00 → Mon 19 Apr, 10:00 (2 d 22 h later)”."""
    if dates.all_done_at is None:
        return f"Last copy of {dates.job}: not known. {dates.not_known}"
    now = moment_words(dates.all_done_at)
    if dates.before is None:
        return f"Last copy of {dates.job}: {now}"
    later_min = round((dates.all_done_at - dates.before).total_seconds() / 60)
    if later_min == 0:
        return f"Last copy of {dates.job}: {now}, as before"
    how = "later" if later_min > 0 else "sooner"
    return f"Last copy of {dates.job}: {moment_words(dates.before)} → {now} ({wait_words(abs(later_min))} {how})"


def show_weighed(answer: "WeighAnswer", *, at: datetime, as_json: bool) -> None:
    """What was weighed, judged, and the session after it."""
    if as_json:
        show.print_json(
            {
                "weighed": as_table(answer.weighed),
                "taken": as_tables(answer.taken),
                "findings": as_tables(answer.findings),
                "state": as_table(answer.state),
            }
        )
        return
    one = answer.weighed
    show.print_words(
        f"{one.total_g:.2f} g; B is {100 * one.ratio_error_ratio:+.1f} % off its ratio to A "
        f"(it may be {100 * one.tolerance_ratio:.2g} %; the scale alone {100 * one.scale_share_ratio:.1f} %): "
        f"{one.verdict.value}.",
        style="bold",
    )
    for words in one.advice:
        show.print_words(words)
    show.print_findings(answer.findings)
    show_state(answer.state, at=at, as_json=False)


MOST_CAUSES = 5


def show_learned(learned: "Learned", *, as_json: bool) -> None:
    """What was learned, each with the number of times that it was seen."""
    from firstpour.files.learned_entries import factor_name, learned_entry

    entry = learned_entry(learned)
    if as_json:
        show.print_json(entry)
        return
    rows = [(one.part, one.way or "-", one.material or "-", f"{one.good} of {one.shots}") for one in entry.yields]
    show.print_table("Good shots", ["part", "made in", "of", "seen"], rows)
    times_seen = [(factor_name(one), f"{one.ratio:.2f}", str(one.times)) for one in entry.factors]
    show.print_table("Against what was planned", ["", "×", "times seen"], times_seen)
    if not rows and not times_seen:
        show.print_words("Nothing was seen yet.")


def show_causes(causes: "Sequence[Likely]", *, as_json: bool) -> None:
    """The likeliest causes with their reasons; in JSON all of them."""
    if as_json:
        show.print_json({"causes": as_tables(causes)})
        return
    for one in causes[:MOST_CAUSES]:
        show.print_words(
            f"{100 * one.share:.0f} %  {one.name} (at first {100 * one.prior_share:.0f} %)", style="bold"
        )
        for reason in one.reasons_for:
            show.print_words(f"for: {reason.words} (× {reason.ratio:g})", indent=2)
        for reason in one.reasons_against:
            show.print_words(f"against: {reason.words} (× {reason.ratio:g})", indent=2)
        show.print_words(f"try: {one.next_try}", indent=2)
    show.print_words("Shares are estimates of our own: they rank what to try first, and are no frequencies.")


def show_again(again: "Again", *, as_json: bool) -> None:
    """The order of work from now on."""
    found = again.replanned
    left = [one for one in found.tasks if one.task.id not in found.done]
    if as_json:
        tasks = [
            {
                "id": one.task.id,
                "name": one.task.name,
                "part": one.task.part,
                "start": one.start.isoformat(),
                "end": one.end.isoformat(),
                "hands": one.task.attended,
                "running": one.task.id in found.running,
            }
            for one in left
        ]
        proof = None if found.first_proof_at is None else found.first_proof_at.isoformat()
        dates = {"first_proof_at": proof, "all_done_at": found.all_done_at.isoformat()}
        show.print_json({**dates, "good": dict(again.good), "rounds": dict(again.rounds), "tasks": tasks})
        return
    if found.first_proof_at is not None:
        show.print_words(f"Next proof: {moment_words(found.first_proof_at)}", style="bold")
    show.print_words(f"Last copy: {moment_words(found.all_done_at)}", style="bold")
    for part, rounds in again.rounds.items():
        show.print_words(f"{part}: {again.good.get(part, 0)} good so far, {rounds} rounds to reckon with")
    for one in left:
        runs = ", runs" if one.task.id in found.running else ""
        words = f"{moment_words(one.start)} – {moment_words(one.end)}: {one.task.part}: {one.task.name}{runs}"
        show.print_words(words, indent=2, style="" if one.task.attended else "dim")


def clock_words(clock: "ClockLine") -> str:
    """“pot life of …: 12 min 5 s left, until 14:32”."""
    left_s = abs(int(clock.left_s))
    hours, rest = divmod(left_s, 3600)
    minutes, seconds = divmod(rest, 60)
    length = f"{hours} h {minutes} min" if hours else f"{minutes} min {seconds} s"
    how = "left, until" if clock.left_s > 0 else "over, since"
    return f"{clock.name}: {length} {how} {moment_words(clock.ends_at)}"


def moment_words(at: datetime) -> str:
    """A moment by the clock here."""
    return f"{at.astimezone():%a %d %b, %H:%M}"


def as_table(value: Any) -> dict[str, Any]:
    """A value under its keys, moments as ISO 8601 in UTC."""
    return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}


def as_tables(values: "Iterable[Any]") -> list[dict[str, Any]]:
    """Each of them so."""
    return [as_table(one) for one in values]


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return as_table(value)
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    return value
