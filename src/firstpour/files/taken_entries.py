"""The route that a part takes, and parts that are printed directly, as entries of plan.json."""

from pydantic import Field

from firstpour.files.entry import Entry, Vector
from firstpour.files.material_entries import CautionEntry, caution_entries
from firstpour.files.route_entries import CostEntry, WorkEntry, work_entries
from firstpour.materials.cautions import cautions_for
from firstpour.routes.compare import Route
from firstpour.routes.recipe import goes_of
from firstpour.routes.taken import Taken
from firstpour.routes.told import short_name


class AmongEntry(Entry):
    """One of the routes between which was decided, by the quick estimate."""

    name: str
    short: str
    taken: bool
    cost: float = Field(description="Of all that has a price.")
    unpriced: bool = Field(description="Something of it has no known price: it costs more.")
    hands_min: float
    first_proof_min: float
    days: float
    finish: str
    chance: float


class TakenEntry(Entry):
    """The route that a part takes."""

    name: str
    way: str = Field(description="printed or cast.")
    preference: str
    fixed: str | None = Field(description="What the job fixes of it; null where the preference alone decides.")
    why: str
    among: list[AmongEntry] = Field(
        default_factory=list, description="The routes between which was decided; empty in older plans."
    )
    break_evens: list[str] = Field(
        default_factory=list, description="From how many copies on casting is better than a print, in sentences."
    )


class PlateWorkEntry(Entry):
    """One thing done to a plate of prints, or to a copy: first by hands, then it waits.

    The `each` minutes come on top for every copy on the plate.
    """

    what: str
    text: str = Field(description="What is done; empty where its name says it.")
    printing: bool
    hands_min: float
    wait_min: float
    hands_each_min: float
    wait_each_min: float


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
    process: str = Field(default="", description="How that printer prints; empty in older plans.")
    up: Vector = Field(description="In the part's own coordinates.")
    layer_mm: float
    size_mm: Vector = Field(description="As it stands on the printer.")
    file: str = Field(description="One copy as it stands on the printer, relative to plan.json.")
    prints: int = Field(description="Prints to reckon with, spoiled ones included.")
    plates: int
    print_min: float = Field(description="Of one copy alone on its plate.")
    material_ml: float = Field(default=0.0, description="Of one copy with its supports; 0 in older plans.")
    material_g: float = Field(default=0.0, description="The same in grams; 0 in older plans.")
    printer_min: float
    hands_min: float
    first_copy_min: float
    all_copies_min: float = Field(description="If hands and printer never keep it waiting.")
    days: float
    cost: float
    costs: list[CostEntry]
    work: list[WorkEntry]
    on_plates: list[int] = Field(default_factory=list, description="Copies on each plate.")
    most_on_plate: int = Field(default=1, description="So many copies find room on one plate.")
    plate_work: list[PlateWorkEntry] = Field(
        default_factory=list, description="The work on each plate, in its order."
    )
    afterwards: list[PlateWorkEntry] = Field(
        default_factory=list, description="Done to every good copy once all are there."
    )
    cautions: list[CautionEntry] = Field(default_factory=list, description="What can harm in printing and finishing.")
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
        among=[_among(one, found) for one in found.among],
        break_evens=list(found.break_evens),
    )


def _among(one: Route, found: Taken) -> AmongEntry:
    recipe, what = one.recipe, one.outcome
    return AmongEntry(
        name=recipe.name,
        short=short_name(one),
        taken=one is found.route,
        cost=what.money,
        unpriced=bool(what.unpriced),
        hands_min=what.hands_min,
        first_proof_min=what.first_proof_min,
        days=what.days,
        finish=recipe.finish,
        chance=what.chance,
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
        process=stands.process.value,
        up=stands.up,
        layer_mm=stands.layer_mm,
        size_mm=size_mm,
        file=file,
        prints=what.tries,
        plates=what.goes,
        print_min=stands.print_min,
        material_ml=stands.material_ml,
        material_g=stands.grams,
        printer_min=what.printer_min,
        hands_min=what.hands_min,
        first_copy_min=what.first_copy_min,
        all_copies_min=what.all_copies_min,
        days=what.days,
        cost=what.money,
        costs=[CostEntry.model_validate(cost) for cost in what.costs],
        work=work_entries(found.route),
        on_plates=list(goes_of(recipe, what.tries)),
        most_on_plate=recipe.a_go,
        plate_work=[PlateWorkEntry.model_validate(one) for one in recipe.each_go],
        afterwards=[PlateWorkEntry.model_validate(one) for one in recipe.each_good],
        cautions=caution_entries(cautions_for(recipe.handled)),
        to_buy=list(recipe.to_buy),
        notes=list(recipe.notes),
    )
