"""The blocks of one mix: what to lay out, what to weigh, the minutes of the clock, and a place to write."""

import math
from collections.abc import Sequence

from firstpour.choosing.setting_in import LAID_IN
from firstpour.files.material_entries import (
    BatchEntry,
    ChosenEntry,
    PlannedMixEntry,
    PlannedPourEntry,
    SupplyEntry,
)
from firstpour.sheets.blocks import Beside, Block, Cautions, Fields, Key, Single, Table
from firstpour.sheets.placed import UNKNOWN_CAUTIONS, Moment, cautions_at, first_words
from firstpour.sheets.words import grams, minute_words, sentence, wait_words, within
from firstpour.units import count_words

NOT_FOR_A_POUR = frozenset({"sanding-mask", "vapour-mask", LAID_IN})
"""Supplies of other steps than mixing and pouring."""
AS_THE_SHEET_ASKS = "Gloves, eye protection, cups, sticks and scale as the data sheet of the material asks."
CUPS = frozenset({"plastic-cups", "paper-cups"})
DEGAS, POUR = "degas", "pour"


def mixing_cautions(mix: PlannedMixEntry | None) -> Cautions:
    """What can harm while this is mixed; what comes first stands first."""
    known = () if mix is None else (*first_words(mix.cautions), *cautions_at(mix.cautions, Moment.MIX, Moment.AIR))
    return Cautions(title="Before anything is mixed", items=known or UNKNOWN_CAUTIONS)


def unknown(why: str) -> tuple[Single, ...]:
    """In the stead of grams and minutes where no material is known: why, and a place for one's own."""
    blank = ("", "", "", "")
    head = ("Part", "On the scale", "Weighed", "Done at")
    return (
        Cautions(title="Grams and minutes are not known", items=(why,)),
        Table(title="Weigh", head=head, rows=(("A", *blank[1:]), ("B", *blank[1:])), widths=(0, 1, 1, 1), row_mm=8.0),
    )


def supplies_for(mix: PlannedMixEntry, pour: PlannedPourEntry | None, supplies: Sequence[SupplyEntry]) -> list[str]:
    """Cups, sticks, gloves and the rest for one mix, by what the material lets through."""
    batches = "" if mix.batches == 1 else f" for each of the {mix.batches} batches"
    items = [f"Scale that shows {grams(mix.scale_step_g, step_g=mix.scale_step_g)}, clock, thermometer, cloths."]
    for name, of_name in _by_id(supplies).items():
        one = of_name[0]
        never = "".join(f" {sentence(words.split(':')[0])}" for words in one.never)
        if name in CUPS:
            kind = one.name.split(",")[0]
            items.append(f"2 {kind} of {mix.cup_ml:g} ml{batches}, {one.note}.{never}")
        elif name not in NOT_FOR_A_POUR:
            note = f": {one.note}" if one.note else ""
            items.append(f"{sentence(one.name + note)}{never}")
    if pour is not None and any(step.name == DEGAS for step in pour.steps):
        lots = "" if mix.degas_lots == 1 else f", in {mix.degas_lots} lots one after the other"
        items.append(f"Vacuum chamber, and a vessel of {mix.container_ml:g} ml at least to degas in{lots}.")
    return items


def _by_id(supplies: Sequence[SupplyEntry]) -> dict[str, list[SupplyEntry]]:
    found: dict[str, list[SupplyEntry]] = {}
    for one in supplies:
        found.setdefault(one.id, []).append(one)
    return found


def weigh_and_clock(mix: PlannedMixEntry, chosen: ChosenEntry) -> tuple[Block, ...]:
    """What to weigh beside the minutes that it then takes, and the minute by which all is poured."""
    pour = in_this_room(chosen, mix)
    minutes = () if pour is None else (_minutes(pour),)
    left = weighing(mix)
    both: tuple[Block, ...] = (Beside(left=left, right=minutes, share=0.48),) if minutes else left
    return (*both, *clock(mix, pour, chosen))


def weighing(mix: PlannedMixEntry) -> tuple[Single, ...]:
    """Grams on the scale with how far they may be off, and a place for what was weighed."""
    blocks: list[Single] = [_batch_table(mix, mix.batch, count=mix.batches - mix.short_batches)]
    if mix.short_batch is not None:
        blocks.append(_batch_table(mix, mix.short_batch, count=mix.short_batches))
    return tuple(blocks)


def _batch_table(mix: PlannedMixEntry, batch: BatchEntry, *, count: int) -> Table:
    step_g = mix.scale_step_g
    ratio = mix.part_b_g / mix.part_a_g
    off = f"{100 * mix.ratio_tolerance_ratio:.2g} %"
    rows = [
        ("A", grams(batch.weigh_a_g, step_g=step_g), "B follows it", ""),
        (
            f"B = A × {ratio:.4g}",
            grams(batch.weigh_b_g, step_g=step_g),
            within(batch.weigh_b_g, off_ratio=mix.ratio_tolerance_ratio, step_g=step_g),
            "",
        ),
    ]
    rows += [
        (
            f"{name}, into {mix.stir_into[name]}",
            grams(value_g, step_g=step_g),
            within(value_g, off_ratio=mix.ratio_tolerance_ratio, step_g=step_g),
            "",
        )
        for name, value_g in batch.weigh_additives_g.items()
    ]
    times = "" if count == 1 else f", {count} times, each on a clock of its own"
    return Table(
        title=f"Weigh{times} (B within {off} of its ratio to A)",
        head=("", "Grams", "Within", "Weighed"),
        rows=tuple(rows),
        widths=(0, 0, 0, 1),
        row_mm=8.0,
    )


def in_this_room(chosen: ChosenEntry, mix: PlannedMixEntry) -> PlannedPourEntry | None:
    """The pour at the temperature that the mix is reckoned at."""
    return next((one for one in chosen.pours if one.temperature_c == mix.temperature_c), None)


def clock(mix: PlannedMixEntry, pour: PlannedPourEntry | None, chosen: ChosenEntry) -> tuple[Single, ...]:
    """The minute by which all is poured, and what to do where that is too tight."""
    blocks: list[Single] = []
    last = math.floor(mix.pot_life_low_min)
    rooms = [
        f"{one.temperature_c:g} °C: minute {math.floor(one.pot_life_low_min)}"
        for one in chosen.pours
        if one.pot_life_low_min is not None and one.temperature_c != mix.temperature_c
    ]
    blocks.append(
        Key(
            text=f"POURED BY MINUTE {last}",
            note=f"at {mix.temperature_c:g} °C, counted from when B meets A: nineteen of twenty such mixes still "
            f"pour then; the middle one thickens at minute {math.floor(mix.pot_life_min)}."
            + (f" In another room, {'; '.join(rooms)}." if rooms else ""),
        )
    )
    if pour is not None and not pour.fits:
        blocks.append(Cautions(title="This pour is too tight", items=_too_tight(pour)))
    return tuple(blocks)


def _too_tight(pour: PlannedPourEntry) -> tuple[str, ...]:
    problem = [] if pour.problem is None else [sentence(pour.problem)]
    work = f"The work takes about {minute_words(pour.work_min)} minutes of the pot life. Do not begin as it stands."
    return (*problem, work, *(sentence(change.text) for change in pour.changes))


def _minutes(pour: PlannedPourEntry) -> Table:
    at_min, rows = 0.0, []
    for step in pour.steps:
        from_min, at_min = at_min, at_min + (step.mean_min if step.on_clock else 0.0)
        when = f"{minute_words(from_min)} to {minute_words(at_min)}" if step.on_clock else "before it"
        rows.append(("☐", step.name, minute_words(step.mean_min), when, ""))
    return Table(
        title="The clock starts when B meets A",
        head=("", "Step", "Takes", "On the clock", "Done at"),
        rows=tuple(rows),
        widths=(0, 0, 0, 0, 1),
    )


def cure(demould_min: float, *, temperature_c: float, what: str) -> Key:
    """The end of the cure as a length, with a place for the two times."""
    return Key(
        text=f"CURES {wait_words(demould_min).upper().replace('MIN', 'min').replace(' H', ' h').replace(' D', ' d')}",
        note=f"at {temperature_c:g} °C, longer where it is cooler; then {what}.",
        write="Poured at ____ : ____  on ____________     Not opened before ____ : ____  on ____________",
    )


def to_write(*, outcome: str) -> Fields:
    """A place for what was done."""
    labels = ("Date, who", "Room, cans, mould, °C", "Clock started at", "Poured at minute", "Lot of A", "Lot of B")
    return Fields(title="Written down", labels=labels, last=outcome)


def left_overs(mix: PlannedMixEntry, said: Sequence[str]) -> Cautions | None:
    """What can harm once it is poured: what stays in the cup."""
    items = (*cautions_at(mix.cautions, Moment.AFTER_POUR), *said)
    return Cautions(title="What stays in the cup", items=tuple(dict.fromkeys(items))) if items else None


def batches_words(mix: PlannedMixEntry) -> str:
    """How often this mix is made."""
    return count_words(mix.times, "time", "times")
