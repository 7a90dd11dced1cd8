"""The order of work in words, the same on the screen and on paper: dates, how sure they are, what would buy time."""

from collections.abc import Sequence
from datetime import datetime

from firstpour.files.schedule_entries import OptionEntry, ScheduleEntry, TaskEntry
from firstpour.units import count_words
from firstpour.workshop.hours import HOUR_MIN

MOMENT = "%a %d %b %Y, %H:%M"
SOONER_DAYS = 0.05
"""What wins less than this is no option."""
DRIVERS = 3
OPTION_HEAD = ("", "days won", "last copy", "proof", "hands", "money")
MONEY_NOTE = "Money is what the materials cost more or less, empty where a price is not known."


def proof_words(entry: ScheduleEntry) -> str:
    """When the first mould is proved."""
    return f"First proof: {entry.first_proof_at.strftime(MOMENT)}"


def last_words(entry: ScheduleEntry) -> str:
    """When the last copy is there, against the date."""
    words = f"Last copy: {entry.all_done_at.strftime(MOMENT)}"
    if entry.due is None:
        return words
    late = (entry.all_done_at.date() - entry.due).days
    against = "on that day" if late == 0 else f"{_days(abs(late))} {'late' if late > 0 else 'to spare'}"
    return f"{words}; due {entry.due:%d %b %Y}, {against}"


def takes_words(entry: ScheduleEntry) -> str:
    """Visits, hands and moulds, and how good this order is."""
    moulds = ", ".join(f"{name} {count}" for name, count in entry.moulds.items())
    return (
        f"{count_words(entry.visits, 'visit', 'visits')} to the bench, {hands_words(entry.hands_min)} of hands. "
        f"{f'Moulds: {moulds}. ' if moulds else ''}{_proved_words(entry)}"
    )


def sure_words(entry: ScheduleEntry) -> str:
    """What the runs with other cures, hands and luck came to."""
    risk = entry.risk
    chance = "" if risk.chance_ratio is None else f"; it is in time in {100 * risk.chance_ratio:.0f} of 100"
    return (
        f"How sure: of {risk.runs} runs with other cures, hands and luck half had ended by "
        f"{risk.p50_at.strftime(MOMENT)}, nine of ten by {risk.p90_at.strftime(MOMENT)}{chance}."
    )


def driver_words(entry: ScheduleEntry) -> str:
    """What moves the date; empty where nothing does."""
    drivers = [f"{one.what} ({one.worst_against_best_days:.1f} days)" for one in entry.risk.drivers[:DRIVERS]]
    return f"What moves the date most, worst against best tenth: {', '.join(drivers)}." if drivers else ""


def option_rows(entry: ScheduleEntry) -> list[tuple[str, ...]]:
    """What would buy time below the job as it stands, under `OPTION_HEAD`; empty where nothing would."""
    sooner = [option_row(one) for one in _sooner(entry.options)]
    stands = (
        "as it stands",
        "",
        day_words(entry.all_done_at),
        day_words(entry.first_proof_at),
        hands_words(entry.hands_min),
        "",
    )
    return [stands, *sooner] if sooner else []


def option_row(option: OptionEntry) -> tuple[str, ...]:
    """A row of what would buy time; what the materials cost more stands as a sum with its sign."""
    money = "" if option.money is None else "0" if abs(option.money) < 0.5 else f"{option.money:+.0f}"
    name = f"{option.name} ({option.note})" if option.note else option.name
    return (
        name,
        f"{option.sooner_days:.1f}",
        day_words(option.all_done_at),
        day_words(option.first_proof_at),
        hands_words(option.hands_min),
        money,
    )


def no_sooner_words(entry: ScheduleEntry) -> str:
    """What was tried and buys no time; empty where nothing was."""
    sooner = _sooner(entry.options)
    others = [one.name for one in entry.options if one not in sooner]
    if not others:
        return ""
    return f"{'No sooner with' if sooner else 'Nothing buys time, not even'}: {'; '.join(others)}."


def from_to_words(task: TaskEntry) -> str:
    """From when to when, the day of the end where it is another."""
    ends = f"{task.end:%H:%M}" if task.end.date() == task.start.date() else f"{task.end:%a %H:%M}"
    return f"{task.start:%H:%M}–{ends}"


def day_words(moment: datetime) -> str:
    """A day of a year that one knows."""
    return f"{moment.day} {moment:%b}"


def hands_words(minutes: float) -> str:
    """Hours of hands.

    >>> hands_words(270)
    '4.5 h'
    """
    return f"{minutes / HOUR_MIN:.1f} h"


def _sooner(options: Sequence[OptionEntry]) -> list[OptionEntry]:
    return [one for one in options if one.sooner_days > SOONER_DAYS]


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def _proved_words(entry: ScheduleEntry) -> str:
    if entry.proved == "optimal":
        return "Nothing ends sooner with these hours and moulds."
    if entry.proved == "by rule":
        return "Put in order by rule: a better order may exist."
    return f"At most {100 * entry.gap_ratio:.0f} % longer than the best order."
