"""The order of work of a part under way: as many rounds as it needs now, and moulds made anew between them."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.schedule.values import Doing, Hold, Network, Task

ROUND, MOULD = re.compile(r"\bround (\d+)\b"), re.compile(r"^mould (\d+)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What a part under way needs: rounds in all, those that are done counted in, and its moulds.

    `moulds`: those it began with, all filled in every round. `renewed`: (round, mould that is replaced), in the order
    in which they were called for; each new mould is made after the round before that one. `a_round`: copies of it.
    """

    rounds: int
    moulds: int = 1
    renewed: tuple[tuple[int, int], ...] = ()
    a_round: int = 1


def going_on(network: Network, part: str, needs: Needs) -> Network:
    """The network with the moulds and rounds of a part as they are needed now; the rest as it was.

    A mould made anew takes what the first one takes, a further round what a full round of the plan takes, and release
    comes again as often as it did. Parts without rounds, and those that are printed, stay as they are.
    """
    own = [task for task in network.tasks if task.part == part]
    rounds = {number: [one for one in own if _round(one) == number] for number in {_round(one) for one in own}}
    moulds = {number: [one for one in own if _mould(one) == number] for number in {_mould(one) for one in own}}
    if 1 not in rounds or 1 not in moulds:
        return network
    course = _Course(part, rounds, moulds, needs)
    first = min(network.tasks.index(one) for one in (*moulds[1], *rounds[1]))
    before = [one for one in network.tasks[:first] if one not in course.old]
    after = [one for one in network.tasks[first:] if one not in course.old]
    tasks = course.tasks()
    known = {one.id for one in tasks}
    holds = [one for one in network.holds if one.last not in course.old_ids]
    proofs = [one for one in network.proofs if one not in course.old_ids]
    return Network(
        tasks=_in_order([*before, *tasks, *after]),
        holds=(*holds, *course.holds(network.holds, known)),
        proofs=(*proofs, *course.proofs(known)),
    )


class _Course:
    """Moulds and rounds of one part, written anew from those of the plan."""

    def __init__(self, part: str, rounds: dict[int, list[Task]], moulds: dict[int, list[Task]], needs: Needs) -> None:
        self._part, self._needs = part, needs
        self._rounds = {number: row for number, row in rounds.items() if number}
        self._moulds = {number: row for number, row in moulds.items() if number}
        self.old = [one for rows in (self._rounds, self._moulds) for row in rows.values() for one in row]
        self.old_ids = {one.id for one in self.old}
        self._renamed: list[tuple[str, str]] = []
        """Which task of the plan each new one is made from."""

    def tasks(self) -> list[Task]:
        """All of them, each after what it waits for."""
        found: list[Task] = []
        made: dict[int, str] = {}
        before: tuple[str, ...] = ()
        in_use = list(range(1, self._needs.moulds + 1))
        for number in in_use:
            row = self._mould(number, before)
            found += row
            before = (made.setdefault(number, _last(row)),)
        latest = self._needs.moulds
        out: tuple[str, ...] = ()
        for number in range(1, self._needs.rounds + 1):
            for _, instead_of in (one for one in self._needs.renewed if one[0] == number):
                latest += 1
                row = self._mould(latest, (made[latest - 1], *out))
                found += row
                made[latest] = _last(row)
                in_use[in_use.index(instead_of)] = latest
            row = self._round(number, (*out, *(made[one] for one in in_use)))
            found += row
            out = (next((one.id for one in row if one.doing is Doing.DEMOULD), _last(row)),)
        return found

    def holds(self, holds: Iterable[Hold], known: set[str]) -> list[Hold]:
        """Machines held as in the plan."""
        found = []
        for hold in holds:
            for old, new in self._renamed:
                if hold.last != old:
                    continue
                first = self._twin(hold.first, old, new)
                if new in known and (first is None or first in known):
                    found.append(Hold(machine=hold.machine, first=first, last=new))
        return found

    def proofs(self, known: set[str]) -> list[str]:
        """The first round, and the first with each new mould."""
        rounds = sorted({1, *(number for number, _ in self._needs.renewed)})
        outs = (f"{self._part}/round {number} out" for number in rounds)
        return [one for one in outs if one in known]

    def _twin(self, first: str | None, old: str, new: str) -> str | None:
        """The task that begins a hold, of the same round or mould as the one that ends it."""
        if first is None:
            return None
        for word in ("round", "mould"):
            was, now = (re.search(rf"/{word} (\d+)\b", one) for one in (old, new))
            if was is not None and now is not None:
                return re.sub(rf"/{word} {was[1]}\b", f"/{word} {now[1]}", first)
        return first

    def _mould(self, number: int, before: tuple[str, ...]) -> list[Task]:
        like = self._moulds.get(number, self._moulds[1])
        source = number if number in self._moulds else 1
        row = []
        for one in like:
            name = one.name if source == number else f"{one.name}, mould {number}"
            row.append(self._copied(one, "mould", source, number, name=name, lane=f"mould {number}"))
        return self._led_in(row, like, before)

    def _round(self, number: int, before: tuple[str, ...]) -> list[Task]:
        source = self._full(number)
        like = self._rounds[source]
        ratio = self._needs.a_round / max(1, _copies(like))
        row = []
        for one in like:
            name = ROUND.sub(f"round {number}", one.name)
            copied = self._copied(one, "round", source, number, name=name, round=number)
            row.append(copied if ratio == 1.0 else _longer(copied, ratio))
        return self._led_in(row, like, before, inside_only=True)

    def _full(self, number: int) -> int:
        """The round of the plan that is written again: full, and with release where this one has it."""
        releases = number > 1 and (number - 1) % RELEASE_EVERY == 0
        alike = [one for one in self._rounds if (one > 1 and (one - 1) % RELEASE_EVERY == 0) == releases]
        among = alike or [one for one in self._rounds if one == 1] or list(self._rounds)
        most = max(_copies(self._rounds[one]) for one in among)
        full = [one for one in among if _copies(self._rounds[one]) == most]
        return number if number in full else full[-1]

    def _copied(self, one: Task, word: str, source: int, number: int, **more: object) -> Task:
        def renamed(name: str) -> str:
            return re.sub(rf"^{re.escape(self._part)}/{word} {source}\b", f"{self._part}/{word} {number}", name)

        self._renamed.append((one.id, renamed(one.id)))
        return replace(
            one,
            id=renamed(one.id),
            after=tuple(renamed(name) for name in one.after),
            at_once=None if one.at_once is None else renamed(one.at_once),
            **more,  # type: ignore[arg-type]
        )

    def _led_in(
        self, row: list[Task], like: Sequence[Task], before: tuple[str, ...], *, inside_only: bool = False
    ) -> list[Task]:
        """What waited for something outside of the row now waits for `before`; the first mould for the surface."""
        inside = {one.id for one in row}
        outside = {name for one in like for name in one.after} - {one.id for one in like}
        kept = {name for name in outside if name not in self.old_ids}
        found = []
        for one in row:
            if all(name in inside for name in one.after) and (one.after or one.at_once is not None):
                found.append(one)
                continue
            within = tuple(name for name in one.after if name in inside)
            surface = () if inside_only else tuple(sorted(kept))
            found.append(replace(one, after=tuple(dict.fromkeys((*within, *surface, *before)))))
        return found


def _longer(one: Task, ratio: float) -> Task:
    """The work on each copy and each mould, for more of them; what waits waits as long."""
    if not one.attended:
        return one
    low, high = (None if each is None else each * ratio for each in (one.low_min, one.high_min))
    return replace(
        one, minutes=one.minutes * ratio, low_min=low, high_min=high, good_copies=round(one.good_copies * ratio)
    )


def _copies(row: Sequence[Task]) -> int:
    return sum(one.good_copies for one in row)


def _last(row: Sequence[Task]) -> str:
    """The task that nothing else of the row waits for."""
    waited = {name for one in row for name in (*one.after, *([one.at_once] if one.at_once else []))}
    return [one.id for one in row if one.id not in waited][-1]


def _round(one: Task) -> int:
    found = re.match(rf"{re.escape(one.part)}/round (\d+)\b", one.id)
    return int(found[1]) if found else 0


def _mould(one: Task) -> int:
    found = MOULD.match(one.lane)
    return int(found[1]) if found else 0


def _in_order(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """Each after what it waits for, otherwise as they are."""
    left, found, seen = list(tasks), [], set[str]()
    while left:
        ready = [one for one in left if {*one.after, *([one.at_once] if one.at_once else [])} <= seen]
        found += ready or left
        seen |= {one.id for one in ready or left}
        left = [one for one in left if one.id not in seen]
    return tuple(found)
