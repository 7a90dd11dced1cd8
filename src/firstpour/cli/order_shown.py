"""The order of work on the screen: its dates first, the same wherever they are told."""

from typing import TYPE_CHECKING

from firstpour.cli import show
from firstpour.cli.show import duration_words

if TYPE_CHECKING:
    from firstpour.files.schedule_entries import ScheduleEntry

MOMENT = "%a %d %b %Y, %H:%M"


def show_dates(entry: "ScheduleEntry") -> None:
    """When the first proof and the last copy are there, what that takes, and how sure it is."""
    show.print_words(f"First proof: {entry.first_proof_at.strftime(MOMENT)}", style="bold")
    show.print_words(f"Last copy: {entry.all_done_at.strftime(MOMENT)}{_due_words(entry)}", style="bold")
    moulds = ", ".join(f"{name} {count}" for name, count in entry.moulds.items())
    show.print_words(
        f"{entry.visits} visits to the bench, {duration_words(entry.hands_min)} of hands. "
        f"{f'Moulds: {moulds}. ' if moulds else ''}{_proved_words(entry)}"
    )
    risk = entry.risk
    chance = "" if risk.chance_ratio is None else f"; it is in time in {100 * risk.chance_ratio:.0f} of 100"
    show.print_words(
        f"How sure: of {risk.runs} runs with other cures, hands and luck half had ended by "
        f"{risk.p50_at.strftime(MOMENT)}, nine of ten by {risk.p90_at.strftime(MOMENT)}{chance}."
    )


def show_drivers(entry: "ScheduleEntry") -> None:
    """What moves the date."""
    drivers = [f"{one.what} ({one.worst_against_best_days:.1f} days)" for one in entry.risk.drivers[:3]]
    if drivers:
        show.print_words(f"What moves the date most, worst against best tenth: {', '.join(drivers)}.")


def _due_words(entry: "ScheduleEntry") -> str:
    if entry.due is None:
        return ""
    late = (entry.all_done_at.date() - entry.due).days
    words = "on that day" if late == 0 else f"{abs(late)} days {'late' if late > 0 else 'to spare'}"
    return f"; due {entry.due:%d %b %Y}, {words}"


def _proved_words(entry: "ScheduleEntry") -> str:
    if entry.proved == "optimal":
        return "Nothing ends sooner with these hours and moulds."
    if entry.proved == "by rule":
        return "Put in order by rule: a better order may exist."
    return f"At most {100 * entry.gap_ratio:.0f} % longer than the best order."
