"""The pages before the parts hold the dates, routes and days of plan.json, each once."""

from datetime import datetime, timedelta

import pytest

from firstpour.files.plan_json import PlanEntry
from firstpour.files.schedule_entries import OptionEntry
from firstpour.files.taken_entries import AmongEntry, TakenEntry
from firstpour.results import SavedPlan
from firstpour.sheets.blocks import Key, Picture, Table, Words
from firstpour.sheets.front_pages import LINES_A_PAGE, TAKEN, front_pages, routes_pages
from firstpour.sheets.order_words import last_words, no_sooner_words, option_rows


@pytest.fixture(scope="module")
def plan(demo: SavedPlan) -> PlanEntry:
    return demo.entry


def of(page, kind):
    return [one for one in page.blocks if isinstance(one, kind)]


def route(ways: int, *, sentences: int = 0) -> TakenEntry:
    among = [
        AmongEntry(
            name=f"way {k} of materials",
            short=f"way {k}",
            taken=k == 1,
            cost=10.0 + k,
            unpriced=k == 2,
            hands_min=90.0,
            first_proof_min=61.2,
            days=2.0,
            finish="layers of 0.06 mm show",
            chance=0.931,
        )
        for k in range(ways)
    ]
    told = [f"casting costs less from {k} copies on" for k in range(sentences)]
    return TakenEntry(
        name="way 1 of materials",
        way="cast",
        preference="cheapest",
        fixed=None,
        why="the least money",
        among=among,
        break_evens=told,
    )


def with_routes(plan: PlanEntry, made: TakenEntry) -> PlanEntry:
    return plan.model_copy(update={"parts": [one.model_copy(update={"route": made}) for one in plan.parts]})


def test_every_task_stands_once_among_the_days_under_the_day_on_which_it_begins(plan):
    days = front_pages(plan)[-1]
    rows = [(table.title, row[1][:5], row[2], row[3].strip("()")) for table in of(days, Table) for row in table.rows]
    tasks = [(f"{one.start:%A %d %B %Y}", f"{one.start:%H:%M}", one.part, one.name) for one in plan.schedule.tasks]
    assert sorted(rows) == sorted(tasks)
    assert [table.title for table in of(days, Table)] == list(dict.fromkeys(title for title, *_ in rows))


def test_what_needs_hands_has_a_box_to_tick_and_what_goes_by_itself_stands_in_brackets(plan):
    for table in of(front_pages(plan)[-1], Table):
        for box, _, _, what in table.rows:
            assert (box == "☐") is not what.startswith("(")


def test_the_dates_are_told_once_and_no_time_beside_them(plan):
    first = front_pages(plan)[0]
    proof, last = of(first, Key)
    assert proof.text.endswith(plan.schedule.first_proof_at.strftime("%H:%M"))
    assert plan.schedule.all_done_at.strftime("%d %b %Y") in last.text
    assert "Last copy" not in of(first, Table)[0].head


def test_without_an_order_of_work_the_times_of_each_part_stand_instead(plan):
    pages = front_pages(plan.model_copy(update={"schedule": None}))
    assert len(pages) == 1
    assert not of(pages[0], Key)
    assert of(pages[0], Table)[0].head[-2:] == ("First proof", "Last copy")


def test_the_chart_stands_where_it_was_drawn(plan):
    (picture,) = of(front_pages(plan)[1], Picture)
    assert picture.file in plan.files
    left_out = [one for one in plan.files if one != picture.file]
    assert not of(front_pages(plan.model_copy(update={"files": left_out}))[1], Picture)


def test_the_route_taken_is_marked_and_a_price_that_is_not_whole_says_at_least(plan):
    assert routes_pages(plan) == ()
    page, *_ = routes_pages(with_routes(plan, route(3)))
    table = of(page, Table)[0]
    assert [row[0] for row in table.rows] == ["", TAKEN, ""]
    assert table.rows[2][2:6] == ("≥ 12.00", "1.5 h", "1 h 2 min", "2.0")
    assert of(page, Words)[0].text == "Taken: way 1 of materials. Why: the least money"


def test_parts_with_many_routes_go_on_to_another_page_and_none_is_lost(plan):
    made = route(8, sentences=2)
    pages = routes_pages(with_routes(plan, made))
    assert 1 < len(pages) <= len(plan.parts)
    assert [table.title for page in pages for table in of(page, Table)] == [part.name for part in plan.parts]
    assert len(routes_pages(with_routes(plan, route(LINES_A_PAGE)))) == len(plan.parts)


def option(plan: PlanEntry, name: str, sooner_days: float, money: float | None) -> OptionEntry:
    done = plan.schedule.all_done_at - timedelta(days=sooner_days)
    return OptionEntry(
        name=name,
        first_proof_at=plan.schedule.first_proof_at,
        all_done_at=done,
        sooner_days=sooner_days,
        hands_min=600.0,
        money=money,
        proved="optimal",
    )


def test_what_buys_time_stands_below_the_job_as_it_is_and_what_buys_none_is_named(plan):
    made = [option(plan, "one mould more", 2.0, 21.6), option(plan, "trays", 0.0, None)]
    entry = plan.schedule.model_copy(update={"options": made})
    stands, sooner = option_rows(entry)
    assert stands[0] == "as it stands"
    assert sooner[:2] == ("one mould more", "2.0")
    assert sooner[4:] == ("10.0 h", "+22")
    assert no_sooner_words(entry) == "No sooner with: trays."
    none = entry.model_copy(update={"options": made[1:]})
    assert option_rows(none) == []
    assert no_sooner_words(none) == "Nothing buys time, not even: trays."


@pytest.mark.parametrize(("days", "words"), [(0, "on that day"), (1, "1 day to spare"), (-2, "2 days late")])
def test_the_last_copy_is_told_against_the_date(plan, days: int, words: str):
    done: datetime = plan.schedule.all_done_at
    entry = plan.schedule.model_copy(update={"due": done.date() + timedelta(days=days)})
    assert last_words(entry).endswith(words)
