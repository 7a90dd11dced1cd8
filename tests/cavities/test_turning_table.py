"""Eight soft rollers and eight rigid pulleys with an axle tube in one job: how many cavities, and do they open."""

from dataclasses import replace
from itertools import pairwise

import pytest

from demo_plan import TODAY
from families import check_channels, check_opening, check_pieces, check_walls
from families.joint import least_gap_mm, with_all_copies
from families.written import read_moulds
from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import read_job
from firstpour.plan.route_basis import routes_of
from firstpour.results import plan_into
from firstpour.sheets.blocks import Ticks
from firstpour.sheets.cast_page import cast_pages
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop
from turning_table import write_turning_table

DUE = "2027-01-15"
"""Ten days: too few for one cavity of the rubber that sets overnight."""
CHECKS = (
    check_pieces.measured,
    check_pieces.balanced,
    check_pieces.open_on_top,
    check_opening.lifts_off_part,
    check_opening.lifts_off_sprue,
    check_opening.leaves_tray,
    check_walls.no_fins,
    check_walls.stated_wall,
    check_channels.clear_of_part,
    check_channels.open_to_outside,
    check_channels.air_in_silicone,
)
NAMES = ("ribbed roller", "pulley")


@pytest.fixture(scope="module")
def workshop():
    return Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)


@pytest.fixture(scope="module")
def made(tmp_path_factory, workshop):
    """The job planned and written: the plan, and its moulds read back with all their copies."""
    folder = tmp_path_factory.mktemp("turning-table")
    held = write_turning_table(folder, due=DUE)
    saved = plan_into(
        read_job(folder / "job.toml"), folder / "out", progress=lambda *_: None, workshop=workshop
    )  # fmt: skip
    moulds = {mould.name: with_all_copies(mould) for mould in read_moulds(folder / "out", held)}
    return saved, moulds


def entry_of(made, name):
    return next(part for part in made[0].entry.parts if part.name == name)


@pytest.mark.parametrize("name", NAMES)
def test_the_fewest_cavities_that_meet_the_date_are_made_and_their_money_is_told(made, name):
    part = entry_of(made, name)
    (row,) = [row for row in part.cavities if row.made]
    assert row.best
    assert row.in_time
    assert part.mould.cavities == row.cavities
    assert all(not other.in_time for other in part.cavities if other.cavities < row.cavities)
    assert row.cost > 0.0
    known = [other for other in part.cavities if other.in_one_mix]
    assert all(a.cost < b.cost for a, b in pairwise(known))
    assert all(other.cost is None for other in part.cavities if not other.in_one_mix)
    assert all(a.copies_a_day <= b.copies_a_day for a, b in pairwise(part.cavities))
    assert all(a.silicone_ml < b.silicone_ml for a, b in pairwise(part.cavities))


def test_the_rubber_that_sets_overnight_needs_several_and_the_plastic_fewer(made):
    assert entry_of(made, "ribbed roller").mould.cavities > entry_of(made, "pulley").mould.cavities


def test_the_sheet_says_to_set_the_tube_before_the_mould_is_closed(made):
    (page,) = cast_pages(made[0].entry, entry_of(made, "pulley"))
    (ticks,) = [block for block in page.blocks if isinstance(block, Ticks) and block.title == "Close it and stand it"]
    assert ticks.items[0].startswith("Set in a tube of 4 × 10 mm")


@pytest.mark.parametrize("name", NAMES)
def test_the_row_that_is_made_has_the_days_and_money_of_its_route(made, workshop, name):
    (row,) = [row for row in entry_of(made, name).cavities if row.made]
    routes = next(one for one in routes_of(made[0].plan, workshop) if one.name == name)
    route = next(one for one in routes.routes if one.recipe.planned)
    assert row.days == pytest.approx(route.outcome.days)
    assert row.cost == pytest.approx(route.outcome.money)


@pytest.fixture(scope="module")
def four(tmp_path_factory, workshop):
    """Four pulleys in one mould."""
    folder = tmp_path_factory.mktemp("pulleys")
    held = write_turning_table(folder, due=DUE)
    job = read_job(folder / "job.toml")
    job = replace(job, parts=(replace(job.parts[1], cavities=4),))
    plan_into(job, folder / "out", progress=lambda *_: None, workshop=workshop)
    (mould,) = read_moulds(folder / "out", held)
    return with_all_copies(mould)


@pytest.fixture(params=["rollers", "four pulleys"])
def joint(request, made, four):
    return four if request.param == "four pulleys" else made[1]["ribbed roller"]


def test_the_copies_lie_no_nearer_than_the_wall(joint):
    assert least_gap_mm(joint) >= 8.0 * joint.scale - 0.01


@pytest.mark.parametrize("check", CHECKS, ids=lambda one: one.__name__)
def test_the_pieces_pass_the_checks_of_the_families(joint, check):
    assert check(joint) == []


def test_the_air_of_the_cast_is_no_more_than_said(joint):
    _, faults = check_channels.air_in_cast(joint)
    assert faults == []
