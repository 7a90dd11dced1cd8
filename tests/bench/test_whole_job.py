"""The demo job at the bench from the first print to the last copy, one pair of hands, with two failures on the way.

What must be right at the end is reckoned from plan.json alone: own arithmetic.
"""

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest

from bench_walk import MINUTES_A_STEP
from firstpour.bench.again import put_in_order_again
from firstpour.bench.dates import Dates, dates_now
from firstpour.bench.defects import Defect, DefectKind, Place
from firstpour.bench.doing import advance, new_mould, record_outcome
from firstpour.bench.kept import Bench
from firstpour.bench.sessions import open_sessions, start
from firstpour.bench.state import SessionState
from firstpour.bench.steps import StepKind
from firstpour.bench.weigh_in import weigh_in
from firstpour.choosing.counts import BEFORE_SEEN
from firstpour.files.plan_json import PlanEntry
from firstpour.formulas.yields import pours_for_good_seen
from firstpour.results import SavedPlan
from firstpour.schedule.solve import Effort
from firstpour.stock.stock import Pack
from firstpour.store.learned import WORK, MadeAs, Seen, learned_in
from firstpour.store.stock_rows import add_packs, load_stock

LITTLE = Effort(last=0.2, proofs=0.1, visits=0.0, tidy=0.1)
TORN = [Defect(kind=DefectKind.TORN, place=Place.SEAM)]
BUBBLE = [Defect(kind=DefectKind.LARGE_BUBBLE, place=Place.HIGH)]
SPOILED = {("limpet", 3): TORN, ("sea star", 2): BUBBLE}
"""The limpet's mould tears with its third shot; the second sea star has a bubble."""


@dataclass
class Hands:
    """One pair of hands: of all parts the step that can be done soonest is done next."""

    bench: Bench
    plan: int
    at: datetime
    states: dict[str, SessionState]
    told: dict[tuple[str, int], Dates] = field(default_factory=dict)
    weighed_g: Counter[tuple[str, str]] = field(default_factory=Counter)
    ready_on: dict[str, datetime] = field(default_factory=dict)

    def next_part(self) -> str | None:
        """Whose step waits for nothing, or for the least."""
        going = {part: self._free_at(state) for part, state in self.states.items() if not state.done}
        return min(going, key=lambda part: (going[part], part), default=None)

    def _free_at(self, state: SessionState) -> datetime:
        assert state.step is not None
        waits = [one.ends_at for one in state.clocks if one.name in state.step.waits_for]
        return max([self.at, *waits])

    def do(self, part: str) -> None:
        """One step of a part; after an outcome the days that are left are told anew."""
        state = self.states[part]
        step = state.step
        assert step is not None
        self.at = self._free_at(state) + timedelta(minutes=MINUTES_A_STEP)
        if step.kind is StepKind.WEIGH:
            assert step.weigh is not None
            found = weigh_in(
                self.bench, state.session, at=self.at, a_g=step.weigh.a_g, b_g=step.weigh.b_g, step=step.id
            )
            assert not found.findings, (part, step.id, found.findings)
            self.weighed_g[step.weigh.material_id, "A"] += step.weigh.a_g
            self.weighed_g[step.weigh.material_id, "B"] += step.weigh.b_g
            self.states[part] = found.state
        elif step.kind is StepKind.OUTCOME:
            key = part, state.round
            now = record_outcome(self.bench, state.session, at=self.at, defects=SPOILED.get(key, ()), step=step.id)
            if SPOILED.get(key) is TORN:
                now = new_mould(self.bench, state.session, at=self.at, instead_of=1)
            if key in SPOILED or (part, state.round + 1) in SPOILED:
                self.told[key] = dates_now(self.bench, state.session, at=self.at, effort=LITTLE)
            self.states[part] = now
        else:
            self.states[part] = advance(self.bench, state.session, at=self.at, step=step.id)
        if self.states[part].done:
            self.ready_on[part] = self.at


@pytest.fixture(scope="module")
def plan(demo: SavedPlan) -> PlanEntry:
    return demo.entry


@pytest.fixture
def bought(bench: Bench, plan: PlanEntry) -> dict[str, float]:
    """The stock with fresh packs of twice what the plan needs, on the day it begins; grams by material."""
    packs = [
        Pack(
            id=0,
            material_id=line.material,
            size_a_g=2 * line.need_a_g,
            left_a_g=2 * line.need_a_g,
            size_b_g=2 * line.need_b_g,
            left_b_g=2 * line.need_b_g,
            price=None,
            bought_on=plan.schedule.start.date(),
            opened_on=None,
        )
        for line in plan.to_have
    ]
    add_packs(bench.store, packs, at=plan.schedule.start)
    return grams_of(bench)


def grams_of(bench: Bench) -> dict[str, float]:
    left: Counter[str] = Counter()
    for one in load_stock(bench.store):
        left[one.material_id] += one.left_a_g + one.left_b_g
    return dict(left)


def needed_g(plan: PlanEntry, moulds: dict[str, int], rounds: dict[str, int]) -> dict[str, float]:
    """Grams of every material that is weighed: silicone a mould, casting material a round."""
    grams: Counter[str] = Counter()
    for part in plan.parts:
        silicone, casting = part.materials.silicone, part.materials.casting
        for mixes, times in ((silicone.mixes, moulds[part.name]), (casting.mixes[:1], rounds[part.name])):
            for mix in mixes:
                grams[mix.material] += times * mix.batches * (mix.batch.weigh_a_g + mix.batch.weigh_b_g)
    return dict(grams)


@pytest.fixture
def done(bench: Bench, kept: int, plan: PlanEntry, bought: dict[str, float]) -> Hands:
    begin = plan.schedule.start
    states = {part.name: start(bench, plan=kept, part=part.name, at=begin) for part in plan.parts}
    hands = Hands(bench=bench, plan=kept, at=begin, states=states)
    while (part := hands.next_part()) is not None:
        hands.do(part)
    return hands


def test_the_whole_job_ends_with_stock_moulds_yields_and_dates_right(
    bench: Bench, kept: int, plan: PlanEntry, bought: dict[str, float], done: Hands
) -> None:
    copies = {part.name: part.copies for part in plan.parts}
    spoiled = Counter(part for part, _ in SPOILED)
    rounds = {part: count + spoiled[part] for part, count in copies.items()}
    moulds = {part: 2 if part == "limpet" else 1 for part in copies}

    # every copy is there, and no session is left open
    assert {part: (state.good, state.spoiled) for part, state in done.states.items()} == {
        part: (count, spoiled[part]) for part, count in copies.items()
    }
    assert open_sessions(bench, at=done.at) == ()

    # the stock is less by what was weighed, and that is what the plan says for so many moulds and rounds
    wanted = needed_g(plan, moulds, rounds)
    weighed: Counter[str] = Counter()
    for (material, _), grams in done.weighed_g.items():
        weighed[material] += grams
    assert weighed == pytest.approx(wanted)
    left = grams_of(bench)
    assert {material: bought[material] - left[material] for material in wanted} == pytest.approx(wanted)
    assert {name: grams for name, grams in left.items() if name not in wanted} == {
        name: grams for name, grams in bought.items() if name not in wanted
    }

    # the mould that tore has its three shots, the new one the rest; every other mould all of its part's
    lines = {part: [(one.number, one.shots, one.good) for one in state.moulds] for part, state in done.states.items()}
    assert lines.pop("limpet") == [(1, 3, 2), (2, rounds["limpet"] - 3, copies["limpet"] - 2)]
    assert lines == {part: [(1, rounds[part], copies[part])] for part in lines}

    # what was seen is what the next plan reckons with
    learned = learned_in(bench.store)
    for part in plan.parts:
        made = MadeAs(part=part.name, way=part.mould.kind.value, material=part.materials.casting.material)
        assert learned.yields[made] == Seen(good=copies[part.name], shots=rounds[part.name])
    assert learned.paces[WORK].times > 0

    # the date moved back with each failure, and nothing is left to do now
    for key, now in done.told.items():
        assert now.all_done_at is not None, key
        before = done.told.get((key[0], key[1] - 1))
        if key in SPOILED:
            assert before is not None
            assert now.rounds > before.rounds
    torn, star = done.told["limpet", 3], done.told["sea star", 2]
    assert torn.before is not None
    assert star.before is not None
    assert max(torn.all_done_at - torn.before, star.all_done_at - star.before) > timedelta(0)
    last = put_in_order_again(bench, plan=kept, at=done.at, effort=LITTLE)
    assert last.good == copies
    assert not [one.id for one in last.replanned.left.tasks if one.id.endswith((" cast", " out"))]
    assert last.replanned.all_done_at <= done.at

    # the rounds told after the spoiled star: nine of ten counted like 20 shots, then one good and one spoiled
    whole = next(part for part in plan.parts if part.name == "sea star")
    more = pours_for_good_seen(
        whole.copies - 1,
        good_weight=0.9 * BEFORE_SEEN + 1,
        spoiled_weight=0.1 * BEFORE_SEEN + 1,
        confidence_ratio=0.9,
    )
    assert star.rounds == 2 + more
