"""A session at the bench: every step once, clocks by absolute times, stock taken off, moulds counted."""

import os
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from bench_walk import NOON, at_kind, walk
from firstpour.bench.clocks import ClockState
from firstpour.bench.defects import Defect, DefectKind, Place
from firstpour.bench.doing import add_photo, advance, measure, new_mould, record_outcome, start_clock
from firstpour.bench.kept import Bench, keep_plan, kept_plans
from firstpour.bench.read import part_names
from firstpour.bench.sessions import open_sessions, start, state, stop, undo, unread_sessions
from firstpour.bench.state import SessionState
from firstpour.bench.steps import StepKind
from firstpour.bench.weigh_in import weigh_in
from firstpour.bench.weighing import Verdict
from firstpour.errors import BadRequest
from firstpour.sheets.run_sheet import part_pages
from firstpour.stock.stock import amount_left
from firstpour.store.opening import changing, reading
from firstpour.store.plans import keep
from firstpour.store.runs import ClockKind, add_run, measurements_of, photos_of
from firstpour.store.stock_rows import add_packs, load_stock
from shelf_samples import pack

FLASH = Defect(kind=DefectKind.FLASH, place=Place.SEAM)
BUBBLE = Defect(kind=DefectKind.LARGE_BUBBLE, place=Place.HIGH)
PLASTIC = "rigid-plastic-d75-middling"
SILICONE = "addition-silicone-a25-middling"


def left_of(bench: Bench, material: str) -> tuple[float, float]:
    left = amount_left(tuple(one for one in load_stock(bench.store) if one.material_id == material))
    return left.a_g, left.b_g


def codes(now: SessionState) -> list[str]:
    return [one.code for one in now.findings]


def test_a_part_is_made_from_the_first_print_to_the_last_copy_with_two_failures(bench: Bench, kept: int) -> None:
    before = {name: left_of(bench, name) for name in (PLASTIC, SILICONE)}
    first = start(bench, plan=kept, part="limpet", at=NOON)
    assert (first.stage, first.step_number, first.good, first.copies) == ("making ready", 1, 0, 8)
    last, _ = walk(bench, first, at=NOON, spoiled={2: [FLASH], 5: [BUBBLE]})
    assert (last.done, last.good, last.spoiled, last.round) == (True, 8, 2, 10)
    assert [(one.number, one.shots, one.good) for one in last.moulds] == [(1, 10, 8)]
    with reading(bench.store) as connection:
        assert connection is not None
        weighed = measurements_of(connection, last.session)
    for name, (a_g, b_g) in before.items():
        used_a_g = sum(one.value for one in weighed if one.what == "A weighed" and one.material_id == name)
        used_b_g = sum(one.value for one in weighed if one.what == "B weighed" and one.material_id == name)
        assert used_a_g > 50
        assert left_of(bench, name) == pytest.approx((a_g - used_a_g, b_g - used_b_g))
    assert open_sessions(bench, at=NOON) == ()
    assert len(open_sessions(bench, at=NOON, also_done=["done"])) == 1


@pytest.mark.parametrize("part", ["sea star", "porthole ring", "bollard"])
def test_every_tick_of_the_sheet_is_a_step_and_every_pour_has_its_grams(bench: Bench, kept: int, part: str) -> None:
    now = start(bench, plan=kept, part=part, at=NOON)
    said: list[str] = []
    poured: list[float] = []
    at = NOON
    while now.stage == "making ready" or now.stage.startswith("mould") or now.round == 1:
        assert now.step is not None
        said += now.step.items
        poured += [now.step.weigh.a_g] if now.step.weigh else []
        here = now.step.id
        now, at = walk(bench, now, at=at, until=lambda one, here=here: one.step is None or one.step.id != here)  # type: ignore[misc]
        if now.done:
            break
    plan = keep_and_read(bench, kept)
    entry = next(one for one in plan.parts if one.name == part)
    for page in part_pages(plan, entry):
        for block in page.blocks:
            if block.kind == "ticks":
                assert set(block.items) <= set(said)  # type: ignore[union-attr]
    assert entry.materials is not None
    mixes = [*entry.materials.silicone.mixes, entry.materials.casting.mixes[0]]  # type: ignore[union-attr]
    assert poured == [mix.batch.weigh_a_g for mix in mixes for _ in range(mix.batches)]


def keep_and_read(bench: Bench, kept: int):  # type: ignore[no-untyped-def]
    from firstpour.bench.read import plan_of

    return plan_of(next(one.content for one in kept_plans(bench) if one.id == kept))


def test_clocks_run_by_absolute_times_call_before_the_end_and_stop_with_the_pour(bench: Bench, kept: int) -> None:
    now, at = walk(bench, start(bench, plan=kept, part="limpet", at=NOON), at=NOON, until=at_kind(StepKind.STIR))
    now = advance(bench, now.session, at=at)
    (pot,) = [one for one in now.clocks if one.kind is ClockKind.POT_LIFE]
    assert pot.started_at == at
    assert pot.warn_at is not None
    assert pot.left_s == pytest.approx(22.5 * 60, rel=0.02)
    for moment, how, code in (
        (pot.warn_at - timedelta(seconds=1), ClockState.RUNNING, []),
        (pot.warn_at, ClockState.CALLS, ["pot-life-nearly-over"]),
        (pot.ends_at, ClockState.OVER, ["pot-life-over"]),
    ):
        then = state(bench, now.session, at=moment)
        assert [one.state for one in then.clocks] == [how]
        assert codes(then) == code
    poured = advance(bench, now.session, at=at + timedelta(minutes=4))
    assert [one.kind for one in poured.clocks] == [ClockKind.CURE]
    with reading(bench.store) as connection:
        assert connection is not None
        age = [one for one in measurements_of(connection, now.session) if one.what == "age at pour"]
    assert [(one.value, one.wanted) for one in age] == [(4.0, pytest.approx(pot.left_s / 60))]


def test_a_clock_of_ones_own_is_told_until_something_is_finished_after_it(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now = start_clock(bench, now.session, at=NOON, name="warm the cans", minutes=30)
    assert [(one.name, one.left_s) for one in now.clocks] == [("warm the cans", 1800)]
    now = advance(bench, now.session, at=NOON + timedelta(minutes=10))
    assert "warm the cans" in [one.name for one in now.clocks]
    now = advance(bench, now.session, at=NOON + timedelta(minutes=31))
    assert "warm the cans" not in [one.name for one in now.clocks]
    with pytest.raises(BadRequest, match="clock of 0"):
        start_clock(bench, now.session, at=NOON, name="none", minutes=0)


def test_a_wait_that_is_not_over_is_said_and_may_be_passed(bench: Bench, kept: int) -> None:
    now, at = walk(bench, start(bench, plan=kept, part="limpet", at=NOON), at=NOON, until=at_kind(StepKind.WAIT))
    assert codes(now) == ["not-yet"]
    assert codes(state(bench, now.session, at=at + timedelta(days=2))) == []
    assert advance(bench, now.session, at=at).step != now.step


def test_a_weighing_off_its_ratio_says_what_to_add_and_the_stock_follows(bench: Bench, kept: int) -> None:
    now, at = walk(bench, start(bench, plan=kept, part="limpet", at=NOON), at=NOON, until=at_kind(StepKind.WEIGH))
    assert now.step is not None
    assert now.step.weigh is not None
    wanted = now.step.weigh
    before = left_of(bench, wanted.material_id)
    short = weigh_in(bench, now.session, at=at, a_g=wanted.a_g, b_g=wanted.b_g * 0.9)
    assert short.weighed.verdict is Verdict.ADD_B
    assert short.weighed.ratio_error_ratio == pytest.approx(-0.1)
    assert short.weighed.add_g == pytest.approx(wanted.b_g * 0.1)
    assert short.state.step == now.step
    right = weigh_in(bench, now.session, at=at, a_g=wanted.a_g, b_g=wanted.b_g)
    assert right.weighed.verdict is Verdict.GO_ON
    assert right.state.step != now.step
    after = left_of(bench, wanted.material_id)
    assert (before[0] - after[0], before[1] - after[1]) == pytest.approx((wanted.a_g, wanted.b_g))


def test_a_new_cup_after_a_spoiled_one_takes_both_off_the_shelf(bench: Bench, kept: int) -> None:
    now, at = walk(bench, start(bench, plan=kept, part="limpet", at=NOON), at=NOON, until=at_kind(StepKind.WEIGH))
    wanted = now.step.weigh  # type: ignore[union-attr]
    assert wanted is not None
    before = left_of(bench, wanted.material_id)
    spoiled = weigh_in(bench, now.session, at=at, a_g=wanted.a_g, b_g=wanted.b_g * 1.5)
    assert spoiled.weighed.verdict is Verdict.ANEW
    weigh_in(bench, now.session, at=at, a_g=wanted.a_g, b_g=wanted.b_g)
    used_b_g = before[1] - left_of(bench, wanted.material_id)[1]
    assert used_b_g == pytest.approx(2.5 * wanted.b_g)


def test_what_the_shelf_does_not_hold_is_said(bench: Bench, kept: int) -> None:
    now, at = walk(bench, start(bench, plan=kept, part="sea star", at=NOON), at=NOON, until=at_kind(StepKind.STIR))
    now, at = walk(bench, now, at=at, until=lambda one: one.round == 1 and at_kind(StepKind.WEIGH)(one))
    wanted = now.step.weigh  # type: ignore[union-attr]
    assert wanted is not None
    answer = weigh_in(bench, now.session, at=at, a_g=wanted.a_g, b_g=wanted.b_g)
    assert [one.code for one in answer.findings] == ["shelf-held-less"]
    assert answer.taken == ()


def test_the_last_entry_is_undone_with_its_clock_and_its_stock(bench: Bench, kept: int) -> None:
    first = start(bench, plan=kept, part="limpet", at=NOON)
    with pytest.raises(BadRequest, match="nothing was done"):
        undo(bench, first.session, at=NOON)
    now, at = walk(bench, first, at=NOON, until=at_kind(StepKind.WEIGH))
    before, stock = now, load_stock(bench.store)
    weigh_in(bench, now.session, at=at, a_g=78, b_g=78)
    advance(bench, now.session, at=at)
    assert undo(bench, now.session, at=at).clocks == before.clocks
    assert undo(bench, now.session, at=at) == replace(before, log=before.log)
    after = load_stock(bench.store)
    for one, was in zip(after, stock, strict=True):
        assert (one.left_a_g, one.left_b_g) == pytest.approx((was.left_a_g, was.left_b_g))


def test_a_pack_that_was_opened_by_mistake_is_unopened_again_and_one_in_use_stays_open(
    bench: Bench, kept: int
) -> None:
    add_packs(bench.store, [pack(0, SILICONE, 500, 500)], at=NOON)
    first = start(bench, plan=kept, part="limpet", at=NOON)
    now, at = walk(bench, first, at=NOON, until=at_kind(StepKind.WEIGH))
    material = now.step.weigh.material_id  # type: ignore[union-attr]
    own = [one for one in load_stock(bench.store) if one.material_id == material]
    opened = {one.id: one.opened_on for one in own}
    everything = left_of(bench, material)
    weigh_in(bench, now.session, at=at, a_g=everything[0] - 1, b_g=everything[1] - 1)
    after = [one for one in load_stock(bench.store) if one.material_id == material]
    assert all(one.opened_on is not None for one in after)
    undo(bench, now.session, at=at)
    assert {one.id: one.opened_on for one in load_stock(bench.store) if one.material_id == material} == opened
    assert None in opened.values()


def test_an_outcome_undone_gives_its_shot_and_its_copy_back(bench: Bench, kept: int) -> None:
    now, at = walk(bench, start(bench, plan=kept, part="limpet", at=NOON), at=NOON, until=at_kind(StepKind.OUTCOME))
    done = record_outcome(bench, now.session, at=at)
    assert (done.good, done.moulds[0].shots, done.round) == (1, 1, 2)
    back = undo(bench, now.session, at=at)
    assert (back.good, back.moulds[0].shots, back.step) == (0, 0, now.step)


def test_a_mould_past_its_life_is_said_and_renewed_before_the_next_round(bench: Bench, kept: int) -> None:
    spoiled = {number: [FLASH] for number in range(1, 30)}
    now = start(bench, plan=kept, part="bollard", at=NOON)
    now, at = walk(bench, now, at=NOON, spoiled=spoiled, until=lambda one: one.round == 26)
    assert "mould-worn" in codes(now)
    assert now.moulds[0].shots == now.moulds[0].life_low_shots == 25
    renewed = new_mould(bench, now.session, at=at, instead_of=1)
    assert renewed.stage == "mould 2"
    now, at = walk(bench, renewed, at=at, until=at_kind(StepKind.OUTCOME))
    assert (now.round, now.step.mould) == (26, 2)  # type: ignore[union-attr]
    with pytest.raises(BadRequest, match="between two rounds"):
        new_mould(bench, now.session, at=at, instead_of=2)


def test_two_moulds_are_both_made_and_both_asked_about(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON, moulds=2)
    last, _ = walk(bench, now, at=NOON, spoiled={1: [BUBBLE]})
    assert (last.good, last.round, [one.shots for one in last.moulds]) == (8, 5, [5, 5])


def test_a_screen_that_has_not_seen_the_last_step_is_refused(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    seen = now.step.id  # type: ignore[union-attr]
    advance(bench, now.session, at=NOON, step=seen)
    with pytest.raises(BadRequest, match="moved on"):
        advance(bench, now.session, at=NOON, step=seen)
    with pytest.raises(BadRequest, match="comes first"):
        record_outcome(bench, now.session, at=NOON)
    with pytest.raises(BadRequest, match="nothing is weighed"):
        weigh_in(bench, now.session, at=NOON, a_g=1, b_g=1)


def test_a_session_is_stopped_and_taken_up_again(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    assert stop(bench, now.session, at=NOON).done
    with pytest.raises(BadRequest, match="is done"):
        advance(bench, now.session, at=NOON)
    assert undo(bench, now.session, at=NOON).step == now.step
    with pytest.raises(BadRequest, match="no session 99"):
        state(bench, 99, at=NOON)


def test_figures_and_photos_are_kept_with_the_step(bench: Bench, kept: int, tmp_path: Path) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    measure(bench, now.session, at=NOON, what="room", value=21.5, unit="°C")
    shot = tmp_path / "seam.JPG"
    shot.write_bytes(b"a picture")
    copied = add_photo(bench, now.session, at=NOON, file=shot)
    assert copied.read_bytes() == b"a picture"
    with reading(bench.store) as connection:
        assert connection is not None
        assert [(one.what, one.value) for one in measurements_of(connection, now.session)] == [("room", 21.5)]
        assert [one.file for one in photos_of(connection, now.session)] == [copied.name]
    with pytest.raises(BadRequest, match="no photo"):
        add_photo(bench, now.session, at=NOON, file=tmp_path / "none.jpg")


def test_a_plan_is_kept_once_with_what_it_was_made_from(bench: Bench, kept: int, plan_folder: Path) -> None:
    assert keep_plan(bench, plan_folder / "plan.json", at=NOON + timedelta(days=1)) == kept
    (one,) = kept_plans(bench)
    assert (one.job, one.kept_at, one.folder) == ("Tide pool", NOON, str(plan_folder))
    with pytest.raises(BadRequest, match="cannot be kept"):
        keep_plan(bench, plan_folder / "missing.json", at=NOON)
    with pytest.raises(BadRequest, match="no part"):
        start(bench, plan=kept, part="whale", at=NOON)


def test_a_session_by_a_plan_of_another_version_is_told_and_the_others_go_on(
    bench: Bench, kept: int, plan_folder: Path, tmp_path: Path
) -> None:
    part = part_names((plan_folder / "plan.json").read_text())[0]
    going_on = start(bench, plan=kept, part=part, at=NOON)
    assert unread_sessions(bench) == ()
    older = '{"made_by": "another version"}'
    with changing(bench.store) as connection:
        plan = keep(
            connection,
            job="Tide pool",
            due=None,
            content=older,
            made_from={},
            made_by="another version",
            folder="",
            at=NOON,
        )
        unread = add_run(
            connection, plan_id=plan, part=part, at=NOON, moulds=1, temperature_c=None, way="trays", material=None
        )
    assert [one.session for one in open_sessions(bench, at=NOON)] == [going_on.session]
    (told,) = unread_sessions(bench)
    assert (told.code, told.where) == ("plan-of-another-version", f"session {unread}, {part}")
    assert part_names(older) == []
    for refused in (lambda: state(bench, unread, at=NOON), lambda: start(bench, plan=plan, part=part, at=NOON)):
        with pytest.raises(BadRequest, match="another version") as caught:
            refused()
        assert "plan the job anew" in caught.value.remedy.lower()
    (tmp_path / "plan.json").write_text("{}")
    with pytest.raises(BadRequest, match="no plan of this version"):
        keep_plan(bench, tmp_path, at=NOON)


WALK = """
import sys
from datetime import datetime
from pathlib import Path
from bench_walk import walk
from firstpour.bench.kept import Bench
from firstpour.bench.sessions import state
from firstpour.files.catalogue import load_catalogue
from firstpour.store.place import store_in

at = datetime.fromisoformat(sys.argv[2])
bench = Bench(store=store_in(Path(sys.argv[1])), catalogue=load_catalogue(None))
def told(now):
    print(len(now.log), flush=True)
    return False
walk(bench, state(bench, int(sys.argv[3]), at=at), at=at, until=told)
"""


@pytest.mark.parametrize("entries", [4, 23, 61])
def test_a_session_killed_in_the_middle_goes_on_as_if_nothing_had_been(
    bench: Bench, kept: int, tmp_path: Path, entries: int
) -> None:
    """What was told as done is there after kill -9, whole, with its clocks; the rest is done once."""
    session = start(bench, plan=kept, part="limpet", at=NOON).session
    words = [sys.executable, "-c", WALK, str(tmp_path / "store"), NOON.isoformat(), str(session)]
    paths = os.pathsep.join(str(Path(__file__).parents[up] / name) for up, name in ((1, ""), (2, "src")))
    env = {**os.environ, "PYTHONPATH": paths}
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=env) as worker:
        assert worker.stdout is not None
        told = 0
        while told < entries:
            told = int(worker.stdout.readline())
        os.kill(worker.pid, signal.SIGKILL)
    after = state(bench, session, at=NOON)
    assert len(after.log) >= told
    assert [one.number for one in after.log] == list(range(1, len(after.log) + 1))
    last, _ = walk(bench, after, at=max([NOON, *(one.at for one in after.log)]))
    assert (last.good, last.moulds[0].shots) == (8, 8)
    with reading(bench.store) as connection:
        assert connection is not None
        weighed = [one for one in measurements_of(connection, session) if one.what == "A weighed"]
    assert len(weighed) == 2 + 8
    used = sum(one.value for one in weighed if one.material_id == PLASTIC)
    assert left_of(bench, PLASTIC)[0] == pytest.approx(left_before(bench) - used)


def left_before(bench: Bench) -> float:
    """Grams of A of the plastic before anything was weighed, by the log of the stock."""
    with reading(bench.store) as connection:
        assert connection is not None
        rows = connection.exec_driver_sql(
            "SELECT sum(moves.change_a_g) FROM moves JOIN packs ON packs.id = moves.pack_id "
            f"WHERE moves.what = 'add' AND packs.material_id = '{PLASTIC}'"
        )
        return float(rows.scalar_one())
