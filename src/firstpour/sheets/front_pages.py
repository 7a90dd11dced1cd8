"""The pages before the parts: what one plans by, the routes to decide between, the order of work day by day."""

from collections.abc import Sequence
from itertools import groupby

from firstpour.files.learned_entries import learned_words
from firstpour.files.material_entries import StockLineEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.files.schedule_entries import CHART_FILE, ScheduleEntry, TaskEntry
from firstpour.files.taken_entries import AmongEntry, PrintedPartEntry, TakenEntry
from firstpour.sheets.blocks import Block, Cautions, Key, Page, Picture, Table, Ticks, Words
from firstpour.sheets.order_words import (
    MONEY_NOTE,
    OPTION_HEAD,
    driver_words,
    from_to_words,
    hands_words,
    last_words,
    no_sooner_words,
    option_rows,
    proof_words,
    sure_words,
    takes_words,
)
from firstpour.sheets.placed import ON_FIRST_PAGE, UNKNOWN_CAUTIONS
from firstpour.sheets.words import copies_words, told, wait_words
from firstpour.units import count_words

SAID_APART = frozenset({"buy"})
TAKEN = "→"
LINES_A_PAGE = 42
"""So many rows and sentences of routes stand on one page."""


def front_pages(plan: PlanEntry) -> tuple[Page, ...]:
    """All pages that concern the whole job, in the order in which they are read."""
    return (summary_page(plan), *routes_pages(plan), *order_pages(plan))


def summary_page(plan: PlanEntry) -> Page:
    """Parts, first proof and last copy, what to buy, what is wrong, what can harm."""
    every = sum(part.wanted for part in plan.parts) + sum(one.copies for one in plan.printed)
    copies = count_words(every, "copy", "copies")
    due = "" if plan.job.due is None else f" · due {plan.job.due.isoformat()}"
    blocks: list[Block] = []
    if plan.schedule is not None:
        blocks.append(Key(text=proof_words(plan.schedule)))
        blocks.append(Key(text=last_words(plan.schedule), note=takes_words(plan.schedule)))
    blocks += [_parts(plan), _order(plan)]
    wrong = tuple(
        f"{one.severity.value.upper()}{f', {one.where}' if one.where else ''}: {told(one.what, one.remedy)}"
        for one in plan.findings
        if one.severity in ON_FIRST_PAGE and one.code not in SAID_APART
    )
    blocks += [Cautions(title="Put right or keep in mind before you begin", items=wrong)] if wrong else []
    if words := learned_words(plan.learned, [*(one.name for one in plan.parts), *(one.name for one in plan.printed)]):
        blocks.append(Words(text=words))
    if plan.to_have:
        buy = tuple(f"{line.name}: {_buy_words(line)}" for line in plan.to_have if not line.enough)
        blocks.append(Ticks(title="Buy", items=buy) if buy else Words(text="The shelf has enough of every material."))
    if plan.to_lay_out:
        things = ", ".join(f"{one.count} × {one.name}" for one in plan.to_lay_out)
        blocks.append(Words(text=f"For the whole job: {things}."))
    cautions = tuple(
        dict.fromkeys(
            one.text
            for cautions in (
                *(part.materials.cautions for part in plan.parts if part.materials),
                *(one.cautions for one in plan.printed),
            )
            for one in cautions
        )
    )
    blocks.append(Cautions(title="What can harm in this job", items=cautions or UNKNOWN_CAUTIONS))
    return Page(title=plan.job.name, under=f"Plan and run sheet · {copies}{due}", blocks=tuple(blocks))


def _parts(plan: PlanEntry) -> Table:
    """The parts; how long each takes by itself stands there only where no order of work gives the dates."""
    ordered = plan.schedule is not None
    head = ("Part", "Copies", "Feel", "Mould", "Silicone", "Cast", "Rounds")
    rows = (*(_part_row(part) for part in plan.parts), *(_printed_row(one) for one in plan.printed))
    if ordered:
        return Table(title="The parts", head=head, rows=tuple(row[:-2] for row in rows), widths=(0, 0, 0, 0, 1, 1, 0))
    return Table(
        title="The parts (times: if hands and printers never keep a part waiting)",
        head=(*head, "First proof", "Last copy"),
        rows=rows,
        widths=(0, 0, 0, 0, 1, 1, 0, 0, 0),
    )


def _part_row(part: PartEntry) -> tuple[str, ...]:
    choice, elapsed = part.materials, part.elapsed
    silicone = None if choice is None else choice.silicone
    casting = None if choice is None else choice.casting
    return (
        part.name,
        copies_words(part) if part.together else str(part.copies),
        "–" if choice is None else choice.hardness,
        part.mould.kind.value,
        f"{part.mould.silicone_ml:.0f} ml" + ("" if silicone is None else f", {silicone.name}"),
        f"{part.mould.casting_ml:.1f} ml" + ("" if casting is None else f", {casting.name}"),
        "–" if choice is None else str(choice.rounds),
        "–" if elapsed.first_copy_min is None else wait_words(elapsed.first_copy_min),
        "–" if elapsed.all_copies_min is None else wait_words(elapsed.all_copies_min),
    )


def _printed_row(one: PrintedPartEntry) -> tuple[str, ...]:
    """A part without a mould: its rounds are plates."""
    return (
        one.name,
        str(one.copies),
        one.hardness or "–",
        "printed directly",
        "–",
        f"{one.material}, {one.printer}",
        count_words(one.plates, "plate", "plates"),
        wait_words(one.first_copy_min),
        wait_words(one.all_copies_min),
    )


def _order(plan: PlanEntry) -> Table:
    return Table(
        title="What follows what",
        head=("Part", "In this order"),
        rows=(
            *((part.name, " → ".join(part.elapsed.order)) for part in plan.parts),
            *((one.name, " → ".join(work.what for work in one.work)) for one in plan.printed),
        ),
        widths=(0, 1),
    )


def _buy_words(line: StockLineEntry) -> str:
    if line.buy is None:
        return f"{line.need_a_g:.0f} g A and {line.need_b_g:.0f} g B are needed; no pack of it is known"
    packs = ", ".join(
        f"{one.count} × {one.part_a_g:g} g" + (f" + {one.part_b_g:g} g" if one.part_b_g else "")
        for one in line.buy.packs
    )
    return packs + ("" if line.buy.cost is None else f", about {line.buy.cost:.2f} in your currency")


def routes_pages(plan: PlanEntry) -> tuple[Page, ...]:
    """The routes of every part that takes one, as many parts on a page as it holds; none where none takes a route."""
    asked = [*((one.name, one.route) for one in plan.parts), *((one.name, one.route) for one in plan.printed)]
    pages: list[list[Block]] = []
    lines = LINES_A_PAGE
    for name, route in asked:
        if route is None or not route.among:
            continue
        takes = _lines(route)
        if lines + takes > LINES_A_PAGE:
            pages.append([])
            lines = 0
        pages[-1] += _routes(name, route)
        lines += takes
    under = f"{TAKEN} is the one taken · a quick estimate, each part by itself"
    return tuple(Page(title="Routes: how the copies are made", under=under, blocks=tuple(one)) for one in pages)


def _lines(route: TakenEntry) -> int:
    """Title and head, a row each that may be two lines high, and the sentences."""
    return 4 + 2 * len(route.among) + 3 * len(route.break_evens)


def _routes(name: str, route: TakenEntry) -> list[Block]:
    blocks: list[Block] = [
        Table(
            title=name,
            head=("", "Route", "Money", "Hands", "First proof", "Days", "Finish", "Chance"),
            rows=tuple(_among_row(one) for one in route.among),
            widths=(0, 1, 0, 0, 0, 0, 1, 0),
        ),
        Words(text=f"Taken: {route.name}. Why: {route.why}"),
    ]
    return blocks + [Words(text=f"Break-even: {words}.") for words in route.break_evens]


def _among_row(one: AmongEntry) -> tuple[str, ...]:
    return (
        TAKEN if one.taken else "",
        one.short,
        f"{'≥ ' if one.unpriced else ''}{one.cost:.2f}",
        hands_words(one.hands_min),
        wait_words(one.first_proof_min),
        f"{one.days:.1f}",
        one.finish,
        f"{100 * one.chance:.0f} %",
    )


def order_pages(plan: PlanEntry) -> tuple[Page, ...]:
    """The order of work: its chart, how sure it is, what would buy time; then each day by itself."""
    entry = plan.schedule
    if entry is None:
        return ()
    blocks: list[Block] = [Words(text=sure_words(entry))]
    blocks += [Words(text=words) for words in (driver_words(entry),) if words]
    if CHART_FILE in plan.files:
        alt = f"The order of work from {entry.start:%d %b %Y} on; the table of the next page holds the same."
        blocks.append(Picture(file=CHART_FILE, alt=alt, share=1.0))
    if rows := option_rows(entry):
        widths = (1.0, *(0.0 for _ in OPTION_HEAD[1:]))
        blocks.append(Table(title="What would buy time", head=OPTION_HEAD, rows=tuple(rows), widths=widths))
        blocks.append(Words(text=MONEY_NOTE))
    blocks += [Words(text=words) for words in (no_sooner_words(entry),) if words]
    under = f"{proof_words(entry)} · {last_words(entry)}"
    return (Page(title="The order of work", under=under, blocks=tuple(blocks)), _days(entry))


def _days(entry: ScheduleEntry) -> Page:
    days = groupby(entry.tasks, key=lambda one: one.start.date())
    tables = tuple(_day(f"{day:%A %d %B %Y}", tuple(tasks)) for day, tasks in days)
    return Page(title="Day by day", under="In brackets: what goes by itself.", blocks=tables)


def _day(title: str, tasks: Sequence[TaskEntry]) -> Table:
    return Table(
        title=title,
        head=("", "From – to", "Part", "What"),
        rows=tuple(_task_row(one) for one in tasks),
        widths=(0, 0.22, 0.2, 1),
    )


def _task_row(one: TaskEntry) -> tuple[str, ...]:
    what = one.name if one.hands else f"({one.name})"
    return "☐" if one.hands else "", from_to_words(one), one.part, what
