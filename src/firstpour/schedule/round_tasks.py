"""The rounds of casting as tasks: the first mould alone proves itself, then a mix fills every mould that is ready."""

from math import ceil

from firstpour.choosing.choice import Chosen
from firstpour.choosing.counts import round_sizes
from firstpour.choosing.filling import filling_min
from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.materials.steps import step
from firstpour.parting.values import MouldKind
from firstpour.plan.values import PartPlan
from firstpour.routes.labour import cast_steps, readies
from firstpour.schedule.chain import Chain, cure_of, named, pour_spread, times_over, with_minutes
from firstpour.schedule.values import Doing, Hold, Network
from firstpour.schedule.ways import Ways

POT, IN_POT = "pressure pot", ("pot-hold", "pot-cure")


def add_rounds(chain: Chain, one: PartPlan, casting: Chosen, ways: Ways, opened: list[str]) -> None:
    """Rounds of casting: the first mould alone proves itself, then one mix fills every mould that is ready."""
    assert one.choice is not None
    cure = cure_of(casting, casting.demould_min * ways.casting_cure_ratio)
    steps = cast_steps((), casting.steps)
    before_each, after_each = steps.each_shot, steps.each_good
    in_pot = any(each.id in IN_POT for each in before_each)
    last: tuple[str, ...] = (opened[0],)
    shots, cavities = one.choice.pours if ways.shots is None else ways.shots, ways.cavities_of(one)
    open_face = one.mould.kind is MouldKind.OPEN_FACE
    at_once = casting.at_once * one.mould.cavities
    if ways.cavities is not None and ways.cavities.in_one_mix:
        at_once = max(at_once, cavities)
    sizes = round_sizes(shots, moulds=ways.moulds, cavities=cavities, ready=ways.ready)
    for number, copies in enumerate(sizes, start=1):
        ready = ceil(copies / cavities)
        chain.at(lane="casting", round=number)
        key = f"round {number}"
        which = f"round {number}" + ("" if ready == 1 else f", {ready} moulds")
        last = tuple(dict.fromkeys((*last, *opened[:ready])))
        again = steps.now_and_then if number > 1 and (number - 1) % RELEASE_EVERY == 0 else ()
        for each in again:
            last = chain.work(f"{key} {each.id}", named(each, which), last, times=ways.moulds)
        for each in before_each:
            if each.id not in IN_POT:
                last = chain.work(f"{key} {each.id}", named(each, which), last, times=ready)
        hands_min = filling_min(
            casting.fit,
            openings=_planned_cavities(casting),
            cavities=copies,
            at_once=at_once,
        )
        closing = step(readies(open_face=open_face)).hands
        for each in before_each:
            closing = with_minutes(closing, each.hands) if each.id in IN_POT else closing
        poured = chain.add(
            f"{key} cast", f"{'mix' if open_face else 'close, mix'} and cast, {which}", Doing.POUR,
            with_minutes(pour_spread(hands_min), times_over(closing, ready)), last, attended=True,
        )  # fmt: skip
        cured = chain.wait(f"{key} sets", f"{which} sets", cure, poured, alike="casting")
        takes_out = step("demould-copy")
        out = chain.add(
            f"{key} out", f"take out and trim, {which}", Doing.DEMOULD, times_over(takes_out.hands, copies),
            (cured,), attended=True, good_copies=copies, text=takes_out.text,
        )  # fmt: skip
        if number == 1:
            chain.proofs.append(out)
        if in_pot and ways.pot:
            chain.holds.append(Hold(machine=POT, first=poured, last=out))
        last = (out,)
        painting: tuple[str, ...] = last
        chain.at(lane="finish", round=number)
        for each in after_each:
            painting = chain.work(f"{key} {each.id}", named(each, which), painting, times=copies)


def _planned_cavities(casting: Chosen) -> int:
    return max(1, casting.mixes[0].mix.batch_cavities)


def rounds_in(network: Network) -> dict[str, tuple[int, ...]]:
    """Copies of each round of casting, in order, by the name of the part."""
    copies: dict[str, dict[int, int]] = {}
    for task in network.tasks:
        if task.round and task.doing is Doing.DEMOULD:
            of_part = copies.setdefault(task.part, {})
            of_part[task.round] = of_part.get(task.round, 0) + task.good_copies
    return {part: tuple(found[number] for number in sorted(found)) for part, found in copies.items()}
