"""The materials of a plan in words: what to mix, what comes before each pour, whether it fits the pot life."""

from typing import TYPE_CHECKING, Any

from firstpour.cli import show
from firstpour.units import chance_words

if TYPE_CHECKING:
    from firstpour.files.plan_json import PlanEntry

SURE = 0.99
"""Above, the margin says enough."""
SAID_HERE = frozenset({"step-first", "typical-figures"})
"""Finding codes that this listing says in its own place."""


def show_materials(saved: "PlanEntry") -> None:
    """For each part the silicone and the casting material, and for the whole job what to have."""
    chosen = [part for part in saved.parts if part.materials is not None]
    if not chosen:
        show.print_words("No materials were chosen: give a part its hardness in job.toml.", style="dim")
        return
    for part in chosen:
        materials = part.materials or {}
        show.print_words(f"{part.name}: {materials['hardness']}", style="bold")
        for use in ("silicone", "casting"):
            if materials[use] is not None:
                _show_chosen(use, materials[use])
        show.print_words(_rounds(materials), indent=2)
    _show_stock(saved.to_have)
    _show_supplies(saved.to_lay_out)
    _show_cautions([caution for part in chosen for caution in (part.materials or {})["cautions"]])
    show.print_words(
        "Figures of shipped materials are typical of their class: enter your own data sheet's.", style="dim"
    )


def _show_chosen(use: str, chosen: dict[str, Any]) -> None:
    show.print_words(f"{use}: {chosen['name']}. {' '.join(chosen['why'][:2])}", indent=2)
    for step in chosen["steps"]:
        show.print_words(
            f"before {step['before']}: {step['text']} ({_minutes(step['hands_min'] + step['wait_min'])})", indent=4
        )
    for mix in chosen["mixes"]:
        times = "" if mix["times"] == 1 else f", {mix['times']} times"
        show.print_words(f"mix for {mix['what']}{times}: {_weights(mix)}; cup {mix['cup_ml']:.0f} ml", indent=4)
    show.print_words(f"pour: {'; '.join(_fit(pour) for pour in chosen['pours'])}", indent=4)
    for change in _changes(chosen["pours"]):
        show.print_words(f"to make it fit: {change}", indent=4)


def _weights(mix: dict[str, Any]) -> str:
    """What goes on the scale for one batch."""
    short = mix["short_batches"]
    words = _scale_words(mix["batch"])
    if mix["batches"] > 1:
        words += f", {mix['batches'] - short} batches of this"
    return words if not short else f"{words}, and {short} of {_scale_words(mix['short_batch'])}"


def _scale_words(batch: dict[str, Any]) -> str:
    words = [f"A {batch['weigh_a_g']:g} g", f"B {batch['weigh_b_g']:g} g"]
    return " + ".join([*words, *(f"{name} {grams:g} g" for name, grams in batch["weigh_additives_g"].items())])


def _fit(pour: dict[str, Any]) -> str:
    at = f"{pour['temperature_c']:g} °C"
    if pour["problem"] is not None:
        return f"{at} {pour['problem']}"
    spare = f"{pour['margin_min']:.1f} of {pour['pot_life_min']:.1f} min to spare"
    chance = "" if pour["chance"] > SURE else f", {chance_words(pour['chance'])}"
    return f"{at} {'fits' if pour['fits'] else 'TOO TIGHT'} ({spare}{chance})"


def _changes(pours: list[dict[str, Any]]) -> list[str]:
    """What makes a tight pour fit, each said once."""
    texts = [
        f"at {pour['temperature_c']:g} °C {change['text'].rstrip('.')} ({chance_words(change['chance'])})"
        for pour in pours
        if not pour["fits"]
        for change in pour["changes"][:2]
    ]
    return list(dict.fromkeys(texts))


def _rounds(materials: dict[str, Any]) -> str:
    life = materials["mould_life_shots"]
    lasts = "" if life is None else f"; a mould of this pair lasts about {life[0]}–{life[1]} shots"
    return f"{materials['pours']} shots in {materials['rounds']} rounds, spoiled ones reckoned in{lasts}"


def _minutes(minutes: float) -> str:
    """Minutes, or hours where there are many.

    >>> _minutes(20), _minutes(270)
    ('20 min', '4.5 h')
    """
    return f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.2g} h"


def _show_cautions(cautions: list[dict[str, Any]]) -> None:
    """What to mind with the materials chosen, each said once."""
    show.print_words("Cautions", style="bold")
    for text in dict.fromkeys(caution["text"] for caution in cautions):
        show.print_words(f"- {text}")


def _show_stock(lines: list[dict[str, Any]]) -> None:
    rows = [
        [
            line["name"],
            _grams(line["need_a_g"], line["need_b_g"]),
            _grams(line["have_a_g"], line["have_b_g"]),
            "enough" if line["enough"] else _to_buy(line["buy"]),
        ]
        for line in lines
    ]
    show.print_table("To have, in g of A + B", ["material", "needed", "on the shelf", ""], rows)


def _grams(part_a_g: float, part_b_g: float) -> str:
    """A and B, or one amount of what has no B.

    >>> _grams(450.2, 405), _grams(12, 0)
    ('450 + 405', '12')
    """
    return f"{part_a_g:.0f} + {part_b_g:.0f}" if part_b_g else f"{part_a_g:.0f}"


def _show_supplies(supplies: list[dict[str, Any]]) -> None:
    """What to lay out, and what never to take instead."""
    show.print_words("To lay out", style="bold")
    for one in supplies:
        note = f" ({one['note']})" if one["note"] else ""
        show.print_words(f"- {one['count']} × {one['name']}{note}")
    for never in dict.fromkeys(words for one in supplies for words in one["never"]):
        show.print_words(f"- {never}", style="dim")


def _to_buy(buy: dict[str, Any] | None) -> str:
    if buy is None:
        return "not enough, no pack known"
    packs = [f"{pack['count']} × {_grams(pack['part_a_g'], pack['part_b_g'])}" for pack in buy["packs"]]
    return f"buy {', '.join(packs)}"
