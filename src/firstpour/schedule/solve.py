"""The best schedule: the last copy first, then every proof, then few visits to the bench, then nothing put off."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from firstpour.schedule.dispatch import dispatch, heads_of, tails_of
from firstpour.schedule.values import Calendar, Network, Proved, Schedule

SEED = 52
SOME_LINEAR, ALL_LINEAR = 1, 2
"""What goes into the linear relaxation: with all constraints the sum of all starts is proved in half the time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much work the solver may put in, in its own deterministic seconds for each aim."""

    last: float = 4.0
    proofs: float = 1.5
    visits: float = 2.0
    tidy: float = 1.0


def solve(network: Network, calendar: Calendar, *, effort: Effort | None = None) -> Schedule:
    """Place every task; the same input gives the same schedule on the same version of the solver.

    Aims in order: the end of the last task; the sum of the ends of the proofs; visits (windows in which hands are
    needed); the sum of all starts. Each is held at its best while the next is looked for. The schedule by rule is the
    hint, and the answer where the solver finds none better.

    Raises
    ------
    BadRequest
        If a task fits into no window.
    """
    effort = effort or Effort()
    by_rule = dispatch(network, calendar)
    model = _Model(network, calendar, by_rule)
    best = model.minimise(model.last, effort.last)
    if best is None:
        return by_rule
    bound = model.bound
    proved = Proved.OPTIMAL if bound >= model.value(model.last) else Proved.WITHIN
    model.hold(model.last)
    if network.proofs and effort.proofs > 0.0:
        model.minimise(model.proofs, effort.proofs)
        model.hold(model.proofs)
    visits = model.visits() if effort.visits > 0.0 else None
    if visits is not None:
        model.minimise(visits, effort.visits)
        model.hold(visits)
    if effort.tidy > 0.0:
        model.minimise(model.all_starts, effort.tidy, linear=ALL_LINEAR)
    return model.schedule(proved, bound)


class _Model:
    """Tasks as intervals; what was found last is kept as the hint for the next aim."""

    def __init__(self, network: Network, calendar: Calendar, hint: Schedule) -> None:
        from ortools.sat.python import cp_model

        self._network, self._calendar, self._cp = network, calendar, cp_model
        self._model: Any = cp_model.CpModel()
        self._found: dict[str, int] = dict(hint.starts)
        self._latest = hint.last
        self._steps = {task.id: calendar.steps(task.minutes) for task in network.tasks}
        self._starts: dict[str, Any] = {}
        self._heads, self._tails = heads_of(network, calendar), tails_of(network, calendar)
        self.bound = 0
        self._place_tasks()
        self._keep_order()
        self._share_machines()
        self.last = self._model.new_int_var(0, self._latest, "last")
        for task in network.tasks:
            self._model.add(self.last >= self._end(task.id))
        self.proofs = sum(self._end(name) for name in network.proofs)
        self.all_starts = sum(self._starts.values())
        self._values: dict[int, int] = {}

    def _end(self, name: str) -> Any:
        return self._starts[name] + self._steps[name]

    def _place_tasks(self) -> None:
        hands = []
        for task in self._network.tasks:
            steps = self._steps[task.id]
            if task.at_once is not None and not task.by_hours:
                self._starts[task.id] = self._end(task.at_once)
                continue
            low, high = self._heads[task.id], self._latest - self._tails[task.id]
            domain = [(0, 0)] if task.pinned else [(low, high)]
            if task.by_hours and not task.pinned:
                windows = [(max(low, a), min(high, b - steps)) for a, b in self._calendar.windows]
                domain = [(a, b) for a, b in windows if a <= b]
            start = self._model.new_int_var_from_domain(self._cp.Domain.from_intervals(domain), task.id)
            self._starts[task.id] = start
            if task.at_once is not None:
                self._model.add(start == self._end(task.at_once))
            if task.attended and steps:
                hands.append(self._model.new_fixed_size_interval_var(start, steps, task.id))
        self._model.add_no_overlap(hands)

    def _keep_order(self) -> None:
        held = {name for hold in self._network.every_hold for name in (hold.first, hold.last)}
        for task in self._network.tasks:
            for before, minutes in task.soon_after:
                self._model.add(self._starts[task.id] <= self._end(before) + self._calendar.most_steps(minutes))
            if len(task.after) > 1 and not task.by_hours and task.id not in held:
                # a wait loses nothing by beginning as soon as it can
                self._model.add_max_equality(self._starts[task.id], [self._end(before) for before in task.after])
                continue
            for before in task.after:
                self._model.add(self._starts[task.id] >= self._end(before))

    def _share_machines(self) -> None:
        holds = defaultdict(list)
        for k, hold in enumerate(self._network.every_hold):
            start, end = (0 if hold.first is None else self._starts[hold.first]), self._end(hold.last)
            if hold.first == hold.last:
                size: Any = self._steps[hold.first]
            else:
                size = self._model.new_int_var(0, self._latest, f"held {k}")
            holds[hold.machine].append(self._model.new_interval_var(start, size, end, f"hold {k}"))
        for intervals in holds.values():
            self._model.add_no_overlap(intervals)

    def visits(self) -> Any:
        """The number of windows with attended work in them; None where there is nothing to choose."""
        attended = [
            task for task in self._network.tasks if task.attended and self._steps[task.id] and not task.pinned
        ]
        used: dict[int, Any] = {}
        last = self.value(self.last)
        for task in attended:
            low, high = self._heads[task.id], last - self._tails[task.id]
            steps = self._steps[task.id]
            choices = []
            for number, (a, b) in enumerate(self._calendar.windows):
                first, final = max(low, a), min(high, b - steps)
                if first > final:
                    continue
                here = self._model.new_bool_var(f"{task.id} in {number}")
                self._model.add(self._starts[task.id] >= first).only_enforce_if(here)
                self._model.add(self._starts[task.id] <= final).only_enforce_if(here)
                if number not in used:
                    used[number] = self._model.new_bool_var(f"visit {number}")
                self._model.add_implication(here, used[number])
                choices.append(here)
            self._model.add_exactly_one(choices)
        return sum(used.values()) if used else None

    def minimise(self, aim: Any, seconds: float, *, linear: int = SOME_LINEAR) -> int | None:
        """Look for a better schedule; None where nothing was found in time (what was found before stays)."""
        self._model.clear_hints()
        for name, start in self._starts.items():
            if hasattr(start, "index"):
                self._model.add_hint(start, self._found[name])
        self._model.minimize(aim)
        solver = self._cp.CpSolver()
        solver.parameters.random_seed = SEED
        solver.parameters.num_workers = 1
        solver.parameters.linearization_level = linear
        solver.parameters.max_deterministic_time = seconds
        status = solver.solve(self._model)
        if status not in (self._cp.OPTIMAL, self._cp.FEASIBLE):
            return None
        self._found = {name: solver.value(start) for name, start in self._starts.items()}
        self._values[id(aim)] = round(solver.objective_value)
        self.bound = round(solver.best_objective_bound)
        return self._values[id(aim)]

    def value(self, aim: Any) -> int:
        """What the aim came to when it was last looked for."""
        return self._values[id(aim)]

    def hold(self, aim: Any) -> None:
        """Keep the aim at what it came to from now on."""
        if id(aim) in self._values:
            self._model.add(aim <= self._values[id(aim)])

    def schedule(self, proved: Proved, bound: int) -> Schedule:
        """What was found last."""
        ends = {name: start + self._steps[name] for name, start in self._found.items()}
        return Schedule(
            starts=dict(self._found),
            ends=ends,
            proved=proved,
            bound=bound,
            visits=visits_in(self._network, self._calendar, self._found),
        )


def visits_in(network: Network, calendar: Calendar, starts: dict[str, int]) -> int:
    """Windows in which hands are needed."""
    at = [starts[task.id] for task in network.tasks if task.attended]
    return sum(any(low <= start < high for start in at) for low, high in calendar.windows)
