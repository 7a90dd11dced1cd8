"""The work of a casting, sorted by how often it is done, with the minutes of the table of steps.

Both the plan's reckoning and the routes are made of it, so that they tell the same minutes.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from firstpour.choosing.choice import PlannedMix, PlannedStep
from firstpour.choosing.filling import pour_alone_min, work_min
from firstpour.choosing.preparing import SILICONE_CURES
from firstpour.materials.steps import On, Step, step
from firstpour.mixing.pour import PourFit
from firstpour.routes.work import Work

ON_SILICONE = "silicone on silicone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """One material on the clock: the words for its pour, the pour itself, its mixes, and when it lets go.

    `at_once`: cavities that one mix fills.
    """

    what: str
    fit: PourFit
    mixes: tuple[PlannedMix, ...]
    demould_min: float
    at_once: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CastSteps:
    """The steps of a casting by how often they are done, as they are counted for supplies (decision 0019)."""

    once: tuple[Step, ...]
    """On the surface that silicone copies."""
    between_halves: tuple[Step, ...]
    while_it_cures: tuple[Step, ...]
    once_a_mould: tuple[Step, ...]
    """On the opened mould; release among them comes again now and then."""
    each_shot: tuple[Step, ...]
    each_good: tuple[Step, ...]

    @property
    def now_and_then(self) -> tuple[Step, ...]:
        """What wears off: release that is not put on before every shot."""
        return tuple(one for one in self.once_a_mould if one.id.startswith("release"))


@dataclass(frozen=True, slots=True, kw_only=True)
class CastLabour:
    """Work as a recipe holds it."""

    once: tuple[Work, ...]
    each_mould: tuple[Work, ...]
    each_go: tuple[Work, ...]
    now_and_then: tuple[Work, ...]
    each_good: tuple[Work, ...]


def cast_steps(master_steps: Sequence[Step], planned: Sequence[PlannedStep]) -> CastSteps:
    """The work on the master and the steps that were planned with the materials, each where it belongs."""
    done = {one.id for one in master_steps}
    on_mould = [one for one in planned if one.step.on is On.MOULD and one.before != SILICONE_CURES]
    return CastSteps(
        once=(*master_steps, *(one.step for one in planned if one.before == "silicone" and one.step.id not in done)),
        between_halves=tuple(one.step for one in planned if one.before == ON_SILICONE),
        while_it_cures=tuple(one.step for one in planned if one.before == SILICONE_CURES),
        once_a_mould=tuple(one.step for one in on_mould if not one.step.each_pour),
        each_shot=tuple(one.step for one in on_mould if one.step.each_pour),
        each_good=tuple(one.step for one in planned if one.step.on is On.COPY),
    )


def cast_labour(
    prints: Sequence[Work],
    steps: CastSteps,
    silicone: Poured,
    casting: Poured,
    *,
    serial: bool,
    open_face: bool = False,
    cavities: int = 1,
) -> CastLabour:
    """All work of one part's casting. `serial`: the second half is poured on the first, once that has cured.
    `open_face`: the mould is laid level instead of closed.

    A go is told by the copy: what is done to a mould of several `cavities` is shared among its copies.
    """
    opened = (step("open-mould"), *steps.once_a_mould)
    return CastLabour(
        once=(*prints, *(work_of(one) for one in steps.once)),
        each_mould=(work_of(step("set-up-pour")), *_pours(steps, silicone, serial=serial), *map(work_of, opened)),
        each_go=(
            *(_shared(each_of(one), cavities) for one in (*steps.each_shot, step(readies(open_face=open_face)))),
            _filling(casting),
            Work(what="it sets", wait_min=casting.demould_min),
            each_of(step("demould-copy")),
        ),
        now_and_then=tuple(_shared(each_of(one), cavities) for one in steps.now_and_then),
        each_good=tuple(work_of(one) for one in steps.each_good),
    )


def readies(*, open_face: bool) -> str:
    """The step that makes a mould ready for every shot."""
    return "lay-mould" if open_face else "close-mould"


def _pours(steps: CastSteps, silicone: Poured, *, serial: bool) -> tuple[Work, ...]:
    """The pours of one mould: halves that cure at once wait once, a bedding's one after the other."""
    cure = Work(what="silicone cures", wait_min=silicone.demould_min)
    row: list[Work] = []
    for number, mix in enumerate(silicone.mixes):
        if serial and number:
            row += [cure, *(work_of(one) for one in (step("turn-over"), *steps.between_halves))]
        row.append(Work(what=silicone.what, hands_min=work_min(silicone.fit) * mix.mix.batches))
        row += [work_of(one) for one in steps.while_it_cures]
    return (*row, cure)


def _filling(casting: Poured) -> Work:
    """One mix for as many cavities as it fills; see `filling_min`."""
    alone_min = pour_alone_min(casting.fit)
    openings = max(1, casting.mixes[0].mix.batch_cavities)
    return Work(
        what=casting.what,
        hands_min=work_min(casting.fit) - alone_min,
        hands_each_min=alone_min / openings,
        again_each=casting.at_once,
    )


def _shared(one: Work, cavities: int) -> Work:
    return replace(one, hands_each_min=one.hands_each_min / cavities)


def work_of(one: Step) -> Work:
    """A step done once."""
    return Work(what=one.name, hands_min=one.hands_min, wait_min=one.wait_min, text=one.text)


def each_of(one: Step) -> Work:
    """A step done to each mould or copy of a go; they wait side by side."""
    return Work(what=one.name, wait_min=one.wait_min, hands_each_min=one.hands_min, text=one.text)
