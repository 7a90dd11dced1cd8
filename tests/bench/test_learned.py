"""What is learned: yields against scipy's own distributions, factors by hand, the next plan, forgetting."""

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from scipy.stats import betabinom, nbinom

from bench_walk import NOON, at_kind, walk
from firstpour.bench.defects import Defect, DefectKind
from firstpour.bench.doing import measure
from firstpour.bench.kept import Bench, kept_plans
from firstpour.bench.read import plan_of
from firstpour.bench.sessions import start, undo
from firstpour.bench.steps import StepKind
from firstpour.choosing.counts import shots
from firstpour.choosing.need import PartNeed
from firstpour.formulas.yields import pours_for_good, pours_for_good_seen
from firstpour.materials.figures import FigureName, Origin
from firstpour.store.learned import POT_LIFE, PRINT, YIELD, Factor, Seen, factor_of, learned_in
from firstpour.store.opening import changing
from firstpour.store.runs import forget
from firstpour.workshop.measured_here import as_measured

PLASTIC = "rigid-plastic-d75-middling"
SPOILED = [Defect(kind=DefectKind.FLASH)]


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
    assert learned_in(bench.store).seen("limpet") == Seen()
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now, at = walk(bench, now, at=NOON, spoiled={1: SPOILED, 3: SPOILED}, until=lambda one: one.round == 5)
    assert learned_in(bench.store).yields == {"limpet": Seen(good=2, shots=4)}
    now = undo(bench, now.session, at=at)
    assert learned_in(bench.store).seen("limpet") == Seen(good=1, shots=3)
    with changing(bench.store) as connection:
        forget(connection, what=YIELD, about="limpet", at=at)
    assert learned_in(bench.store).seen("limpet") == Seen()
    walk(bench, now, at=at + timedelta(days=1), until=lambda one: one.round == 6)
    assert learned_in(bench.store).seen("limpet") == Seen(good=2, shots=2)


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
