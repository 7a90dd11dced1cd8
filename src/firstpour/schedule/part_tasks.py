"""The tasks of one part, from its plan: prints, the work on them, the moulds, the rounds of casting, each once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from firstpour.choosing.choice import Chosen
from firstpour.choosing.filling import filling_min, work_min
from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.errors import BadRequest
from firstpour.materials.figures import FigureName
from firstpour.materials.steps import Minutes, Step, step
from firstpour.parting.values import MouldKind
from firstpour.plan.printing import PiecePrint
from firstpour.plan.values import PartPlan
from firstpour.routes.labour import cast_steps
from firstpour.schedule.values import Doing, Hold, Network, Task

POT, IN_POT = "pressure pot", ("pot-hold", "pot-cure")
SHORTEST_RATIO, LONGEST_RATIO = 0.75, 1.8
"""Spread of a pour's minutes (decision 0004)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """What may be done otherwise for a part: so many moulds, cures shorter by a factor.

    `shots`: instead of those that the plan reckons with; `again`: times that each mould may have to be made anew;
    `ready`: moulds that there are in each round, one more a round where it does not say; `halves_at_once`: both
    halves are poured in trays; `pot`: whether the pressure pot takes one thing at a time.
    """

    moulds: int
    shots: int | None = None
    again: int = 0
    ready: tuple[int, ...] = ()
    halves_at_once: bool = False
    pot: bool = True
    silicone_cure_ratio: float = 1.0
    casting_cure_ratio: float = 1.0


def part_tasks(one: PartPlan, ways: Ways) -> Network:
    """Every task of the part in order.

    Raises
    ------
    BadRequest
        If silicone or casting material is missing.
    """
    choice = one.choice
    if choice is None or choice.silicone is None or choice.casting is None:
        raise BadRequest(
            f"{one.request.name}: without a silicone and a casting material nothing can be put in order",
            remedy="give the part a hardness, and enter materials on the shelf that reach it",
        )
    chain = _Chain(one.request.name)
    ready = _prints(chain, one)
    chain.at(lane="surface")
    ready = _surface(chain, one, choice.silicone, ready)
    opened: list[str] = []
    for number in range(1, ways.moulds + 1):
        for again in range(ways.again + 1):
            chain.at(lane=f"mould {number}", mould=number, again=again)
            ready = (_mould(chain, one, choice.silicone, ways, number, ready),)
        opened += ready
    _rounds(chain, one, choice.casting, ways, opened)
    return Network(tasks=tuple(chain.tasks), holds=tuple(chain.holds), proofs=tuple(chain.proofs))


class _Chain:
    """Tasks of a part as they are added, one after what it waits for."""

    def __init__(self, part: str) -> None:
        self.part = part
        self.tasks: list[Task] = []
        self.holds: list[Hold] = []
        self.proofs: list[str] = []
        self._place: dict[str, object] = {}
        self._key = ""

    def at(self, **place: object) -> None:
        """What is added from now on belongs there: lane, mould, again, round."""
        self._place = place
        self._key = f" again {place['again']}" if place.get("again") else ""

    def add(self, key: str, name: str, doing: Doing, time: Minutes, after: Sequence[str] = (), **more: object) -> str:
        """Add a task and give its id."""
        task_id = f"{self.part}/{key}{self._key}"
        self.tasks.append(
            Task(
                id=task_id,
                name=name,
                part=self.part,
                doing=doing,
                minutes=time.likely_min,
                low_min=time.low_min,
                high_min=time.high_min,
                after=tuple(after),
                **{**self._place, **more},  # type: ignore[arg-type]
            )
        )
        return task_id

    def wait(self, key: str, name: str, time: Minutes, of: str, *, alike: str | None = None) -> str:
        """A wait that begins the moment that the task `of` ends."""
        return self.add(key, name, Doing.WAIT, time, at_once=of, alike=alike)

    def work(self, key: str, one: Step, after: tuple[str, ...], *, times: int = 1) -> tuple[str, ...]:
        """A step of the table: its hands, then its wait; what comes next waits for what is given back."""
        last = after
        if one.hands_min > 0:
            hands = _times(one.hands, times)
            last = (
                self.add(
                    key, one.name, Doing.WORK, hands, last, attended=True, text=one.text, can_pause=one.wait_min <= 0
                ),
            )
        if one.wait_min > 0:
            name = one.name if one.hands_min <= 0 else f"wait after: {one.name}"
            if len(last) == 1:
                last = (self.wait(f"{key} wait", name, one.wait, last[0]),)
            else:
                last = (self.add(f"{key} wait", name, Doing.WAIT, one.wait, last),)
        return last


def _prints(chain: _Chain, one: PartPlan) -> tuple[str, ...]:
    """Every piece on its printer, cleaned; what they all end with."""
    ends: tuple[str, ...] = ()
    for piece in one.printing.pieces:
        last = _print(chain, piece)
        for each in one.printing.cleaning_of(piece):
            last = chain.work(f"{piece.name} {each.id}", _of(each, piece.name), last)
        ends += last
    return ends


def _print(chain: _Chain, piece: PiecePrint) -> tuple[str, ...]:
    """Start, run and take off; the printer is held from the first to the last."""
    printer = piece.plan.printer
    handling = _about(printer.handling_min / 2.0)
    started = chain.add(
        f"{piece.name} start", f"start the print of {piece.name}", Doing.PRINT, handling, attended=True
    )
    run = chain.add(
        f"{piece.name} run",
        f"{piece.name} prints",
        Doing.PRINT,
        _about(printer.run_min(piece.plan.print_min)),
        at_once=started,
        watched=not printer.overnight,
    )
    off = chain.add(f"{piece.name} off", f"take {piece.name} off", Doing.PRINT, handling, (run,), attended=True)
    chain.holds.append(Hold(machine=printer.name, first=started, last=off))
    return (off,)


def _surface(chain: _Chain, one: PartPlan, silicone: Chosen, ready: tuple[str, ...]) -> tuple[str, ...]:
    """The work on the surface that silicone meets, once for all moulds."""
    for each in cast_steps(one.printing.steps, silicone.steps).once:
        ready = chain.work(each.id, each, ready)
    return ready


def _mould(chain: _Chain, one: PartPlan, silicone: Chosen, ways: Ways, number: int, before: tuple[str, ...]) -> str:
    """One mould from set-up to opened and fit to be cast in; the task that ends it."""
    which = "" if ways.moulds == 1 else f" of mould {number}"
    key = f"mould {number}"
    minutes = work_min(silicone.fit)
    cure = _spread_of(silicone, silicone.demould_min * ways.silicone_cure_ratio)
    assert one.choice is not None
    assert one.choice.casting is not None
    steps = cast_steps((), (*silicone.steps, *one.choice.casting.steps))
    setting = steps.while_it_cures
    last = chain.work(f"{key} set up", _of(step("set-up-pour"), f"mould {number}" if which else ""), before)
    serial = one.mould.kind is MouldKind.BEDDING and not ways.halves_at_once
    cured: list[str] = []
    for n, mix in enumerate(silicone.mixes):
        if serial and n:
            last = chain.work(f"{key} turn", step("turn-over"), (cured[-1],))
            for each in steps.between_halves:
                last = chain.work(f"{key} {each.id}", each, last)
        poured = chain.add(
            f"{key} pour {mix.what}",
            f"mix and pour {mix.what}{which}",
            Doing.POUR,
            _pour(minutes * mix.mix.batches),
            last,
            attended=True,
        )
        for one_step in setting:
            poured = chain.work(f"{key} {mix.what} {one_step.id}", one_step, (poured,))[-1]
        cured.append(chain.wait(f"{key} cure {mix.what}", f"{mix.what} cures{which}", cure, poured, alike="silicone"))
        if setting and ways.pot and (serial or not n):
            in_pot = poured
        if setting and ways.pot and (serial or n == len(silicone.mixes) - 1):
            chain.holds.append(Hold(machine=POT, first=in_pot, last=cured[-1]))
        last = (poured,) if not serial else (cured[-1],)
    last = chain.work(f"{key} open", _of(step("open-mould"), f"mould {number}" if which else ""), tuple(cured))
    for each in steps.once_a_mould:
        last = chain.work(f"{key} {each.id}", each, last)
    return last[0]


def _rounds(chain: _Chain, one: PartPlan, casting: Chosen, ways: Ways, opened: list[str]) -> None:
    """Rounds of casting: the first mould alone proves itself, then one mix fills every mould that is ready."""
    assert one.choice is not None
    cure = _spread_of(casting, casting.demould_min * ways.casting_cure_ratio)
    steps = cast_steps((), casting.steps)
    before_each, after_each = steps.each_shot, steps.each_good
    in_pot = any(each.id in IN_POT for each in before_each)
    last: tuple[str, ...] = (opened[0],)
    left, number, cavities = one.choice.pours if ways.shots is None else ways.shots, 0, one.mould.cavities
    while left > 0:
        number += 1
        ready = min(ways.moulds, _ready_in(ways, number), ceil(left / cavities))
        copies = min(left, ready * cavities)
        left -= copies
        chain.at(lane="casting", round=number)
        key = f"round {number}"
        which = f"round {number}" + ("" if ready == 1 else f", {ready} moulds")
        last = tuple(dict.fromkeys((*last, *opened[:ready])))
        again = steps.now_and_then if number > 1 and (number - 1) % RELEASE_EVERY == 0 else ()
        for each in again:
            last = chain.work(f"{key} {each.id}", _of(each, which), last, times=ways.moulds)
        for each in before_each:
            if each.id not in IN_POT:
                last = chain.work(f"{key} {each.id}", _of(each, which), last, times=ready)
        hands_min = filling_min(
            casting.fit,
            openings=_planned_cavities(casting),
            cavities=copies,
            at_once=casting.at_once * cavities,
        )
        closing = step("close-mould").hands
        for each in before_each:
            closing = _plus(closing, each.hands) if each.id in IN_POT else closing
        poured = chain.add(
            f"{key} cast", f"close, mix and cast, {which}", Doing.POUR,
            _plus(_pour(hands_min), _times(closing, ready)), last, attended=True,
        )  # fmt: skip
        cured = chain.wait(f"{key} sets", f"{which} sets", cure, poured, alike="casting")
        out = chain.add(
            f"{key} out", f"take out and trim, {which}", Doing.DEMOULD, _times(step("demould-copy").hands, copies),
            (cured,), attended=True, good_copies=copies, text=step("demould-copy").text,
        )  # fmt: skip
        if number == 1:
            chain.proofs.append(out)
        if in_pot and ways.pot:
            chain.holds.append(Hold(machine=POT, first=poured, last=out))
        last = (out,)
        painting: tuple[str, ...] = last
        chain.at(lane="finish", round=number)
        for each in after_each:
            painting = chain.work(f"{key} {each.id}", _of(each, which), painting, times=copies)


def _ready_in(ways: Ways, number: int) -> int:
    """Moulds to fill in that round: the first alone, as proof; then as many as there are."""
    if number <= len(ways.ready):
        return max(1, ways.ready[number - 1])
    return max(1, number - 1, *ways.ready)


def _planned_cavities(casting: Chosen) -> int:
    return max(1, casting.mixes[0].mix.batch_cavities)


def _spread_of(chosen: Chosen, likely_min: float) -> Minutes:
    """A cure with the spread of the record's demould time."""
    figure = chosen.material.figures.get(FigureName.DEMOULD)
    if figure is None or figure.value <= 0:
        return _about(likely_min)
    low, high = figure.lowest / figure.value, figure.highest / figure.value
    return Minutes(low_min=min(1.0, low) * likely_min, likely_min=likely_min, high_min=max(1.0, high) * likely_min)


def _of(one: Step, what: str) -> Step:
    return replace(one, name=f"{one.name}, {what}") if what else one


def _about(minutes: float) -> Minutes:
    return Minutes(low_min=minutes, likely_min=minutes, high_min=minutes)


def _pour(minutes: float) -> Minutes:
    return Minutes(low_min=SHORTEST_RATIO * minutes, likely_min=minutes, high_min=LONGEST_RATIO * minutes)


def _times(one: Minutes, count: int) -> Minutes:
    return Minutes(low_min=count * one.low_min, likely_min=count * one.likely_min, high_min=count * one.high_min)


def _plus(a: Minutes, b: Minutes) -> Minutes:
    return Minutes(
        low_min=a.low_min + b.low_min, likely_min=a.likely_min + b.likely_min, high_min=a.high_min + b.high_min
    )
