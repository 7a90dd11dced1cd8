"""The simulation: spreads against the three-point formulas and scipy, spoiled copies, answers known beforehand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import betanbinom, spearmanr

from firstpour.schedule.chances import (
    CAST_YIELD,
    MOULD_YIELD,
    PRINT_YIELD,
    Yield,
    Yields,
    cast_yield_seen,
    draw_runs,
    lengths_min,
    most_shots,
    shape_of,
    shots_needed,
)
from firstpour.schedule.dispatch import dispatch
from firstpour.schedule.risk import rank_correlation, risk_of
from firstpour.schedule.values import Calendar, Doing, Network, Task
from firstpour.store.learned import Seen

ALWAYS = Calendar(windows=((0, 100_000),), end=100_000, step_min=1.0)
SURE = Yield(good=1e9, spoiled=1.0)
ALL_SURE = Yields(cast=SURE, mould=SURE, print=SURE)


def task(name, minutes, **more):
    doing = more.pop("doing", Doing.WORK)
    return Task(id=name, name=name, part="star", doing=doing, minutes=minutes, **more)


def spread(name, low, likely, high, **more):
    return task(name, likely, low_min=low, high_min=high, **more)


def shots(count, *, minutes=60):
    tasks = []
    for n in range(1, count + 1):
        after = (tasks[-1].id,) if tasks else ()
        tasks.append(task(f"round {n}", minutes, attended=True, after=after, good_copies=1, round=n, lane="casting"))
    return Network(tasks=tuple(tasks))


def test_lengths_have_the_mean_and_variance_of_the_three_point_formulas():
    """2, 5, 14: mean 6, variance of the true beta distribution 4.5714 (classical 4), by (μ − a)(b − μ)/7."""
    network = Network(tasks=(spread("cure", 2, 5, 14),))
    lengths, _ = lengths_min(np.random.default_rng(1), network, 200_000)
    assert shape_of(network.tasks[0]) == pytest.approx((2.0, 4.0))
    assert lengths.mean() == pytest.approx(6.0, abs=0.02)
    assert lengths.var() == pytest.approx(32 / 7, rel=0.02)
    assert lengths.min() >= 2
    assert lengths.max() <= 14


@pytest.mark.parametrize(("confidence", "pours"), [(0.5, 11), (0.9, 14), (0.95, 15), (0.99, 18)])
def test_shots_for_ten_good_ones_are_those_of_a_beta_negative_binomial(confidence, pours):
    """scipy.stats.betanbinom with Beta(19, 3): eighteen of twenty good, on a flat prior."""
    assert 10 + betanbinom.ppf(confidence, 10, 19, 3) == pours
    _, drawn = shots_needed(np.random.default_rng(2), 10, Yield(good=19, spoiled=3), 200_000)
    assert np.quantile(drawn, confidence, method="inverted_cdf") == pours


def test_shots_laid_in_are_enough_nearly_always():
    for copies in (1, 5, 24):
        chance = betanbinom.cdf(most_shots(copies) - copies, copies, CAST_YIELD.good, CAST_YIELD.spoiled)
        assert chance >= 0.9999


def test_every_spoiled_copy_costs_a_pour_more():
    made = risk_of(shots(most_shots(5)), ALWAYS, {"star": 5}, runs=50_000, yields=Yields(mould=SURE))
    law = betanbinom(5, CAST_YIELD.good, CAST_YIELD.spoiled)
    for ratio in (0.5, 0.9, 0.99):
        assert made.within(ratio) == 60 * (5 + law.ppf(ratio))
    assert made.chance_by(60 * 6) == pytest.approx(law.cdf(1), abs=0.01)
    assert made.drivers[0].what == "star: spoiled copies"


def test_a_failed_mould_is_made_anew():
    tasks = (
        task("mould", 100, attended=True, mould=1),
        task("mould again 1", 100, attended=True, mould=1, again=1, after=("mould",)),
        task("mould again 2", 100, attended=True, mould=1, again=2, after=("mould again 1",)),
    )
    made = risk_of(Network(tasks=tasks), ALWAYS, {"star": 1}, runs=50_000)
    chance = MOULD_YIELD.mean_ratio
    assert made.chance_by(100) == pytest.approx(chance, abs=0.005)
    assert set(np.unique(made.lasts)) == {100, 200, 300}


def test_a_failed_print_is_printed_anew_and_all_of_a_part_fail_by_one_yield():
    names = [("tray", "tray again 1", "tray again 2"), ("rod", "rod again 1", "rod again 2")]
    tasks = [
        task(each, 10, attended=True, piece=row[0], again=n, after=row[n - 1 : n] if n else ())
        for row in names
        for n, each in enumerate(row)
    ]
    made = risk_of(Network(tasks=tuple(tasks)), ALWAYS, {"star": 1}, runs=50_000)
    law = betanbinom(1, PRINT_YIELD.good, PRINT_YIELD.spoiled)
    assert law.cdf(0) == pytest.approx(0.95)
    # both good: the mean of the square of one yield (Beta moments), more than the square of its mean
    good, both = PRINT_YIELD.good, PRINT_YIELD.good + PRINT_YIELD.spoiled
    assert made.chance_by(20) == pytest.approx(good * (good + 1) / (both * (both + 1)), abs=0.005)
    assert made.lasts.max() == 60
    assert made.drivers[0].what == "star: failed prints"


def test_copies_that_are_printed_come_out_good_as_prints_do():
    network = shots(most_shots(5, PRINT_YIELD))
    made = risk_of(network, ALWAYS, {"star": 5}, runs=50_000, printed={"star"})
    law = betanbinom(5, PRINT_YIELD.good, PRINT_YIELD.spoiled)
    for ratio in (0.5, 0.9, 0.99):
        assert made.within(ratio) == 60 * (5 + law.ppf(ratio))
    assert made.drivers[0].what == "star: failed copies"


def test_with_nothing_uncertain_every_run_is_the_rule():
    network = shots(6)
    made = risk_of(network, ALWAYS, {"star": 6}, runs=50, yields=ALL_SURE)
    assert set(made.lasts.tolist()) == {dispatch(network, ALWAYS).last}
    assert made.drivers == ()
    assert made.unfinished_ratio == 0.0


def test_what_is_alike_is_long_together_and_hands_lean_the_same_way():
    network = Network(
        tasks=(
            spread("cure 1", 10, 20, 60, alike="casting"),
            spread("cure 2", 100, 200, 600, alike="casting"),
            spread("sand", 10, 20, 60, attended=True),
            spread("trim", 10, 20, 60, attended=True),
            spread("dry", 10, 20, 60),
        )
    )
    lengths, _ = lengths_min(np.random.default_rng(3), network, 20_000)
    assert np.allclose(lengths[:, 1], 10 * lengths[:, 0])
    assert 0.4 < np.corrcoef(lengths[:, 2], lengths[:, 3])[0, 1] < 0.6
    assert abs(np.corrcoef(lengths[:, 2], lengths[:, 4])[0, 1]) < 0.05


def test_the_wider_spread_drives_the_date():
    network = Network(
        tasks=(
            spread("paint", 50, 100, 400, attended=True),
            spread("cure", 200, 400, 1600, at_once="paint", doing=Doing.WAIT, alike="casting"),
        )
    )
    made = risk_of(network, ALWAYS, {}, runs=4000)
    assert [one.what for one in made.drivers] == ["star: how long the casting sets", "hands"]
    assert made.drivers[0].worst_against_best > 500
    assert made.within(0.5) < made.within(0.9)


def test_the_same_seed_gives_the_same_answer_and_another_seed_nearly():
    network = shots(most_shots(5))
    first, again, other = (risk_of(network, ALWAYS, {"star": 5}, runs=2000, seed=seed).lasts for seed in (7, 7, 8))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
    assert abs(first.mean() - other.mean()) < 0.03 * first.mean()


def test_what_does_not_fit_into_the_days_looked_at_stands_at_their_end():
    short = Calendar(windows=((0, 100),), end=200, step_min=1.0)
    made = risk_of(shots(5), short, {"star": 5}, runs=20, yields=ALL_SURE)
    assert made.unfinished_ratio == 1.0
    assert made.within(0.5) == 200


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=3, max_size=40))
def test_rank_correlation_is_that_of_scipy(pairs):
    first, second = np.array(pairs).T
    if first.min() == first.max() or second.min() == second.max():
        assert rank_correlation(first, second) == 0.0
    else:
        assert rank_correlation(first, second) == pytest.approx(spearmanr(first, second).statistic, abs=1e-12)


def test_tasks_of_rounds_that_are_not_needed_are_not_there():
    network = shots(most_shots(3))
    drawn = draw_runs(network, {"star": 3}, runs=500, seed=1, yields=Yields(mould=SURE))
    assert (drawn.there.sum(axis=1) == 3 + drawn.drivers["star: spoiled copies"]).all()


def test_the_shots_seen_of_a_part_are_added_to_what_is_taken_beforehand() -> None:
    """18 of 20 beforehand, 2 of 10 seen: 20 of 30; by scipy's mean n·b/(a − 1) are spoiled."""
    seen = cast_yield_seen(Seen(good=2, shots=10))
    assert seen == Yield(good=20.0, spoiled=10.0)
    made = risk_of(shots(60), ALWAYS, {"star": 5}, runs=20_000, yields=Yields(mould=SURE, seen={"star": seen}))
    plain = risk_of(shots(60), ALWAYS, {"star": 5}, runs=20_000, yields=Yields(mould=SURE))
    wanted = betanbinom.mean(5, 20.0, 10.0) / betanbinom.mean(5, 18.0, 2.0)
    spoiled = [float(np.mean(one.lasts)) / 60.0 - 5.0 for one in (made, plain)]
    assert spoiled[0] / spoiled[1] == pytest.approx(wanted, rel=0.05)
