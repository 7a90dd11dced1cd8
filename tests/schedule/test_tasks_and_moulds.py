"""The tasks of a part, the moulds that are ready in each round, and the fewest that meet the date."""

from collections import Counter
from dataclasses import replace
from datetime import date

import pytest

from firstpour.errors import BadRequest
from firstpour.parting.values import MouldKind
from firstpour.results import SavedPlan
from firstpour.schedule.dispatch import dispatch
from firstpour.schedule.least import last_part, least_moulds
from firstpour.schedule.ordering import as_ready, last_step, network_of
from firstpour.schedule.part_tasks import part_tasks
from firstpour.schedule.ways import Ways, ways_of
from schedule_asked import EVENINGS, LITTLE, asked_of, part_of, with_part

PARTS = ("sea star", "limpet", "porthole ring", "bollard")


@pytest.mark.parametrize(
    ("lacks", "said", "remedy"),
    [
        ({"silicone": None}, "without a silicone nothing", "put right what the plan finds"),
        ({"casting": None}, "without a casting material nothing", "put right what the plan finds"),
        ({"silicone": None, "casting": None}, "a silicone and a casting material nothing", "put right what"),
    ],
)
def test_a_part_that_asked_for_materials_and_got_none_is_not_told_to_ask(
    demo: SavedPlan, lacks: dict[str, None], said: str, remedy: str
) -> None:
    one = part_of(demo, "limpet")
    assert one.choice is not None
    with pytest.raises(BadRequest, match=said) as refused:
        part_tasks(replace(one, choice=replace(one.choice, **lacks)), Ways(moulds=1))
    assert remedy in refused.value.remedy
    with pytest.raises(BadRequest, match="a silicone and a casting material") as refused:
        part_tasks(replace(one, choice=None), Ways(moulds=1))
    assert "give the part a hardness" in refused.value.remedy


def test_an_open_mould_is_not_closed(demo: SavedPlan) -> None:
    one = part_of(demo, "limpet")
    names = {}
    for kind in (MouldKind.TRAYS, MouldKind.OPEN_FACE):
        made = replace(one, mould=replace(one.mould, kind=kind))
        names[kind] = {task.name for task in part_tasks(made, Ways(moulds=1)).tasks if task.id.endswith(" cast")}
    assert all(name.startswith("close, mix and cast") for name in names[MouldKind.TRAYS])
    assert all(name.startswith("mix and cast") for name in names[MouldKind.OPEN_FACE])


@pytest.mark.parametrize("name", PARTS)
def test_every_task_stands_once_and_every_shot_is_cast_and_taken_out(demo: SavedPlan, name: str) -> None:
    one = part_of(demo, name)
    assert one.choice is not None
    assert one.choice.silicone is not None
    network = part_tasks(one, ways_of(one))
    keys = Counter(task.id for task in network.tasks)
    assert set(keys.values()) == {1}
    rounds = [task for task in network.tasks if task.id.endswith(" out")]
    assert sum(task.good_copies for task in rounds) == one.choice.pours
    assert sum(task.id.endswith(" cast") for task in network.tasks) == len(rounds)
    pours = [task for task in network.tasks if f"{name}/mould 1 pour " in task.id]
    assert len(pours) == len(one.choice.silicone.mixes)
    assert sum(task.id.endswith(" run") for task in network.tasks) == len(one.printing.pieces)
    assert network.proofs == (rounds[0].id,)


@pytest.mark.parametrize("name", PARTS)
def test_halves_of_a_bedding_wait_for_each_other_and_those_of_trays_do_not(demo: SavedPlan, name: str) -> None:
    one = part_of(demo, name)
    network = part_tasks(one, ways_of(one))
    tasks = {task.id: task for task in network.tasks}
    cures = [task for task in network.tasks if task.alike == "silicone"]
    second = tasks[str(cures[1].at_once)]
    waits: set[str] = set()
    left = [second.id]
    while left:
        here = tasks[left.pop()]
        before = (*here.after, *([here.at_once] if here.at_once else []))
        waits |= set(before)
        left += before
    assert (cures[0].id in waits) is (one.mould.kind is MouldKind.BEDDING)


def test_a_master_is_washed_by_itself_within_the_hour_and_does_not_wait_for_the_other_prints(demo: SavedPlan) -> None:
    one = part_of(demo, "porthole ring")
    tasks = {task.id: task for task in part_tasks(one, ways_of(one)).tasks}
    wash, off = tasks["porthole ring/wash"], "porthole ring/master off"
    assert (wash.after, wash.soon_after) == ((off,), ((off, 60.0),))
    sand = tasks["porthole ring/sand"]
    assert "porthole ring/bedding off" in sand.after
    assert "porthole ring/box off" not in sand.after
    assert "porthole ring/box off" in tasks["porthole ring/mould 1 set up"].after


@pytest.mark.parametrize("name", PARTS)
def test_each_mould_is_cast_in_while_its_release_serves(demo: SavedPlan, name: str) -> None:
    """4 h after its release at most (steps.toml); later rounds only where the release was done again."""
    one = part_of(demo, name)
    tasks = part_tasks(one, ways_of(one)).tasks
    released = [task.id for task in tasks if task.id.split("/")[1].split(" again")[0].endswith("release-mould wait")]
    followed = [pair for task in tasks if task.id.endswith(" cast") for pair in task.soon_after]
    assert sorted(name for name, _ in followed) == sorted(released)
    assert {minutes for _, minutes in followed} == {240.0}


def test_the_first_round_fills_one_mould_alone_and_later_ones_those_that_are_ready(demo: SavedPlan) -> None:
    one = part_of(demo, "limpet")
    assert one.choice is not None

    def copies(ways: Ways) -> list[int]:
        return [task.good_copies for task in part_tasks(one, ways).tasks if task.id.endswith(" out")]

    assert copies(Ways(moulds=3))[:4] == [1, 1, 2, 3]
    assert copies(Ways(moulds=3, ready=(1, 3)))[:3] == [1, 3, 3]
    for ways in (Ways(moulds=1), Ways(moulds=3), Ways(moulds=3, ready=(1, 3))):
        assert sum(copies(ways)) == one.choice.pours


def test_rounds_are_filled_with_the_moulds_that_are_finished_by_then(demo: SavedPlan) -> None:
    one = part_of(demo, "sea star")
    asked = asked_of(replace(demo.plan, parts=(one,), printed=()), {"sea star": Ways(moulds=3)})
    ways = as_ready(asked.plan, asked.ways, asked.calendar)
    network = network_of(asked.plan, ways, asked.calendar)
    found = dispatch(network, asked.calendar)
    plain = dispatch(network_of(asked.plan, asked.ways, asked.calendar), asked.calendar)
    assert found.last <= plain.last
    ready = [max(found.ends[task.id] for task in network.tasks if task.mould == n) for n in (1, 2, 3)]
    for task in network.tasks:
        if task.id.endswith(" cast") and task.round > 1:
            out = next(each for each in network.tasks if each.round == task.round and each.good_copies)
            assert out.good_copies <= sum(end <= found.starts[task.id] for end in ready)


def test_the_fewest_moulds_meet_the_date_and_one_less_does_not(demo: SavedPlan) -> None:
    one = part_of(demo, "sea star")
    plan = replace(demo.plan, parts=(one,), printed=())
    asked = asked_of(plan)
    alone = dispatch(network_of(asked.plan, asked.ways, asked.calendar), asked.calendar).last

    def with_due(due: date) -> dict[str, int] | None:
        hurried = replace(asked, plan=replace(asked.plan, job=replace(asked.plan.job, due=due)))
        found = least_moulds(hurried, effort=LITTLE)
        return None if found is None else dict(found)

    assert with_due(date(2027, 12, 31)) == {"sea star": 1}
    assert with_due(date(2027, 3, 2)) is None
    due = date(2027, 3, 19)
    latest = last_step(due, asked.start, EVENINGS)
    assert latest < alone
    found = with_due(due)
    assert found is not None
    count = found["sea star"]
    assert count > 1
    for moulds, meets in ((count, True), (count - 1, False)):
        ways = as_ready(asked.plan, {"sea star": Ways(moulds=moulds)}, asked.calendar)
        network = network_of(asked.plan, ways, asked.calendar)
        assert (dispatch(network, asked.calendar).last <= latest) is meets


def test_the_part_that_ends_last_is_named(demo: SavedPlan) -> None:
    asked = asked_of(demo.plan)
    network = network_of(asked.plan, asked.ways, asked.calendar)
    found = dispatch(network, asked.calendar)
    last = last_part(network, found)
    assert max(found.ends[task.id] for task in network.tasks if task.part == last) == found.last


def test_a_mould_that_wears_out_early_is_made_again_from_the_beginning(demo: SavedPlan) -> None:
    one = part_of(demo, "sea star")
    assert one.choice is not None
    assert one.choice.mould_life is not None
    short = replace(one, choice=replace(one.choice, mould_life=replace(one.choice.mould_life, low=4)))
    asked = asked_of(with_part(demo, short))
    assert asked.ways["sea star"].moulds == -(-one.choice.pours // 4)


def test_pieces_that_may_fail_stand_again_after_one_another_and_are_cleaned_once(demo: SavedPlan) -> None:
    one = part_of(demo, "limpet")
    plain = part_tasks(one, ways_of(one))
    spare = part_tasks(one, replace(ways_of(one), prints_again=2))
    pieces = [piece.name for piece in one.printing.pieces]
    runs = [task for task in spare.tasks if " run" in task.id and task.piece]
    assert Counter(task.piece for task in runs) == dict.fromkeys(pieces, 3)
    assert sorted(task.again for task in runs) == sorted(len(pieces) * [0, 1, 2])
    again = next(task for task in spare.tasks if task.id == f"limpet/{pieces[0]} start again 1")
    assert again.after == (f"limpet/{pieces[0]} off",)
    assert len(spare.tasks) - len(plain.tasks) == 2 * 3 * len(pieces)
    assert not [task for task in plain.tasks if task.again]
