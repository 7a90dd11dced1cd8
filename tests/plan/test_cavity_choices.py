"""How many cavities the materials allow, and the table of their numbers: pours are stand-ins, figures by hand."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace as Some

import pytest

from firstpour.cavities.lay import Option
from firstpour.cavities.values import MOST
from firstpour.choosing.need import PartNeed
from firstpour.errors import BadRequest
from firstpour.fill.values import ChannelUse, MadeAs
from firstpour.job.job import Job, PartRequest
from firstpour.parting.values import MouldKind
from firstpour.plan import cavity_room as room_module
from firstpour.plan import cavity_table as table_module
from firstpour.plan.cavity_room import Room, cavity_room, in_one_mix
from firstpour.plan.cavity_table import cavity_table, table_findings
from firstpour.values import Severity
from firstpour.workshop.equipment import Equipment
from firstpour.workshop.hours import Hours, Weekday, windows_from
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped
from stand_in_plans import cavity_row

WEEK = {Weekday.MONDAY: windows_from("09:00-12:00, 13:00-17:00"), Weekday.FRIDAY: windows_from("10:00-14:00")}
SHELF = Workshop(catalogue=shipped(), stock=(), today=TODAY, equipment=Equipment(hours=Hours(week=WEEK)))
NEED = PartNeed(name="star", pieces_ml={"upper": 60.0, "lower": 40.0}, casting_ml=10.0, copies=12, hardness="A 20")
"""Twelve copies are reckoned as 15 shots (nine times in ten enough at a yield of 0.9)."""
PICKED = Some(material="material", additives=())
BOTH = Some(casting=PICKED, silicone=PICKED)
CAST_ALONE = Some(casting=PICKED, silicone=None)


def trial(*, batches=1, fits=True, total_g=60.0, work_min=10.0, demould_min=100.0):
    mix = Some(batches=batches, total_g=total_g, density_g_ml=1.1)
    return Some(
        mixes=[Some(mix=mix), Some(mix=Some(batches=9))],
        fit=Some(fits=fits, work_min=work_min),
        demould_min=demould_min,
    )


class Pours:
    """One pour fits up to so many openings, one mix so many cavities, and the silicone so many ml."""

    def __init__(self, monkeypatch, *, openings=99, in_a_mix=99, silicone_ml=1e9, breaks=()):
        self.openings, self.in_a_mix, self.silicone_ml, self.breaks = openings, in_a_mix, silicone_ml, breaks
        monkeypatch.setattr(room_module, "casting_trial", self.cast)
        monkeypatch.setattr(room_module, "silicone_trial", self.silicone)

    def cast(self, need, *_):
        if "casting" in self.breaks:
            raise BadRequest("no such mix", remedy="another")
        opened = 1 if need.basin else need.cavities
        return trial(batches=1 if need.cavities <= self.in_a_mix else 2, fits=opened <= self.openings)

    def silicone(self, need, *_, casting):
        if "silicone" in self.breaks:
            raise BadRequest("no such mix", remedy="another")
        return Some(enough=sum(need.pieces_ml.values()) <= self.silicone_ml)


def room(decision=BOTH, need=NEED, workshop=SHELF, **request):
    return cavity_room(PartRequest(name="star", **request), need, decision, workshop)


@pytest.mark.parametrize("unknown", [{"need": None}, {"workshop": None}, {"decision": None}])
@pytest.mark.parametrize(("basin", "made"), [(None, False), (False, False), (True, True)])
def test_where_no_material_is_known_there_is_room_for_48_and_a_basin_only_if_asked_for(unknown, basin, made):
    assert room(basin=basin, cavities=MOST, **unknown) == Room(cavities=48, basin=made)


@pytest.mark.parametrize(
    ("openings", "asked", "basin"),
    [(4, None, False), (3, None, True), (0, None, False), (4, True, True), (3, False, False)],
)
def test_so_many_cavities_have_a_basin_where_one_pour_fills_them_only_so(monkeypatch, openings, asked, basin):
    Pours(monkeypatch, openings=openings)
    assert room(cavities=4, basin=asked) == Room(cavities=48, basin=basin)


@pytest.mark.parametrize(
    ("limits", "asked", "most"),
    [
        ({}, None, Room(cavities=15)),
        ({"openings": 6, "in_a_mix": 10}, None, Room(cavities=10, basin=True)),
        ({"openings": 6, "in_a_mix": 10}, False, Room(cavities=6)),
        ({"openings": 6, "in_a_mix": 6}, None, Room(cavities=6)),
        ({"in_a_mix": 2}, None, Room(cavities=2)),
        ({"openings": 0}, None, Room(cavities=1)),
        ({"breaks": ["casting"]}, None, Room(cavities=1)),
        ({"silicone_ml": 350.0}, None, Room(cavities=3)),
        ({"silicone_ml": 99.0}, None, Room(cavities=15)),
        ({"breaks": ["silicone"]}, None, Room(cavities=1)),
    ],
)
def test_most_is_bounded_by_the_shots_one_mix_and_silicone_that_is_enough_for_one(monkeypatch, limits, asked, most):
    """A cavity takes 100 ml of silicone: 350 are enough for three, 99 for none, so that some is bought anyway."""
    Pours(monkeypatch, **limits)
    assert room(cavities=MOST, basin=asked) == most


def test_most_is_48_however_many_copies_are_made(monkeypatch):
    Pours(monkeypatch)
    assert room(need=replace(NEED, copies=500), cavities=MOST).cavities == 48


@pytest.mark.parametrize("decision", [CAST_ALONE, Some(casting=None, silicone=None)])
def test_a_material_that_is_not_decided_on_is_no_bound(monkeypatch, decision):
    Pours(monkeypatch, silicone_ml=350.0, in_a_mix=99 if decision is CAST_ALONE else 1)
    assert room(decision, cavities=MOST) == Room(cavities=15)


@pytest.mark.parametrize(("batches", "fits", "goes"), [(1, True, True), (2, True, False), (1, False, False)])
def test_one_mix_is_a_single_batch_that_is_poured_in_time(batches, fits, goes):
    assert in_one_mix(trial(batches=batches, fits=fits)) is goes


# --- the table -----------------------------------------------------------------------------------------


def option(cavities, *, print_ml):
    return Option(cavities=cavities, block_mm=(9.0, 9.0, 9.0), silicone_ml=50.0 * cavities, print_ml=print_ml)


OPTIONS = (option(1, print_ml=30.0), option(2, print_ml=60.0), option(4, print_ml=90.0))


def part(
    *, made=2, basin=None, asked=None, kind=MouldKind.TRAYS, made_as=(MadeAs.LOOSE_ROD,), findings=(), choice=None
):
    """A part of 10 ml whose mould has so many cavities and took 100 minutes to print."""
    gates = [Some(use=ChannelUse.GATE, made_as=one) for one in made_as]
    found = [Some(code=code) for code in findings]
    return Some(
        mould=Some(cavities=made, basin=basin, kind=kind, channels=gates, findings=found),
        printing=Some(print_min=100.0), request=PartRequest(name="star", basin=asked), choice=choice,
        measures=Some(volume_mm3=10_000.0),
    )  # fmt: skip


def table(one, monkeypatch=None, pour=None, *, need=NEED, decision=BOTH, workshop=SHELF, **job):
    if monkeypatch is not None:
        monkeypatch.setattr(table_module, "casting_trial", pour)
    return cavity_table(OPTIONS, one, need, decision, workshop, Job(name="pool", parts=(), **job))


@pytest.mark.parametrize(
    "unknown", [{"need": None}, {"workshop": None}, {"decision": None}, {"decision": Some(casting=None)}]
)
def test_without_a_material_the_table_has_blocks_silicone_and_prints_in_proportion_to_their_plastic(unknown):
    rows = table(part(), **unknown)
    assert [row.print_min for row in rows] == pytest.approx([50.0, 100.0, 150.0])
    assert [row.silicone_ml for row in rows] == [50.0, 100.0, 200.0]
    assert [row.made for row in rows] == [False, True, False]
    nothing = (None,) * 7 + (False,)
    for row in rows:
        assert (
            row.waste_g, row.pour_min, row.rounds, row.copies_a_day, row.days, row.cost, row.in_one_mix, row.basin,
        ) == nothing  # fmt: skip


def test_the_clock_of_each_number_is_the_work_of_a_round_against_the_shortest_day(monkeypatch):
    """Two moulds, two batches of 10 minutes, a cure of 100, 8 a copy out, 2 a mould to close (common practice).

    Rounds of 20 + 16 + 4, 20 + 32 + 4 and 20 + 64 + 4 minutes and 100 more; on Friday four hours are open: two
    rounds each, but of the last only one would end in time. Fifteen shots take 8, 4 and 2 mixes of 60 g; twelve
    copies of 10 ml weigh 132 g. The first mould proves itself alone in a round, and in the next it is still alone:
    1, 1 and then 2 at once, 2, 2 and then 4, or 4, 4 and then 8.
    """
    need = replace(NEED, moulds=2)
    rows = table(part(), monkeypatch, lambda *_: trial(batches=2), need=need)
    assert [row.pour_min for row in rows] == pytest.approx([20.0] * 3)
    assert [row.copies_a_day for row in rows] == pytest.approx([2 * 2, 4 * 2, 8])
    assert [row.waste_g for row in rows] == pytest.approx([8 * 60 - 132, 4 * 60 - 132, 0.0])
    assert [row.in_one_mix for row in rows] == [False] * 3
    assert [row.rounds for row in rows] == [9, 5, 3]


def test_a_larger_number_gives_no_fewer_copies_a_day_than_a_smaller_one(monkeypatch):
    """Rounds of 100 minutes go twice into the day, for 1 and 2 copies; four in three days are filled in part."""
    rows = table(part(), monkeypatch, lambda need, *_: trial(demould_min=3000.0 if need.cavities == 4 else 100.0))
    assert [row.copies_a_day for row in rows] == pytest.approx([2.0, 4.0, 4.0])


def test_numbers_without_a_pour_count_for_nothing_in_those_after_them(monkeypatch):
    """A round of two takes three days, of four as well."""

    def pour(need, *_):
        if need.cavities == 1:
            raise BadRequest("no such mix", remedy="another")
        return trial(demould_min=4000.0, total_g=1.0)

    rows = table(part(), monkeypatch, pour)
    assert rows[0].copies_a_day is None
    assert [row.copies_a_day for row in rows[1:]] == pytest.approx([2 / 3, 4 / 3])
    assert [row.waste_g for row in rows[1:]] == [0.0, 0.0]


def test_in_a_workshop_where_nobody_is_ever_there_one_round_a_day_is_reckoned(monkeypatch):
    never = replace(SHELF, equipment=Equipment(hours=Hours(week={})))
    rows = table(part(), monkeypatch, lambda *_: trial(work_min=0.0, demould_min=0.5), workshop=never)
    assert [row.copies_a_day for row in rows] == pytest.approx([1.0, 2.0, 4.0])


def only_by_a_basin(need, *_):
    return trial(fits=need.basin or need.cavities == 1)


@pytest.mark.parametrize(
    ("more", "basins"),
    [
        ({}, [False, False, True]),
        ({"basin": "there"}, [False, True, True]),
        ({"made": 4}, [False, True, False]),
        ({"made": 4, "asked": True}, [False, True, False]),
        ({"asked": False}, [False, False, False]),
        ({"kind": MouldKind.BEDDING}, [False, False, False]),
        ({"made_as": ()}, [False, False, False]),
        ({"made_as": (MadeAs.LOOSE_ROD, MadeAs.BOTH_HALVES)}, [False, False, False]),
        ({"findings": ("undercut", "basin-not-made")}, [False, False, False]),
        ({"findings": ("undercut",)}, [False, False, True]),
    ],
)
def test_another_number_has_a_basin_where_it_may_and_one_mix_fills_it_only_so(monkeypatch, more, basins):
    """The number that was made is told as it was made, one cavity has none."""
    rows = table(part(**more), monkeypatch, only_by_a_basin)
    assert [row.basin for row in rows] == basins
    assert [row.in_one_mix for row in rows] == [True, *(row.basin for row in rows[1:])]


@pytest.mark.parametrize(("asked", "basins"), [(None, [False, False, False]), (True, [False, False, True])])
def test_where_each_gate_alone_goes_too_a_basin_is_reckoned_with_only_if_it_is_asked_for(monkeypatch, asked, basins):
    rows = table(part(asked=asked), monkeypatch, lambda *_: trial())
    assert [row.basin for row in rows] == basins


@pytest.mark.parametrize("choice", [None, Some(silicone=None, casting=PICKED), Some(silicone=PICKED, casting=None)])
def test_without_both_materials_chosen_no_days_are_told(monkeypatch, choice):
    rows = table(part(choice=choice), monkeypatch, lambda *_: trial())
    assert [(row.days, row.cost, row.in_time) for row in rows] == [(None, None, None)] * 3
    assert rows[0].pour_min is not None


@pytest.mark.parametrize(
    ("due", "in_time"), [(None, [None] * 3), (date(2027, 3, 5), [False, True, True]), (date(2027, 3, 4), [False] * 3)]
)
def test_a_number_is_in_time_if_its_days_end_before_the_morning_it_is_due(monkeypatch, due, in_time):
    """Begun on 1 March: four days are left to the 5th, three to the 4th."""
    found = {1: 4.1, 2: 4.0, 4: 3.5}
    monkeypatch.setattr(
        table_module, "_outcome", lambda one, job, option, *_, **__: Some(days=found[option.cavities], money=7.0)
    )
    rows = table(part(), monkeypatch, lambda *_: trial(), begin=date(2027, 3, 1), due=due)
    assert [row.days for row in rows] == [4.1, 4.0, 3.5]
    assert [row.cost for row in rows] == [7.0] * 3
    assert [row.in_time for row in rows] == in_time


def codes(*rows):
    return [(one.code, one.severity) for one in table_findings(rows)]


OTHER, BEYOND = ("other-cavities", Severity.INFO), ("cavities-beyond-a-mix", Severity.WARNING)


def test_a_better_number_than_the_one_made_is_told_and_loud_only_where_it_alone_meets_the_date():
    made, better = cavity_row(1, days=9.0, made=True), cavity_row(2, days=3.0)
    assert codes(made, better) == [OTHER]
    assert codes(replace(made, days=2.0), better) == []
    late, timely = replace(made, in_time=False), replace(better, in_time=True)
    assert codes(late, timely) == [("other-cavities", Severity.WARNING)]
    assert codes(late, replace(better, in_time=False)) == [OTHER]
    four = cavity_row(4, days=8.0, made=True, in_time=True)
    assert codes(timely, four) == [OTHER]


def test_more_cavities_than_a_mix_fills_are_told_also_where_they_are_the_best():
    made = cavity_row(4, days=3.0, made=True, in_one_mix=False)
    assert codes(made, cavity_row(1, days=9.0)) == [BEYOND]
    assert codes(replace(made, days=9.0), cavity_row(1, days=3.0)) == [BEYOND, OTHER]
    assert codes(replace(made, in_one_mix=None), cavity_row(1, days=9.0)) == []


def test_without_days_nothing_is_better():
    made = cavity_row(2, days=None, made=True, in_one_mix=False)
    assert codes(made, cavity_row(4, days=3.0)) == []
    assert codes(made) == codes(cavity_row(4, days=3.0)) == codes() == []


@pytest.mark.parametrize(
    ("better", "why"),
    [
        ({"days": 3.0, "in_time": True}, "with 2 after 3.0, in time for the date, for 100 instead of 200 ml"),
        ({"days": 3.0}, "with 2 after 3.0, sooner, for 100 instead of 200 ml"),
        ({"days": 9.0}, "with 2 after 9.0, as soon, for 100 instead of 200 ml"),
    ],
)
def test_why_it_is_better_is_said(better, why):
    (said,) = table_findings((cavity_row(4, days=9.0, made=True), cavity_row(2, **better)))
    assert said.what.startswith("with 4 cavities the last copy is there after about 9.0 days; ")
    assert why in said.what
    assert said.remedy == "give cavities = 2, if that counts for more"
