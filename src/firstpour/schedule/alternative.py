"""Something to do otherwise in a job."""

from collections.abc import Mapping
from dataclasses import dataclass

from firstpour.schedule.values import Calendar
from firstpour.schedule.ways import Ways


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alternative:
    """Something to do otherwise: how each part is then done, other hours if so, and what it costs more."""

    name: str
    ways: Mapping[str, Ways]
    calendar: Calendar | None = None
    money: float | None = None
    kind: str = ""
    """Of one kind only the best is told; without it stands for itself."""
