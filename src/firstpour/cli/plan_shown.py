"""A plan on the screen: first what one plans by, part by part; every table with the details."""

from typing import TYPE_CHECKING

from firstpour.cli import show
from firstpour.cli.details_shown import show_details
from firstpour.cli.order_shown import show_dates
from firstpour.cli.show import duration_words

if TYPE_CHECKING:
    from firstpour.files.cavity_entries import CavityRowEntry
    from firstpour.files.fill_entries import PlannedFillEntry
    from firstpour.files.material_entries import ChosenEntry, PartChoiceEntry, StockLineEntry
    from firstpour.files.plan_json import PartEntry, PlanEntry
    from firstpour.files.taken_entries import PrintedPartEntry

SAID_HERE = frozenset({"step-first", "typical-figures", "buy"})
"""Finding codes that the screen says in its own place."""
WORTH_SAYING = ("error", "warning")
"""Findings shown without the details."""


def show_plan(saved: "PlanEntry", shown: show.Shown) -> None:
    """What one plans by: each part in a few lines, what to buy, what is wrong, what can harm."""
    copies = sum(part.wanted for part in saved.parts) + sum(one.copies for one in saved.printed)
    due = "" if saved.job.due is None else f", due {saved.job.due.isoformat()}"
    show.print_words(f"{saved.job.name}: {'one copy' if copies == 1 else f'{copies} copies'}{due}", style="bold")
    if saved.schedule is not None:
        show_dates(saved.schedule)
    for part in saved.parts:
        _show_part(part)
    for one in saved.printed:
        _show_printed(one)
    if shown is show.Shown.DETAILS:
        show_details(saved)
    _show_to_buy(saved.to_have)
    findings = [one for one in saved.findings if one.code not in SAID_HERE]
    told = [one for one in findings if shown is show.Shown.DETAILS or one.severity in WORTH_SAYING]
    show.print_findings(told)
    _show_cautions(saved)
    if len(told) < len(findings):
        left = len(findings) - len(told)
        show.print_words(f"{left} more to know, and every table: --details, or plan.json.", style="dim")


def results_words(saved: "PlanEntry") -> str:
    """What lies in the folder of the results."""
    order = "" if saved.schedule is None else ", calendar.ics"
    return f"plan.pdf, plan.json{order}, pictures, pieces"


def _show_part(part: "PartEntry") -> None:
    """One part: its mould, prints, pour, casting, and when the first and the last copy are there."""
    choice = part.materials
    feel = "" if choice is None else f", {choice.hardness}"
    one, more = ("set", "sets") if part.together else ("copy", "copies")
    copies = f"one {one}" if part.copies == 1 else f"{part.copies} {more}"
    show.print_words(f"{part.name}: {copies}{feel}", style="bold")
    for what, words in _lines(part):
        show.print_words(f"{what}: {words}", indent=2)


def _show_printed(part: "PrintedPartEntry") -> None:
    """A part that is printed directly: no mould, its prints, when they are there."""
    copies = "one copy" if part.copies == 1 else f"{part.copies} copies"
    show.print_words(f"{part.name}: {copies}, {part.hardness}", style="bold")
    lines = [
        ("Route", part.route.why),
        ("Print", f"each copy, {part.material}, on {part.printer}, layers of {part.layer_mm:g} mm, {part.finish}"),
        ("Prints", f"{_prints_words(part)}; {duration_words(part.printer_min)} in all"),
        ("Stands", f"{show.direction_words(part.up, places=2)} up, as in {part.file}"),
        (
            "Time",
            f"first copy after {duration_words(part.first_copy_min)}, last after "
            f"{duration_words(part.all_copies_min)}; {duration_words(part.hands_min)} of hands",
        ),
    ]
    for what, words in lines:
        show.print_words(f"{what}: {words}", indent=2)


def _prints_words(part: "PrintedPartEntry") -> str:
    """How many prints on how many plates, and what they use."""
    plates = "one plate" if part.plates == 1 else f"{part.plates} plates"
    spoiled = ", spoiled ones reckoned in" if part.prints > part.copies else ""
    uses = f", {show.amount(part.prints * part.material_g, 'g')} with supports" if part.material_g else ""
    return f"{part.prints} in {plates}{spoiled}{uses}"


def _lines(part: "PartEntry") -> list[tuple[str, str]]:
    choice = part.materials
    lines = [("Mould", _mould_words(part)), ("Print", _print_words(part)), ("Pour", _pour_words(part))]
    if part.together:
        a_set = ", ".join(f"{one.a_shot} × {one.name} ({one.copies} wanted)" for one in part.together)
        lines.insert(0, ("A set", f"{a_set}, in one mould, each through a gate of its own"))
    if part.route is not None:
        lines.insert(0, ("Route", part.route.why))
    if choice is not None and choice.silicone is not None:
        lines.append(("Silicone", _chosen_words(choice.silicone)))
    if choice is not None and choice.casting is not None:
        lines.append(("Cast", f"{_chosen_words(choice.casting)}; {_rounds_words(choice)}"))
    cavities = _cavity_words(part)
    if cavities:
        lines.append(("Cavities", cavities))
    if choice is not None:
        lines.append(("Order", " → ".join(part.elapsed.order)))
        lines.append(("Time", _elapsed_words(part)))
    return lines


def _mould_words(part: "PartEntry") -> str:
    mould = part.mould
    pours = sum(1 for piece in mould.pieces if piece.role == "silicone")
    several = "" if mould.cavities == 1 else f" with {mould.cavities} cavities"
    in_pours = "one pour" if pours == 1 else f"{pours} pours"
    return (
        f"{mould.kind}{several}, opens along {show.direction_words(mould.draw, places=2)}; "
        f"{show.amount(mould.silicone_ml, 'ml')} of silicone in {in_pours}"
    )


def _cavity_words(part: "PartEntry") -> str:
    """The number of cavities that is the best for the date, and beside it the one made and one alone; "" for none."""
    rows = [row for row in part.cavities if row.days is not None and row.cost is not None]
    best = next((row for row in rows if row.best), None)
    if best is None:
        return ""
    others = [row for row in rows if row is not best and (row.made or row.cavities == 1)]
    heads = {None: "done soonest with", True: "the date is met with", False: "no number meets the date; soonest"}
    head = heads[best.in_time]
    return "; ".join([f"{head} {_row_words(best)}", *map(_row_words, others)]) + " in your currency"


def _row_words(row: "CavityRowEntry") -> str:
    count = "one cavity" if row.cavities == 1 else f"{row.cavities} cavities"
    return f"{count}{', as made' if row.made else ''}: {row.days:.1f} days, {row.cost:.2f}"


def _print_words(part: "PartEntry") -> str:
    hours = duration_words(sum(one.print_min for one in part.prints))
    by_printer: dict[str, list[str]] = {}
    for one in part.prints:
        by_printer.setdefault(one.printer, []).append(one.piece)
    pieces = "; ".join(f"{', '.join(names)} on {printer}" for printer, names in by_printer.items())
    return f"{hours} in all: {pieces}"


def _pour_words(part: "PartEntry") -> str:
    if part.fill is None:
        return "into the open back, level with the rim"
    vents = sum(1 for channel in part.fill.channels if channel.use == "vent")
    openings = "one vent" if vents == 1 else f"{vents} vents"
    flow = part.flow
    fills = "" if flow is None or flow.fill_s is None else f"; fills in {_seconds(flow.fill_s)}"
    air = f"{show.amount(part.fill.trapped_vented_mm3, 'mm³')} of air stay"
    return f"mould {standing_words(part.fill)}, {openings}, {air}{fills}"


def standing_words(fill: "PlannedFillEntry") -> str:
    """How the closed mould stands for the pour."""
    if not fill.directions:
        return f"with {show.direction_words(fill.up, places=2)} up"
    best = fill.directions[0]
    words = {"flat": "flat", "on-edge": "on edge", "turned": "turned, in a cradle"}
    return words.get(best.kind, f"tilted {best.tilt_deg:.0f}°")


def _chosen_words(chosen: "ChosenEntry") -> str:
    """The material, its pot life here, what is left of it, and when it may be demoulded."""
    here = chosen.mixes[0] if chosen.mixes else None
    pour = next((one for one in chosen.pours if here is not None and one.temperature_c == here.temperature_c), None)
    if here is None or pour is None or pour.pot_life_min is None or pour.margin_min is None:
        return chosen.name
    left = f"{pour.margin_min:.0f} min to spare" if pour.margin_min >= 0 else f"{-pour.margin_min:.0f} min too late"
    fits = "" if pour.fits else ", TOO TIGHT"
    return (
        f"{chosen.name}; pot life {duration_words(pour.pot_life_min)}, {left}{fits}; "
        f"demould after {duration_words(chosen.demould_min)}"
    )


def _rounds_words(choice: "PartChoiceEntry") -> str:
    from firstpour.choosing.counts import rounds_words

    words = rounds_words(choice.round_copies)
    rounds = ("1 round" if choice.rounds == 1 else f"{choice.rounds} rounds") + (f" ({words})" if words else "")
    shots = f"{choice.pours} shots in {rounds}, spoiled ones reckoned in"
    life = choice.mould_life_shots
    return shots if life is None else f"{shots}; the mould lasts about {life[0]}–{life[1]}"


def _elapsed_words(part: "PartEntry") -> str:
    elapsed = part.elapsed
    if elapsed.first_copy_min is None or elapsed.all_copies_min is None:
        return "not known: no material"
    return (
        f"first proof after {duration_words(elapsed.first_copy_min)}, last copy after "
        f"{duration_words(elapsed.all_copies_min)}, if hands and printer never keep it waiting"
    )


def _seconds(seconds: float) -> str:
    """Seconds, or minutes where there are many.

    >>> _seconds(8.4), _seconds(200)
    ('8 s', '3.3 min')
    """
    return f"{seconds:.0f} s" if seconds < 100 else f"{seconds / 60:.1f} min"


def _show_to_buy(lines: "list[StockLineEntry]") -> None:
    """What is missing on the shelf, a line each."""
    for line in lines:
        if not line.enough:
            show.print_words(f"To buy: {line.name}, {buy_words(line)}")


def buy_words(line: "StockLineEntry") -> str:
    """The packs to buy, with their cost where it is known."""
    if line.buy is None:
        return "no pack of it is known"
    packs = [
        f"{pack.count} × {pack.part_a_g:g} + {pack.part_b_g:g} g"
        if pack.part_b_g
        else f"{pack.count} × {pack.part_a_g:g} g"
        for pack in line.buy.packs
    ]
    cost = "" if line.buy.cost is None else f", about {line.buy.cost:.2f} in your currency"
    return f"{', '.join(packs)}{cost}"


def _show_cautions(saved: "PlanEntry") -> None:
    """What to mind with the materials chosen, each said once."""
    texts = dict.fromkeys(
        caution.text
        for cautions in (
            *(part.materials.cautions for part in saved.parts if part.materials is not None),
            *(one.cautions for one in saved.printed),
        )
        for caution in cautions
    )
    show.print_words("Cautions", style="bold")
    for text in texts or {CAUTION: None}:
        show.print_words(f"- {text}")


CAUTION = "Silicones, resins and their dusts can harm: the data sheet and your local rules come first."
