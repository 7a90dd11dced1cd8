"""The solver with a memory: an order of work found before is not looked for again."""

from firstpour.plan.kept import Kept, NothingKept, stage_name
from firstpour.schedule.solve import Effort, solve
from firstpour.schedule.values import Calendar, Network, Schedule


class Solver:
    """Solves, and keeps what it found under all that it depends on: tasks, hours, effort and the code itself."""

    def __init__(self, kept: Kept | None = None) -> None:
        self._kept = kept or NothingKept()

    def solve(self, network: Network, calendar: Calendar, *, effort: Effort | None = None) -> Schedule:
        """As `solve.solve`.

        Raises
        ------
        BadRequest
            If a task fits into no window.
        """
        effort = effort or Effort()
        name = stage_name("order", network, calendar, effort)
        found: Schedule | None = self._kept.get(name)
        if found is None:
            found = solve(network, calendar, effort=effort)
            self._kept.put(name, found)
        return found
