"""What is learned: yields against scipy's own distributions, factors by hand, the next plan, forgetting."""

import math
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from scipy.stats import betabinom, nbinom

from bench_walk import NOON, at_kind, walk
from firstpour.bench.defects import Defect, DefectKind
from firstpour.bench.doing import advance, measure
from firstpour.bench.kept import Bench, keep_plan, kept_plans
from firstpour.bench.read import plan_of
from firstpour.bench.sessions import start, undo
from firstpour.bench.steps import StepKind
from firstpour.choosing.counts import shots
from firstpour.choosing.need import PartNeed
from firstpour.files.learned_entries import FactorEntry, LearnedEntry, learned_entry, learned_words
from firstpour.formulas.yields import pours_for_good, pours_for_good_seen
from firstpour.materials.figures import FigureName, Origin
from firstpour.printing.estimate import estimate_print
from firstpour.results import SavedPlan
from firstpour.schedule.hours_ahead import calendar_from
from firstpour.schedule.ordering import network_of
from firstpour.schedule.values import Doing
from firstpour.schedule.ways import ways_of
from firstpour.store.learned import (
    PACE,
    POT_LIFE,
    POUR,
    PRINT,
    WORK,
    YIELD,
    Factor,
    Learned,
    MadeAs,
    Seen,
    factor_of,
    learned_in,
    pace_of,
)
from firstpour.store.opening import changing
from firstpour.store.runs import ClockKind, forget
from firstpour.workshop.equipment import Equipment
from firstpour.workshop.hours import Hours
from firstpour.workshop.measured_here import as_measured, as_seen

PLASTIC = "rigid-plastic-d75-middling"
SPOILED = [Defect(kind=DefectKind.FLASH)]
LIMPET = MadeAs(part="limpet", way="trays", material=PLASTIC)


@pytest.mark.parametrize(("alpha", "beta"), [(19, 3), (18, 2), (1, 1), (2.5, 0.5), (180, 40)])
@pytest.mark.parametrize("good", [1, 10, 37])
@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95])
def test_pours_by_a_beta_yield_are_those_of_scipy(alpha: float, beta: float, good: int, confidence: float) -> None:
    """In n pours at least g are good: 1 − CDF of the beta binomial distribution at g − 1."""
    pours = pours_for_good_seen(good, good_weight=alpha, spoiled_weight=beta, confidence_ratio=confidence)
    assert betabinom.sf(good - 1, pours, alpha, beta) >= confidence - 1e-9
    assert pours == good or betabinom.sf(good - 1, pours - 1, alpha, beta) < confidence


def test_a_yield_seen_often_is_one_that_is_known() -> None:
    for confidence in (0.5, 0.9, 0.99):
        much = pours_for_good_seen(10, good_weight=9e6, spoiled_weight=1e6, confidence_ratio=confidence)
        assert much == pours_for_good(10, yield_ratio=0.9, confidence_ratio=confidence)
        assert much == 10 + nbinom.ppf(confidence, 10, 0.9)


def test_a_factor_is_the_geometric_mean_drawn_to_one() -> None:
    assert factor_of([]) == Factor(ratio=1.0, times=0)
    assert factor_of([1.3]).ratio == pytest.approx(1.3 ** (1 / 3))
    assert factor_of([0.8] * 98).ratio == pytest.approx(0.8**0.98)
    assert factor_of([2.0, 0.5]).ratio == pytest.approx(1.0)
    assert factor_of([1.0, 60.0]).times == 1


def test_what_was_spoiled_raises_the_shots_of_the_next_plan() -> None:
    need = PartNeed(name="limpet", pieces_ml={"silicone": 100}, casting_ml=20, copies=10, hardness="hard")
    assert shots(need) == 13
    seen = {
        (good, done): shots(replace(need, seen_good=good, seen_shots=done)) for good, done in ((1, 4), (180, 200))
    }
    assert seen[1, 4] > 13
    assert seen[180, 200] == 13
    assert shots(replace(need, seen_good=500, seen_shots=500)) < 13


def test_outcomes_at_the_bench_are_the_yield_of_the_part_until_forgotten(bench: Bench, kept: int) -> None:
    assert learned_in(bench.store).seen(LIMPET) == Seen()
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now, at = walk(bench, now, at=NOON, spoiled={1: SPOILED, 3: SPOILED}, until=lambda one: one.round == 5)
    assert learned_in(bench.store).yields == {LIMPET: Seen(good=2, shots=4)}
    now = undo(bench, now.session, at=at)
    assert learned_in(bench.store).seen(LIMPET) == Seen(good=1, shots=3)
    with changing(bench.store) as connection:
        forget(connection, what=YIELD, about="limpet", at=at)
    assert learned_in(bench.store).seen(LIMPET) == Seen()
    walk(bench, now, at=at + timedelta(days=1), until=lambda one: one.round == 6)
    assert learned_in(bench.store).seen(LIMPET) == Seen(good=2, shots=2)


def test_a_measured_pot_life_is_set_against_the_plan_at_its_temperature(bench: Bench, kept: int) -> None:
    """Arrhenius's law, R = 8.314462618 J/(mol K), CODATA 2018."""
    now = start(bench, plan=kept, part="limpet", at=NOON, temperature_c=31)
    now, at = walk(bench, now, at=NOON, until=lambda one: one.round == 1 and at_kind(StepKind.POUR)(one))
    planned = next(one for one in now.clocks if one.kind.value == "pot life")
    assert planned.left_s > 0
    measure(bench, now.session, at=at, what=POT_LIFE, value=4.0, unit="min")
    factor = learned_in(bench.store).pot_lives[PLASTIC]

    limpet = next(one for one in plan_of(kept_plans(bench)[0].content).parts if one.name == "limpet")
    assert limpet.materials is not None
    assert limpet.materials.casting is not None
    mix = limpet.materials.casting.mixes[0]
    energy = bench.catalogue.get(PLASTIC).figures[FigureName.ACTIVATION_ENERGY].value
    warm = math.exp(1000 * energy / 8.314462618 * (1 / 304.15 - 1 / (273.15 + mix.temperature_c)))
    assert factor.ratio == pytest.approx((4.0 / (mix.pot_life_min * warm)) ** (1 / 3))
    assert factor.times == 1


def test_the_next_plan_takes_the_measured_pot_life(bench: Bench) -> None:
    learned = replace(learned_in(bench.store), pot_lives={PLASTIC: Factor(ratio=0.8, times=3)})
    before = bench.catalogue.get(PLASTIC).figures[FigureName.POT_LIFE]
    after = as_measured(bench.catalogue, learned).get(PLASTIC).figures[FigureName.POT_LIFE]
    assert after.value == pytest.approx(0.8 * before.value)
    assert (after.origin, after.low, after.high) == (Origin.MEASURED, None, None)
    once = as_measured(bench.catalogue, replace(learned, pot_lives={PLASTIC: Factor(ratio=0.8, times=1)}))
    assert once.get(PLASTIC).figures[FigureName.POT_LIFE].origin is before.origin
    assert as_measured(bench.catalogue, learned_in(bench.store)) is bench.catalogue


def test_the_minutes_of_a_print_are_set_against_the_plan(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    measure(bench, now.session, at=NOON, what=PRINT, value=500, unit="min")
    ((process, factor),) = learned_in(bench.store).prints.items()
    assert (process, factor.times) == ("filament", 1)


def test_a_factor_that_a_plan_reckoned_with_does_not_bear_on_its_own_evidence(
    bench: Bench, demo: SavedPlan, tmp_path: Path
) -> None:
    """A print that always takes 1.4 times its estimate is believed to, the longer the better."""
    ratios: list[float] = []
    for number in range(40):
        factor = factor_of(ratios)
        made = FactorEntry(what=PRINT, about="filament", ratio=factor.ratio, times=factor.times)
        limpet = next(one for one in demo.entry.parts if one.name == "limpet")
        plain_min = limpet.prints[0].print_min
        prints = [one.model_copy(update={"print_min": factor.ratio * one.print_min}) for one in limpet.prints]
        plan = demo.entry.model_copy(
            update={
                "parts": [limpet.model_copy(update={"prints": prints})],
                "learned": LearnedEntry(yields=[], factors=[made]),
            }
        )
        folder = tmp_path / f"plan-{number}"
        folder.mkdir()
        (folder / "plan.json").write_text(plan.model_dump_json(), encoding="utf-8")
        now = start(bench, plan=keep_plan(bench, folder, at=NOON), part="limpet", at=NOON)
        measure(bench, now.session, at=NOON, what=PRINT, value=1.4 * plain_min, unit="min")
        ratios.append(1.4)
        assert learned_in(bench.store).prints["filament"].ratio == pytest.approx(factor_of(ratios).ratio)
    assert learned_in(bench.store).prints["filament"].ratio == pytest.approx(1.4, rel=0.02)


def test_what_a_shot_tells_falls_with_what_differs() -> None:
    block = MadeAs(part="limpet", way="block", material=PLASTIC)
    knob = MadeAs(part="knob", way="trays", material=PLASTIC)
    other = MadeAs(part="ring", way="bedding", material="rubber")
    learned = Learned(
        yields={LIMPET: Seen(good=4, shots=4), block: Seen(good=0, shots=4), knob: Seen(good=8, shots=8)}
    )
    assert learned.seen(LIMPET) == Seen(good=4 + 2, shots=4 + 2 + 2)
    assert learned.seen(replace(LIMPET, part="new")) == Seen(good=1 + 2, shots=1 + 2)
    assert learned.seen(other) == Seen()
    assert learned.seen(MadeAs(part="limpet")) == Seen(good=4, shots=8)


def test_a_pace_is_the_median_so_that_a_step_ticked_late_moves_it_little() -> None:
    assert pace_of([]) == Factor()
    assert pace_of([1.2] * 5 + [4.9]).ratio == pytest.approx(1.2 ** (6 / 8))
    assert pace_of([1.2, 0.01, 60.0]) == Factor(ratio=pytest.approx(1.2 ** (1 / 3)), times=1)


def test_minutes_of_hands_are_seen_at_the_bench_and_lengthen_the_next_order(
    bench: Bench, demo: SavedPlan, kept: int
) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now, at = walk(bench, now, at=NOON, until=lambda one: one.step is not None and one.step.id == "ready/surface-1")
    assert now.step is not None
    assert now.step.hands_min is not None
    advance(bench, now.session, at=at + timedelta(minutes=2 * now.step.hands_min))
    assert learned_in(bench.store).paces == {WORK: Factor(ratio=pytest.approx(2 ** (1 / 3)), times=1)}

    calendar = calendar_from(NOON, Hours(), days=30)
    limpet = replace(demo.plan, parts=tuple(one for one in demo.plan.parts if one.request.name == "limpet"))
    ways = {"limpet": ways_of(limpet.parts[0])}
    slow = replace(limpet, learned=Learned(paces={WORK: Factor(ratio=1.5, times=9)}))
    plain, longer = (network_of(one, ways, calendar) for one in (limpet, slow))
    for work in (Doing.WORK, Doing.DEMOULD, Doing.POUR, Doing.PRINT, Doing.WAIT):
        before, after = (
            sum(
                task.minutes for task in one.tasks if task.doing is work and task.attended is (work is not Doing.WAIT)
            )
            for one in (plain, longer)
        )
        assert after == pytest.approx(before * (1.5 if work in (Doing.WORK, Doing.DEMOULD) else 1.0)), work


def test_the_clock_of_a_pour_is_timed_from_b_meeting_a_without_its_minutes_under_vacuum(
    bench: Bench, kept: int
) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now, _ = walk(bench, now, at=NOON, until=at_kind(StepKind.POUR))
    assert now.step is not None
    assert now.step.hands_min is not None
    begun = next(one for one in now.clocks if one.kind is ClockKind.POT_LIFE).started_at
    took_min = 1.5 * now.step.hands_min + now.step.by_itself_min
    advance(bench, now.session, at=begun + timedelta(minutes=took_min))
    pace = learned_in(bench.store).paces[POUR]
    assert pace == Factor(ratio=pytest.approx(1.5 ** (1 / 3)), times=1)
    equipment = as_seen(Equipment(), Learned(paces={POUR: pace}, prints={"vat": Factor(ratio=1.2, times=2)}))
    assert equipment.kit.pace_ratio == pace.ratio
    assert {one.process.value: one.minutes_factor for one in equipment.printers} == {"filament": 1.0, "vat": 1.2}


def test_a_slower_pour_has_less_chance_and_a_slower_printer_takes_longer() -> None:
    printer = Equipment().printers[0]
    asked = {"layer_mm": 0.2, "height_mm": 30.0, "volume_mm3": 9000.0, "area_mm2": 4000.0, "support_mm3": 100.0}
    plain, slow = (estimate_print(printer=one, **asked) for one in (printer, replace(printer, minutes_factor=1.3)))
    assert slow.print_min == pytest.approx(1.3 * plain.print_min)
    assert slow.material_g == plain.material_g


def test_the_words_name_only_what_bears_on_the_parts_and_how_often_it_was_seen() -> None:
    learned = Learned(
        yields={LIMPET: Seen(good=6, shots=8), replace(LIMPET, way="block"): Seen(good=1, shots=1)},
        prints={"vat": Factor(ratio=1.2, times=1)},
    )
    assert learned_words(learned_entry(learned), ["limpet"]) == (
        "Reckoned with what was seen here: limpet, 7 of 9 shots good; minutes of vat prints × 1.20 (seen once)."
    )
    assert learned_words(learned_entry(Learned()), ["limpet"]) == ""


def test_a_pace_is_forgotten_like_all_else(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now, at = walk(bench, now, at=NOON, until=lambda one: one.round == 1)
    assert set(learned_in(bench.store).paces) == {WORK, POUR}
    with changing(bench.store) as connection:
        forget(connection, what=PACE, about=WORK, at=at)
    assert set(learned_in(bench.store).paces) == {POUR}
