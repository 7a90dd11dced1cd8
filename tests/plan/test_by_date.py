"""The number of cavities chosen for the date: ribbed rollers of the tide pool, against the table of each number."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from math import ceil

import pytest

from demo_plan import TODAY
from firstpour.bench.steps import StepKind, round_steps
from firstpour.cavities.table import best_row
from firstpour.cavities.values import DATE
from firstpour.errors import BadJob
from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import job_from_text
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job, PartRequest
from firstpour.parting.values import MouldKind
from firstpour.plan import plan_by_date
from firstpour.plan.route_basis import routes_of
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER
from firstpour.results import plan_into
from firstpour.schedule.part_tasks import part_tasks
from firstpour.schedule.ways import Ways
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.equipment import Equipment
from firstpour.workshop.workshop import Workshop
from mould_shapes import as_part, turned_profile

PROFILE = [(3.0, 0.0), (10.0, 0.0), (12.0, 3.0), (12.0, 5.0), (10.0, 8.0), (3.0, 8.0)]


@pytest.fixture(scope="module")
def roller(tmp_path_factory):
    """The file of a roller with one rib around it."""
    file = tmp_path_factory.mktemp("rollers") / "roller.stl"
    file.write_bytes(stl_bytes(as_part("roller", turned_profile(PROFILE, segments=48)).mesh))
    return file


@cache
def planned(file, *, due=None, hardness="A 30", cavities=DATE, kind=MouldKind.TRAYS, bed_mm=220.0):
    request = PartRequest(
        name="ribbed roller",
        file=file,
        copies=8,
        hardness=hardness,
        draw=(0.0, 0.0, 1.0),
        kind=kind,
        cavities=cavities,
        up=(0.0, 0.0, 1.0),
    )
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)
    printer = replace(FILAMENT_PRINTER, size_mm=(bed_mm, bed_mm, 200.0))
    job = Job(name="touch table", due=due, parts=(request,), equipment=Equipment(printers=(printer, VAT_PRINTER)))
    return plan_by_date(job, progress=lambda *_: None, workshop=workshop)


def test_the_mould_has_the_number_of_cavities_that_its_table_calls_the_best(roller):
    (one,) = planned(roller).parts
    best = best_row(one.cavities)
    assert one.mould.cavities == best.cavities > 1
    assert [row.cavities for row in one.cavities if row.made] == [best.cavities]
    assert "other-cavities" not in {finding.code for finding in one.said}


def test_a_date_far_off_is_met_with_one_cavity_and_a_nearer_one_with_the_fewest_that_meet_it(roller):
    (alone,) = planned(roller, due=TODAY + timedelta(days=120)).parts
    assert alone.mould.cavities == 1
    days = {row.cavities: row.days for row in alone.cavities}
    by = date.fromordinal(TODAY.toordinal() + int(days[1]) - 1)
    (one,) = planned(roller, due=by).parts
    made = next(row for row in one.cavities if row.made)
    assert made.in_time
    assert all(not row.in_time for row in one.cavities if row.cavities < made.cavities)
    assert made.cavities > 1


def test_the_job_keeps_what_was_asked(roller):
    plan = planned(roller)
    assert plan.job.parts[0].cavities == plan.parts[0].request.cavities == DATE


def test_it_is_the_same_mould_as_with_that_number_asked_for(roller):
    (one,) = planned(roller).parts
    (asked,) = planned(roller, cavities=one.mould.cavities).parts
    assert asked.mould.silicone_ml == one.mould.silicone_ml
    assert asked.mould.casting_ml == one.mould.casting_ml


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"hardness": None}, "no number of cavities has its days"),
        ({"kind": MouldKind.BLOCK}, "takes one cavity"),
        ({"bed_mm": 60.0}, "no second one goes beside the first"),
    ],
)
def test_one_cavity_is_made_and_said_why_where_nothing_can_be_chosen(roller, more, why):
    (one,) = planned(roller, **more).parts
    (said,) = [finding for finding in one.said if finding.code == "cavities-not-chosen"]
    assert one.mould.cavities == 1
    assert why in said.what


JOB = """
[job]
name = "touch table"
[[part]]
name = "ribbed roller"
file = "roller.stl"
copies = 8
hardness = "A 30"
draw = [0, 0, 1]
up = [0, 0, 1]
kind = "trays"
cavities = "date"
"""


def test_plan_routes_schedule_and_bench_tell_the_same_number(roller, tmp_path):
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)
    job = job_from_text(JOB, folder=roller.parent)
    saved = plan_into(job, tmp_path / "plan", progress=lambda *_: None, workshop=workshop)
    (one,), (entry,) = saved.plan.parts, saved.entry.parts
    (best,) = [row for row in entry.cavities if row.best]
    assert best.made
    assert entry.mould.cavities == best.cavities == one.mould.cavities > 1
    recipe = next(route.recipe for route in routes_of(saved.plan, workshop)[0].routes if route.recipe.planned)
    assert recipe.a_mould == recipe.a_go == best.cavities
    tasks = part_tasks(one, Ways(moulds=1)).tasks
    rounds = [task for task in tasks if task.id.startswith("ribbed roller/round ") and task.id.endswith(" cast")]
    assert len(rounds) == ceil(one.choice.pours / best.cavities) == best.rounds
    steps = round_steps(saved.entry, entry, number=1, moulds=[1])
    answers = [step for step in steps if step.kind is StepKind.OUTCOME]
    assert len(answers) == best.cavities


@pytest.mark.parametrize("cavities", ['"dates"', "0", "49", "1.5", "true"])
def test_no_other_word_is_taken_for_a_number_of_cavities(cavities, roller):
    with pytest.raises(BadJob, match="cavities"):
        job_from_text(JOB.replace('"date"', cavities), folder=roller.parent)
