"""The tables of a plan that only the details show."""

from typing import TYPE_CHECKING

from firstpour.cli import show
from firstpour.cli.show import duration_words
from firstpour.units import chance_words

if TYPE_CHECKING:
    from firstpour.files.cavity_entries import CavityRowEntry
    from firstpour.files.material_entries import BatchEntry, ChosenEntry, PlannedMixEntry, PlannedPourEntry
    from firstpour.files.plan_json import PlanEntry
    from firstpour.files.pour_entries import MouldPourEntry


SURE = 0.99
"""Above, the margin says enough."""


def show_details(saved: "PlanEntry") -> None:
    """Moulds, pours, prints, materials and stock, table by table."""
    _show_moulds(saved)
    _show_cavities(saved)
    _show_pours(saved)
    _show_prints(saved)
    for part in saved.parts:
        for use, chosen in (
            ("silicone", part.materials and part.materials.silicone),
            ("casting", part.materials and part.materials.casting),
        ):
            if chosen:
                _show_chosen(f"{part.name}, {use}", chosen)
    _show_stock(saved)
    _show_supplies(saved)
    show.print_words(f"In all: {_totals_words(saved)}.")
    show.print_words(
        "Figures of shipped materials are typical of their class: enter your own data sheet's.", style="dim"
    )


def _totals_words(saved: "PlanEntry") -> str:
    """What moulds, copies and prints hold, of each what there is any of."""
    totals = saved.totals
    cast = [
        f"{show.amount(totals.silicone_ml, 'ml')} of silicone for one mould of each part",
        f"{show.amount(totals.casting_ml, 'ml')} of casting material in the copies wanted (spoiled ones and what "
        "stays in cups come on top)",
    ]
    return ", ".join([*(cast if saved.parts else ()), f"{show.amount(totals.print_ml, 'ml')} to print"])


def _show_moulds(saved: "PlanEntry") -> None:
    columns = ["part", "copies", "mould", "draw", "undercut", "silicone", "cast each"]
    rows = [
        [
            part.name,
            str(part.copies),
            str(part.mould.kind),
            show.direction_words(part.mould.draw, places=2),
            show.amount(part.chosen_draw.undercut_mm3, "mm³"),
            show.amount(part.mould.silicone_ml, "ml"),
            show.amount(part.mould.casting_ml, "ml"),
        ]
        for part in saved.parts
    ]
    show.print_table("Moulds", columns, rows)


def _show_cavities(saved: "PlanEntry") -> None:
    """What each number of cavities would take, part by part."""
    columns = ["", "silicone", "print", "waste", "a pour", "a day", "days", "money", "cavities"]
    for part in saved.parts:
        if not part.cavities:
            continue
        rows = [
            [
                str(row.cavities),
                show.amount(row.silicone_ml, "ml"),
                duration_words(row.print_min),
                "" if row.waste_g is None else show.amount(row.waste_g, "g"),
                "" if row.pour_min is None else duration_words(row.pour_min),
                "" if row.copies_a_day is None else f"{row.copies_a_day:.3g}",
                "" if row.days is None else f"{row.days:.1f}",
                "" if row.cost is None else f"{row.cost:.2f}",
                _said_of(row),
            ]
            for row in part.cavities
        ]
        show.print_table(f"{part.name}: so many cavities, copies a day", columns, rows)


def _said_of(row: "CavityRowEntry") -> str:
    said = ["made"] * row.made + ["best"] * row.best
    said += ["too late"] * (row.in_time is False) + ["more than one mix"] * (row.in_one_mix is False)
    said += ["basin"] * row.basin
    return ", ".join(said)


def _show_pours(saved: "PlanEntry") -> None:
    """Every pour in its order: how the mould stands, the level, the corner, and the air that stays."""
    rows = [
        [
            f"{part.name}: {pour.pours}",
            "yes" if pour.turned_over else "",
            f"{pour.volume_ml:.0f}",
            f"{pour.level_mm:.0f}",
            ",".join(f"{value:.0f}" for value in pour.at_mm),
            _air_words(pour),
        ]
        for part in saved.parts
        for pour in part.pours
    ]
    show.print_table("Pours, in this order", ["pour", "turned over", "ml", "level mm", "at mm", "air ml"], rows)


def _air_words(pour: "MouldPourEntry") -> str:
    """The air that stays, and what a lean leaves of it."""
    stays = show.amount(pour.air_mm3 / 1000.0, "", places=2).strip()
    return f"{stays}; {pour.air_tilted_mm3 / 1000.0:.2f} at {pour.tilt_deg:.0f}°" if pour.tilt_deg else stays


def _show_prints(saved: "PlanEntry") -> None:
    rows = [
        [
            f"{part.name}: {one.piece}",
            show.size_words(one.size_mm),
            f"{one.layer_mm:.3g}",
            f"{one.step_mm:.3f}",
            duration_words(one.print_min),
            f"{one.material_ml:.0f}",
        ]
        for part in saved.parts
        for one in part.prints
    ]
    show.print_table("To print", ["piece", "size mm", "layer", "step", "takes", "ml"], rows)


def _show_chosen(what: str, chosen: "ChosenEntry") -> None:
    show.print_words(f"{what}: {chosen.name}", style="bold")
    for why in chosen.why:
        show.print_words(f"why: {why}", indent=2)
    for step in chosen.steps:
        show.print_words(
            f"before {step.before}: {step.text} ({duration_words(step.hands_min + step.wait_min)})", indent=2
        )
    for mix in chosen.mixes:
        times = "" if mix.times == 1 else f", {mix.times} times"
        show.print_words(f"mix for {mix.what}{times}: {_weights(mix)}; cup {mix.cup_ml:.0f} ml", indent=2)
    show.print_words(f"pour: {'; '.join(_fit(pour) for pour in chosen.pours)}", indent=2)
    for change in _changes(chosen.pours):
        show.print_words(f"to make it fit: {change}", indent=2)
    for one in chosen.rejected:
        show.print_words(f"not {one.material}: {one.reason}", indent=2)


def _weights(mix: "PlannedMixEntry") -> str:
    """What goes on the scale for one batch, and for a short one."""
    words = _scale_words(mix.batch)
    if mix.batches > 1:
        words += f", {mix.batches - mix.short_batches} batches of this"
    return (
        words if mix.short_batch is None else f"{words}, and {mix.short_batches} of {_scale_words(mix.short_batch)}"
    )


def _scale_words(batch: "BatchEntry") -> str:
    words = [f"A {batch.weigh_a_g:g} g", f"B {batch.weigh_b_g:g} g"]
    return " + ".join([*words, *(f"{name} {grams:g} g" for name, grams in batch.weigh_additives_g.items())])


def _fit(pour: "PlannedPourEntry") -> str:
    at = f"{pour.temperature_c:g} °C"
    if pour.problem is not None:
        return f"{at} {pour.problem}"
    words = [] if pour.margin_min is None else [f"{pour.margin_min:.1f} of {pour.pot_life_min:.1f} min to spare"]
    words += [] if pour.chance > SURE else [chance_words(pour.chance)]
    return f"{at} {'fits' if pour.fits else 'TOO TIGHT'} ({', '.join(words)})"


def _changes(pours: "list[PlannedPourEntry]") -> list[str]:
    """What makes a tight pour fit, each said once."""
    texts = [
        f"at {pour.temperature_c:g} °C {change.text.rstrip('.')} ({chance_words(change.chance)})"
        for pour in pours
        if not pour.fits
        for change in pour.changes[:2]
    ]
    return list(dict.fromkeys(texts))


def _show_stock(saved: "PlanEntry") -> None:
    rows = [
        [
            line.name,
            grams_words(line.need_a_g, line.need_b_g),
            grams_words(line.have_a_g, line.have_b_g),
            "enough" if line.enough else "to buy",
        ]
        for line in saved.to_have
    ]
    show.print_table("To have, in g of A + B", ["material", "needed", "on the shelf", ""], rows)


def _show_supplies(saved: "PlanEntry") -> None:
    """What to lay out, and what never to take instead."""
    if not saved.to_lay_out:
        return
    show.print_words("To lay out", style="bold")
    for one in saved.to_lay_out:
        note = f" ({one.note})" if one.note else ""
        show.print_words(f"- {one.count} × {one.name}{note}")
    for never in dict.fromkeys(words for one in saved.to_lay_out for words in one.never):
        show.print_words(f"- {never}", style="dim")


def grams_words(part_a_g: float, part_b_g: float) -> str:
    """A and B, or one amount of what has no B.

    >>> grams_words(450.2, 405), grams_words(12, 0)
    ('450 + 405', '12')
    """
    return f"{part_a_g:.0f} + {part_b_g:.0f}" if part_b_g else f"{part_a_g:.0f}"
