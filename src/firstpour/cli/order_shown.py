"""The order of work on the screen: its dates first, the same wherever they are told."""

from typing import TYPE_CHECKING

from firstpour.cli import show

if TYPE_CHECKING:
    from firstpour.files.schedule_entries import ScheduleEntry


def show_dates(entry: "ScheduleEntry") -> None:
    """When the first proof and the last copy are there, what that takes, and how sure it is."""
    from firstpour.sheets.order_words import last_words, proof_words, sure_words, takes_words

    show.print_words(proof_words(entry), style="bold")
    show.print_words(last_words(entry), style="bold")
    show.print_words(takes_words(entry))
    show.print_words(sure_words(entry))


def show_drivers(entry: "ScheduleEntry") -> None:
    """What moves the date."""
    from firstpour.sheets.order_words import driver_words

    if words := driver_words(entry):
        show.print_words(words)
