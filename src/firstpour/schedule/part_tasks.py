"""The tasks of one part, from its plan: prints, the work on them, the moulds, the rounds of casting, each once."""

from collections.abc import Sequence
from math import ceil

from firstpour.choosing.choice import Chosen
from firstpour.choosing.filling import work_min
from firstpour.errors import BadRequest
from firstpour.materials.steps import Step, step
from firstpour.mould.values import Role
from firstpour.parting.values import MouldKind
from firstpour.plan.printing import CLEANING, COPIED, PiecePrint
from firstpour.plan.values import PartPlan
from firstpour.routes.labour import cast_steps
from firstpour.schedule.chain import Chain, cure_of, exactly, named, pour_spread
from firstpour.schedule.round_tasks import POT, add_rounds
from firstpour.schedule.values import Doing, Hold, Network
from firstpour.schedule.ways import Ways

WORKED_ON = (Role.MASTER, *COPIED)
"""Pieces whose surface silicone copies, the master among them."""


def can_be_put_in_order(one: PartPlan) -> bool:
    """Whether it has a silicone and a casting material."""
    return one.choice is not None and one.choice.silicone is not None and one.choice.casting is not None


def part_tasks(one: PartPlan, ways: Ways) -> Network:
    """Every task of the part in order.

    Raises
    ------
    BadRequest
        If silicone or casting material is missing.
    """
    choice = one.choice
    if choice is None or choice.silicone is None or choice.casting is None:
        raise _missing(one)
    chain = Chain(one.request.name)
    on_surface = cast_steps(one.printing.steps, choice.silicone.steps).once
    has_master = any(piece.role is Role.MASTER for piece in one.printing.pieces)
    of_master = tuple(each for each in on_surface if has_master and each.id in CLEANING)
    ready, others = _prints(chain, one, ways, of_master)
    chain.at(lane="surface")
    for each in on_surface:
        if each not in of_master:
            ready = chain.work(each.id, each, ready)
    ready += others
    opened: list[str] = []
    for number in range(1, ways.moulds + 1):
        for again in range(ways.again + 1):
            chain.at(lane=f"mould {number}", mould=number, again=again)
            out, done = _mould(chain, one, choice.silicone, ways, number, ready)
            ready = (out,)
        opened.append(done)
    add_rounds(chain, one, choice.casting, ways, opened)
    return Network(tasks=tuple(chain.tasks), holds=tuple(chain.holds), proofs=tuple(chain.proofs))


def _missing(one: PartPlan) -> BadRequest:
    """What the part has no material of, and what to do: it was never asked for, or none on the shelf will do."""
    choice = one.choice
    if choice is None:
        return BadRequest(
            f"{one.request.name}: without a silicone and a casting material nothing can be put in order",
            remedy="give the part a hardness, and enter materials on the shelf that reach it",
        )
    lacks = [
        what for what, found in (("silicone", choice.silicone), ("casting material", choice.casting)) if found is None
    ]
    return BadRequest(
        f"{one.request.name}: without a {' and a '.join(lacks)} nothing can be put in order",
        remedy="put right what the plan finds of it: it tells why none on the shelf will do",
    )


def _prints(
    chain: Chain, one: PartPlan, ways: Ways, of_master: Sequence[Step]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Every piece on its printer, again where it may fail, and cleaned by itself; what they end with.

    First those whose surface silicone copies, which is worked on next, then the others, which are wanted when the
    mould is set up: a box, a rod, a foot. What the master, printed by itself, needs at once (`of_master`) does not
    wait for any other piece.
    """
    ratio = 1.0 if ways.cavities is None else ways.cavities.print_ratio
    copied: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    for piece in one.printing.pieces:
        last: tuple[str, ...] = ()
        for again in range(ways.prints_again + 1):
            chain.at(lane="prints", piece=piece.name, again=again)
            last = _print(chain, piece, ratio, last)
        chain.at(lane="prints")
        for each in one.printing.cleaning_of(piece):
            last = chain.work(f"{piece.name} {each.id}", named(each, piece.name), last)
        for each in of_master if piece.role is Role.MASTER else ():
            last = chain.work(each.id, each, last)
        if piece.role in WORKED_ON:
            copied += last
        else:
            others += last
    return copied, others


def _print(chain: Chain, piece: PiecePrint, ratio: float, after: tuple[str, ...]) -> tuple[str, ...]:
    """Start, run and take off; the printer is held from the first to the last."""
    printer = piece.plan.printer
    handling = exactly(printer.handling_min / 2.0)
    started = chain.add(
        f"{piece.name} start", f"start the print of {piece.name}", Doing.PRINT, handling, after, attended=True
    )
    run = chain.add(
        f"{piece.name} run",
        f"{piece.name} prints",
        Doing.PRINT,
        exactly(printer.run_min(ratio * piece.plan.print_min)),
        at_once=started,
        watched=not printer.overnight,
    )
    off = chain.add(f"{piece.name} off", f"take {piece.name} off", Doing.PRINT, handling, (run,), attended=True)
    chain.holds.append(Hold(machine=printer.name, first=started, last=off))
    return (off,)


def _mould(
    chain: Chain, one: PartPlan, silicone: Chosen, ways: Ways, number: int, before: tuple[str, ...]
) -> tuple[str, str]:
    """One mould from set-up to opened and fit to be cast in; the tasks that free the master, and that end it."""
    which = "" if ways.moulds == 1 else f" of mould {number}"
    key = f"mould {number}"
    minutes = work_min(silicone.fit)
    cure = cure_of(silicone, silicone.demould_min * ways.silicone_cure_ratio)
    assert one.choice is not None
    assert one.choice.casting is not None
    steps = cast_steps((), (*silicone.steps, *one.choice.casting.steps))
    setting = steps.while_it_cures
    more = 1.0 if ways.cavities is None else ways.cavities.silicone_ratio
    last = chain.work(f"{key} set up", named(step("set-up-pour"), f"mould {number}" if which else ""), before)
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
            pour_spread(minutes * ceil(mix.mix.batches * more - 1e-9)),
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
    last = chain.work(f"{key} open", named(step("open-mould"), f"mould {number}" if which else ""), tuple(cured))
    opened = last[0]
    for each in steps.once_a_mould:
        last = chain.work(f"{key} {each.id}", each, last)
    return opened, last[0]
