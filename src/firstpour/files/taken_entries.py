"""The route that a part takes, and parts that are printed directly, as entries of plan.json."""

from pydantic import Field

from firstpour.files.entry import Entry, Vector
from firstpour.files.route_entries import CostEntry, WorkEntry, work_entries
from firstpour.routes.taken import Taken


class TakenEntry(Entry):
    """The route that a part takes."""

    name: str
    way: str = Field(description="printed or cast.")
    preference: str
    fixed: str | None = Field(description="What the job fixes of it; null where the preference alone decides.")
    why: str


class PrintedPartEntry(Entry):
    """A part whose copies are printed directly; it has no mould."""

    name: str
    source: str | None
    copies: int
    route: TakenEntry
    material: str
    hardness: str | None
    finish: str
    printer: str
    up: Vector = Field(description="In the part's own coordinates.")
    layer_mm: float
    size_mm: Vector = Field(description="As it stands on the printer.")
    file: str = Field(description="One copy as it stands on the printer, relative to plan.json.")
    prints: int = Field(description="Prints to reckon with, spoiled ones included.")
    plates: int
    print_min: float = Field(description="Of one copy alone on its plate.")
    printer_min: float
    hands_min: float
    first_copy_min: float
    all_copies_min: float = Field(description="If hands and printer never keep it waiting.")
    days: float
    cost: float
    costs: list[CostEntry]
    work: list[WorkEntry]
    to_buy: list[str]
    notes: list[str]


def taken_entry(found: Taken) -> TakenEntry:
    """The route taken, and why."""
    return TakenEntry(
        name=found.route.recipe.name,
        way=found.route.recipe.way.value,
        preference=found.preference.value,
        fixed=None if found.making is None else found.making.value,
        why=found.why,
    )


def printed_entry(
    name: str, found: Taken, *, source: str | None, file: str, size_mm: tuple[float, float, float]
) -> PrintedPartEntry:
    """A part that is printed directly, its file written."""
    recipe, what, stands = found.route.recipe, found.route.outcome, found.route.recipe.stands
    assert stands is not None
    return PrintedPartEntry(
        name=name,
        source=source,
        copies=what.copies,
        route=taken_entry(found),
        material=recipe.material,
        hardness=None if recipe.hardness is None else str(recipe.hardness),
        finish=recipe.finish,
        printer=stands.printer,
        up=stands.up,
        layer_mm=stands.layer_mm,
        size_mm=size_mm,
        file=file,
        prints=what.tries,
        plates=what.goes,
        print_min=stands.print_min,
        printer_min=what.printer_min,
        hands_min=what.hands_min,
        first_copy_min=what.first_copy_min,
        all_copies_min=what.all_copies_min,
        days=what.days,
        cost=what.money,
        costs=[CostEntry.model_validate(cost) for cost in what.costs],
        work=work_entries(found.route),
        to_buy=list(recipe.to_buy),
        notes=list(recipe.notes),
    )
