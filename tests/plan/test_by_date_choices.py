"""Which number of cavities is planned again, and what is said of it: the plans themselves are stand-ins."""

from dataclasses import replace
from types import SimpleNamespace as Some

import pytest

from firstpour.cavities.values import DATE
from firstpour.job.job import Job, PartRequest
from firstpour.parting.values import MouldKind
from firstpour.plan import by_date
from firstpour.plan.by_date import plan_by_date
from firstpour.plan.values import Plan
from firstpour.values import Finding, Severity
from stand_in_plans import cavity_row, failed, part_plan

ROLLER = PartRequest(name="roller", cavities=DATE)
KNOB = PartRequest(name="knob", cavities=2)
TABLE = (cavity_row(1, days=9.0, made=True), cavity_row(2, days=6.0), cavity_row(4, days=3.0, basin=True))


def said(code):
    return Finding(severity=Severity.INFO, code=code, what=code, remedy=code)


class Planner:
    """Stands for `make_plan`: keeps what was asked each time, and makes moulds of so many cavities."""

    def __init__(self, monkeypatch, tables, *, fails=(), said=(), kind=MouldKind.TRAYS, extra=()):
        self.asked, self.tables, self.fails, self.said = [], tables, fails, said
        self.kind, self.extra = kind, extra
        monkeypatch.setattr(by_date, "make_plan", self.make)

    def make(self, job, **_):
        asked = {one.name: (one.cavities, one.basin) for one in job.parts}
        self.asked.append(asked)
        lost = {name for name, cavities in self.fails if asked[name][0] == cavities}
        parts = [self.planned(one) for one in job.parts if one.name not in lost]
        return Plan(job=job, parts=tuple(parts), failed=tuple(failed(name) for name in sorted(lost)))

    def planned(self, request):
        count = 1 if request.cavities == DATE else request.cavities
        rows = self.tables.get(request.name, ())
        if len(self.asked) > 1:
            rows = (*rows, *self.extra)
        rows = tuple(replace(row, made=row.cavities == count) for row in rows)
        return part_plan(request, mould=Some(cavities=count, kind=self.kind), cavities=rows, said=self.said)


def plan(*parts):
    job = Job(name="touch table", parts=parts)
    made = plan_by_date(job, progress=lambda *_: None)
    assert made.job is job
    assert [one.request for one in made.parts] == [one for one in parts if one.name not in named(made.failed)]
    return made


def named(failures):
    return [one.name for one in failures]


def codes(one):
    return [finding.code for finding in one.said]


def test_the_best_number_is_planned_again_with_its_basin_and_other_parts_as_they_were_asked(monkeypatch):
    planner = Planner(monkeypatch, {"roller": TABLE, "knob": TABLE})
    roller, knob = plan(ROLLER, KNOB).parts
    assert planner.asked == [
        {"roller": (DATE, None), "knob": (2, None)}, {"roller": (4, True), "knob": (2, None)},
    ]  # fmt: skip
    assert (roller.mould.cavities, knob.mould.cavities) == (4, 2)
    assert [row.cavities for row in roller.cavities if row.made] == [4]


@pytest.mark.parametrize(
    ("rows", "runs"),
    [
        ((cavity_row(1, days=3.0), cavity_row(2, days=3.0)), 1),
        ((cavity_row(1, days=9.0), cavity_row(2, days=3.0)), 2),
        ((cavity_row(1, days=None), cavity_row(2, days=None)), 1),
        ((), 1),
    ],
)
def test_nothing_is_planned_again_where_one_cavity_is_the_best_or_nothing_is_known(monkeypatch, rows, runs):
    planner = Planner(monkeypatch, {"roller": rows})
    plan(ROLLER)
    assert len(planner.asked) == runs


def test_a_part_whose_mould_does_not_come_out_keeps_one_cavity_and_the_others_theirs(monkeypatch):
    planner = Planner(monkeypatch, {"roller": TABLE, "wheel": TABLE}, fails=[("roller", 4), ("knob", 2)])
    made = plan(ROLLER, replace(ROLLER, name="wheel"), KNOB)
    assert [asked["roller"][0] for asked in planner.asked] == [DATE, 4, DATE]
    assert [asked["wheel"][0] for asked in planner.asked] == [DATE, 4, 4]
    assert named(made.failed) == ["knob"]
    assert [one.mould.cavities for one in made.parts] == [1, 4]


def test_a_part_that_failed_with_one_cavity_already_is_no_reason_to_plan_once_more(monkeypatch):
    planner = Planner(monkeypatch, {"roller": TABLE}, fails=[("knob", 2)])
    plan(ROLLER, KNOB)
    assert len(planner.asked) == 2


def test_the_numbers_shown_are_those_that_were_chosen_from(monkeypatch):
    Planner(monkeypatch, {"roller": TABLE}, extra=(cavity_row(3, days=1.0),))
    (roller,) = plan(ROLLER).parts
    assert [row.cavities for row in roller.cavities] == [1, 2, 4]


def test_a_better_number_is_told_anew_of_the_numbers_shown_and_all_else_once(monkeypatch):
    """Of four cavities the mould does not come out: it has one, and the table still has a better number."""
    before = (said("other-cavities"), said("typical-shrinkage"), said("cavities-beyond-a-mix"))
    rows = tuple(replace(row, in_one_mix=False) for row in TABLE)
    Planner(monkeypatch, {"roller": rows}, fails=[("roller", 4)], said=before)
    (roller,) = plan(ROLLER).parts
    assert codes(roller) == ["typical-shrinkage", "cavities-beyond-a-mix", "other-cavities"]
    assert "with 4 after 3.0" in roller.said[-1].what


def test_what_is_said_of_a_number_that_was_asked_for_stays(monkeypatch):
    Planner(monkeypatch, {"knob": TABLE}, said=(said("other-cavities"),))
    (knob,) = plan(KNOB).parts
    assert knob.said == (said("other-cavities"),)


@pytest.mark.parametrize(
    ("rows", "kind", "why"),
    [
        ((), MouldKind.BLOCK, "a mould of kind block takes one cavity"),
        ((cavity_row(1, days=None), cavity_row(2, days=None)), MouldKind.TRAYS, "no number of cavities has its days"),
        ((cavity_row(1, days=3.0),), MouldKind.TRAYS, "no second one goes beside the first"),
        ((cavity_row(1, days=3.0), cavity_row(2, days=3.0)), MouldKind.TRAYS, None),
    ],
)
def test_one_cavity_says_why_none_was_chosen_unless_it_is_the_best_of_several(monkeypatch, rows, kind, why):
    Planner(monkeypatch, {"roller": rows}, kind=kind)
    (roller,) = plan(ROLLER).parts
    assert codes(roller) == ([] if why is None else ["cavities-not-chosen"])
    assert all(why in one.what and one.remedy for one in roller.said)


def test_several_cavities_are_never_told_as_not_chosen(monkeypatch):
    """Planned again with two, the part has nothing left to compare with."""
    planner = Planner(monkeypatch, {"roller": (cavity_row(2, days=3.0),)})
    (roller,) = plan(ROLLER).parts
    assert len(planner.asked) == 2
    assert codes(roller) == []
