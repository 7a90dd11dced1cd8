"""The routes of a job as entries of JSON."""

from collections.abc import Sequence

from pydantic import Field

from firstpour.files.entry import Entry
from firstpour.job.job import Making
from firstpour.routes.compare import Route
from firstpour.routes.course import works_for
from firstpour.routes.fixed import fixing
from firstpour.routes.recipe import goes_of
from firstpour.routes.routes import PartRoutes
from firstpour.routes.told import break_even_words, lead_words, not_printed, rounds_told, short_name


class CostEntry(Entry):
    """One term of the money."""

    what: str
    amount: float
    unit: str
    each: float | None = Field(description="Price of one unit; null where it is not known.")
    money: float
    typical: bool = Field(description="The price is the shipped one of its class, to be replaced by one's own.")


class WorkEntry(Entry):
    """Work and waits of one name, summed over the whole of the copies."""

    what: str
    times: int
    hands_min: float
    wait_min: float


class FixedEntry(Entry):
    """Keys of a part in job.toml that fix a route; null: the key has no say in it."""

    route: Making
    print_in: str | None
    kind: str | None
    silicone: str | None
    casting: str | None
    moulds: int | None
    cavities: int | None
    accelerator_ratio: float | None = Field(description="Null: as the part says.")
    silicone_accelerator_ratio: float | None = Field(description="Null: as the part says.")


class RouteEntry(Entry):
    """One way to make the copies."""

    name: str
    short: str = Field(description="The way in a few words; the materials stand in the name.")
    telling: bool = Field(
        description="One of the handful that one decides between; what nothing beats besides is near to one of it."
    )
    whys: list[str] = Field(description="What it stands for among the handful; empty where it is not one of it.")
    way: str
    kind: str | None
    material: str
    silicone: str | None
    moulds: int
    cavities: int = Field(description="Copies that one filling of one mould gives; 1 for a print.")
    meets: bool = Field(description="Always true: what does not meet the hardness is refused.")
    hardness: str | None
    off_points: float | None
    finish: str
    step_mm: float = Field(description="Steps that are left on show faces.")
    fit_miss_mm: float = Field(description="How far fits lie outside of their tolerances, in all.")
    seam_on_show_mm: float
    first_proof_min: float
    first_copy_min: float
    all_copies_min: float = Field(description="If hands and printer never keep it waiting.")
    days: float = Field(description="On the calendar, by the hours of the workshop's week.")
    hands_min: float
    printer_min: float
    tries: int = Field(description="Shots or prints reckoned with, spoiled ones included.")
    goes: int = Field(description="Rounds of filling the moulds that are ready, or plates.")
    go_copies: list[int] = Field(description="Copies of each round or plate in order.")
    rounds_words: str = Field(description="The same in words.")
    cost: float = Field(description="Of all that has a price.")
    per_copy_cost: float
    costs: list[CostEntry]
    work: list[WorkEntry]
    unpriced: list[str]
    chance: float = Field(description="That so many tries give the count of good copies.")
    undominated: bool = Field(description="No other route is as good in everything and better in something.")
    would_win: str
    estimated: bool = Field(description="Its mould was not worked out: volumes and prints are estimates.")
    planned: bool = Field(description="The one that the plan follows.")
    to_buy: list[str]
    notes: list[str]
    fixed_by: FixedEntry = Field(description="What a part says in job.toml to be made so.")


class RefusedEntry(Entry):
    """A way that will not do."""

    name: str
    reason: str
    remedy: str
    by_points: float | None = Field(description="How far from the wanted hardness, too hard above 0.")


class LeftOutEntry(Entry):
    """So many routes that are not of the handful, the reason, and one of them with that which stands instead."""

    count: int
    reason: str
    example: str
    instead: str


class BreakEvenEntry(Entry):
    """From how many copies on casting takes less than a print: of money, of hands or of days."""

    measure: str
    print: str = Field(description="Name of the print's route.")
    copies: int | None = Field(description="1: from the first copy on; null: not up to 1,000, or 200 by days.")
    print_value: float = Field(description="Money, minutes of hands or days of the copies asked for, printed.")
    cast_value: float = Field(description="Likewise of the casting that takes least.")
    cast: str = Field(description="Name of that casting.")
    cast_from: str | None = Field(description="Name of the casting that takes least at the break-even.")


class LeadEntry(Entry):
    """From so many copies on a route of the handful takes least of it, until the next entry of the same measure."""

    measure: str
    copies: int
    route: str


class PickEntry(Entry):
    """What a preference chooses."""

    preference: str
    route: str
    why: str


class PartRoutesEntry(Entry):
    """The routes of one part, the cheapest first."""

    name: str
    copies: int
    hardness: str
    routes: list[RouteEntry] = Field(description="The handful that one decides between, and what nothing beats.")
    candidates: int = Field(description="Routes that pass every hard check, those that are not shown with them.")
    left_out: list[LeftOutEntry] = Field(description="Those that are not of the handful, by reason.")
    not_printed: RefusedEntry | None = Field(
        description="Where the shelf prints in nothing that will do: the nearest, and by how much it misses."
    )
    refused: list[RefusedEntry]
    break_evens: list[BreakEvenEntry]
    break_even_words: list[str] = Field(description="The same in sentences.")
    leads: list[LeadEntry] = Field(description="Which of the handful takes least at each number of copies to 200.")
    lead_words: list[str] = Field(description="The same in sentences, one a measure.")
    picks: list[PickEntry]
    pick: PickEntry | None = Field(description="By the job's stated preference.")
    notes: list[str]


class RoutesEntry(Entry):
    """The routes of a job."""

    parts: list[PartRoutesEntry]


def routes_entry(parts: Sequence[PartRoutes]) -> RoutesEntry:
    """All routes of all parts."""
    return RoutesEntry(parts=[_part(one) for one in parts])


def _part(part: PartRoutes) -> PartRoutesEntry:
    whys = {one.route: one.whys for one in part.shortlist.kept}
    shown = [one for one in part.routes if one.undominated or one.recipe.name in whys]
    never = not_printed(part)
    return PartRoutesEntry(
        name=part.name,
        copies=part.copies,
        hardness=str(part.wanted),
        routes=[_route(one, whys=whys.get(one.recipe.name, ())) for one in shown],
        candidates=part.shortlist.candidates,
        left_out=[LeftOutEntry.model_validate(one) for one in part.shortlist.left_out],
        not_printed=None if never is None else RefusedEntry.model_validate(never),
        refused=[RefusedEntry.model_validate(one) for one in part.refused],
        break_evens=[BreakEvenEntry.model_validate(one) for one in part.breaks],
        break_even_words=list(break_even_words(part)),
        leads=[LeadEntry.model_validate(one) for one in part.leads],
        lead_words=list(lead_words(part)),
        picks=[PickEntry.model_validate(one) for one in part.picks],
        pick=None if part.pick is None else PickEntry.model_validate(part.pick),
        notes=list(part.notes),
    )


def _route(one: Route, *, whys: Sequence[str]) -> RouteEntry:
    recipe, what = one.recipe, one.outcome
    return RouteEntry(
        name=recipe.name,
        short=short_name(one),
        telling=bool(whys),
        whys=list(whys),
        way=recipe.way.value,
        kind=recipe.kind,
        material=recipe.material,
        silicone=recipe.silicone,
        moulds=what.moulds,
        cavities=recipe.a_mould,
        meets=True,
        hardness=None if recipe.hardness is None else str(recipe.hardness),
        off_points=recipe.off_points,
        finish=recipe.finish,
        step_mm=recipe.flaw_mm,
        fit_miss_mm=recipe.fit_miss_mm,
        seam_on_show_mm=recipe.seam_mm,
        first_proof_min=what.first_proof_min,
        first_copy_min=what.first_copy_min,
        all_copies_min=what.all_copies_min,
        days=what.days,
        hands_min=what.hands_min,
        printer_min=what.printer_min,
        tries=what.tries,
        goes=what.goes,
        go_copies=list(goes_of(recipe, what.tries)),
        rounds_words=rounds_told(one),
        cost=what.money,
        per_copy_cost=what.money / what.copies,
        costs=[CostEntry.model_validate(cost) for cost in what.costs],
        work=work_entries(one),
        unpriced=list(what.unpriced),
        chance=what.chance,
        undominated=one.undominated,
        would_win=one.would_win,
        estimated=recipe.estimated,
        planned=recipe.planned,
        to_buy=list(recipe.to_buy),
        notes=list(recipe.notes),
        fixed_by=FixedEntry.model_validate(fixing(recipe)),
    )


def work_entries(one: Route) -> list[WorkEntry]:
    """Work and waits of each name, summed."""
    summed: dict[str, tuple[int, float, float]] = {}
    for work in works_for(one.recipe, one.outcome.copies):
        times, hands, waits = summed.get(work.what, (0, 0.0, 0.0))
        summed[work.what] = (times + 1, hands + work.hands_min, waits + work.wait_min)
    return [
        WorkEntry(what=what, times=times, hands_min=hands, wait_min=waits)
        for what, (times, hands, waits) in summed.items()
    ]
