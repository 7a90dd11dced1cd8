"""What a job uses up besides its mixes: release, primer, sealer and paint by the step, cups, gloves and sticks."""

from collections.abc import Iterable, Sequence
from math import ceil

from firstpour.choosing.choice import Chosen, PlannedMix, Supply
from firstpour.choosing.counts import fillings, rounds
from firstpour.choosing.need import PartNeed
from firstpour.materials.gear import Each, gear_for
from firstpour.materials.steps import On, Step
from firstpour.stock.stock import Amount

RELEASE_EVERY = 5
"""Pours after which a mould is misted again: “every few pours”, common practice, no source."""
LEAST_G = 2.0
"""What goes into one application at least, cleaning brush or nozzle included: our own estimate (decision 0019)."""
AREA_PER_VOLUME = 9.0
"""Surface of a part that is not known, in V^(2/3): a cube has 6, a sphere 4.84; our own estimate (decision 0019)."""
CUPS_A_BATCH = 2
MM2_PER_DM2 = 10_000.0


def step_amounts(need: PartNeed, chosen: Iterable[Chosen]) -> dict[str, Amount]:
    """Grams of every material that the steps on master, moulds and copies use up, by id."""
    amounts: dict[str, Amount] = {}
    for one in (*need.master_steps, *(planned.step for each in chosen for planned in each.steps)):
        if one.uses is not None:
            each_g = max(LEAST_G, one.uses_g_dm2 * area_mm2(need) / MM2_PER_DM2)
            used = Amount(a_g=each_g * times_done(one, need))
            amounts[one.uses] = amounts.get(one.uses, Amount()) + used
    return amounts


def times_done(one: Step, need: PartNeed) -> int:
    """How often a step is done over the whole of a part's copies."""
    if one.on is On.COPY:
        return need.copies
    if one.on is On.MOULD:
        return fillings(need) if one.each_pour else need.moulds * ceil(rounds(need) / RELEASE_EVERY)
    return need.moulds if one.id == "release-silicone" else 1


def area_mm2(need: PartNeed) -> float:
    """Surface of one part; reckoned from the volume of a shot where it is not known."""
    if need.area_mm2 is not None:
        return need.area_mm2
    return float(AREA_PER_VOLUME * (1000.0 * need.casting_ml) ** (2.0 / 3.0))


def supplies_of(mixes: Sequence[PlannedMix], traits: Iterable[str]) -> tuple[Supply, ...]:
    """Gloves, cups, sticks, masks and tools for these mixes, in a job of these traits."""
    batches = sum(planned.times * planned.mix.batches for planned in mixes)
    cups: dict[float, int] = {}
    for planned in mixes:
        more = CUPS_A_BATCH * planned.times * planned.mix.batches
        cups[planned.mix.cup_ml] = cups.get(planned.mix.cup_ml, 0) + more
    supplies = []
    for choice in gear_for(traits):
        gear = choice.gear
        if gear.each is Each.CUP:
            sizes = [(f"{gear.name}, {size_ml:g} ml", count) for size_ml, count in sorted(cups.items())]
        else:
            sizes = [(gear.name, batches if gear.each is Each.BATCH else 1)]
        supplies += [
            Supply(id=gear.id, name=name, count=count, note=gear.note, never=choice.never) for name, count in sizes
        ]
    return tuple(supplies)
