"""A pour on the clock, and what a feel means."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.choosing.options import slower_like
from firstpour.errors import BadRequest
from firstpour.materials.additives import Additive
from firstpour.materials.feel import (
    Hardness,
    Scale,
    hardness_of,
    points_above,
    stiffness_of,
    wanted_hardness,
    ways_to_reach,
)
from firstpour.materials.material import CASTING_KINDS, Kind
from firstpour.mixing.bench_kit import BenchKit, Pace
from firstpour.mixing.pour import CHANCE_TO_FIT, pour_fit
from firstpour.mixing.pour_steps import Pour, PourStepName, age_at_pour_min, pour_steps
from shelf_samples import MODEST, shipped, worked_plastic

FAST_SILICONE = "addition-silicone-a20-fast"
FAST_PLASTIC = "rigid-plastic-d70-fast"


def pour(key: str, volume_ml: float, **more: object) -> Pour:
    return Pour(material=shipped().get(key), volume_ml=volume_ml, **more)  # type: ignore[arg-type]


def names(one: Pour) -> list[PourStepName]:
    return [step.name for step in pour_steps(one, temperature_c=23)]


def test_the_clock_starts_when_b_meets_a() -> None:
    steps = pour_steps(pour(FAST_SILICONE, 200), temperature_c=23)
    assert [step.name for step in steps if not step.on_clock] == [PourStepName.WEIGH_A]
    assert steps[1].name is PourStepName.WEIGH_B
    assert PourStepName.DEGAS in names(pour(FAST_SILICONE, 200))


def test_without_vacuum_or_with_additives_the_steps_change() -> None:
    colour = Additive(material=shipped().get("silicone-colourant"), dose_ratio=0.01)
    assert PourStepName.DEGAS not in names(pour(FAST_SILICONE, 200, kit=BenchKit(vacuum=False)))
    assert PourStepName.DEGAS not in names(pour(FAST_PLASTIC, 200))
    assert PourStepName.ADDITIVES_A in names(pour(FAST_SILICONE, 200, additives=(colour,)))


def test_a_fast_silicone_in_a_large_mix_misses_its_pot_life_and_is_told_what_to_change() -> None:
    big = pour(FAST_SILICONE, 2000)
    fit = pour_fit(big, temperature_c=23, slower=slower_like(big.material, shipped()))
    assert not fit.fits
    assert fit.chance < 0.2
    assert fit.margin_min is not None
    assert fit.margin_min < 0
    assert fit.changes
    assert any("addition-silicone-a25-middling" in change.text for change in fit.changes)
    reached = [change.chance >= CHANCE_TO_FIT for change in fit.changes]
    assert reached == sorted(reached, reverse=True)
    assert all(change.chance > fit.chance for change in fit.changes)


def test_the_first_change_is_the_least_trouble_that_makes_it_fit() -> None:
    fit = pour_fit(pour(FAST_PLASTIC, 180, openings=4), temperature_c=23)
    assert not fit.fits
    assert fit.changes[0].text.startswith("Prepare the cups")
    assert fit.changes[0].chance >= CHANCE_TO_FIT
    assert sum(change.text.startswith("Split") for change in fit.changes) == 1


def test_one_closed_mould_is_never_filled_from_two_mixes() -> None:
    fit = pour_fit(pour(FAST_PLASTIC, 400, kit=BenchKit(pace=Pace.UNHURRIED)), temperature_c=28)
    assert not fit.fits
    assert not any(change.text.startswith("Split") for change in fit.changes)


def test_an_accelerator_may_be_left_out_and_a_vacuum_skipped_where_there_is_pressure() -> None:
    fast = Additive(material=shipped().get("urethane-accelerator"), dose_ratio=0.01)
    kit = BenchKit(pressure=True, pace=Pace.UNHURRIED)
    fit = pour_fit(pour("flexible-rubber-a40-middling", 250, additives=(fast,), kit=kit), temperature_c=23)
    texts = [change.text for change in fit.changes]
    assert "Leave out the accelerator." in texts
    assert any(text.startswith("Skip the vacuum") for text in texts)


def test_a_room_that_the_material_does_not_know_is_said_not_raised() -> None:
    fit = pour_fit(pour(FAST_PLASTIC, 100), temperature_c=45)
    assert fit.times is None
    assert not fit.fits
    assert fit.remedy is not None
    assert "45 °C" in (fit.problem or "")


@MODEST
@given(volume_ml=st.floats(20, 1500), cool=st.floats(16, 32), warm=st.floats(16, 32))
def test_a_warmer_room_and_a_slower_hand_never_raise_the_chance(volume_ml: float, cool: float, warm: float) -> None:
    low, high = sorted((cool, warm))
    one = pour("flexible-rubber-a80-fast", volume_ml)
    assert pour_fit(one, temperature_c=high).chance <= pour_fit(one, temperature_c=low).chance + 1e-9
    paces = [
        pour_fit(pour("flexible-rubber-a80-fast", volume_ml, kit=BenchKit(pace=pace)), temperature_c=low).work_min
        for pace in Pace
    ]
    assert paces == sorted(paces)


def test_minutes_through_the_gate_take_the_place_of_the_estimate() -> None:
    slow = pour_fit(pour(FAST_PLASTIC, 100, pour_min=5.0), temperature_c=23)
    quick = pour_fit(pour(FAST_PLASTIC, 100, pour_min=0.1), temperature_c=23)
    assert slow.work_min > quick.work_min + 4


@pytest.mark.parametrize(
    ("text", "scale", "points"),
    [
        ("A 30", Scale.A, 30),
        ("30A", Scale.A, 30),
        ("Shore A 30", Scale.A, 30),
        ("30 shore a", Scale.A, 30),
        ("shore D 72.5", Scale.D, 72.5),
        ("A 25-35", Scale.A, 30),
        ("A 25 to 35", Scale.A, 30),
        ("soft as rubber", Scale.A, 30),
        ("Rigid", Scale.D, 75),
    ],
)
def test_a_hardness_is_read_as_people_write_it(text: str, scale: Scale, points: float) -> None:
    wanted = wanted_hardness(text)
    assert (wanted.scale, wanted.points) == (scale, points)


def test_irhd_is_about_shore_a() -> None:
    """ISO 48-2 beside Gent 1958: within four points from A 30 to A 70."""
    assert wanted_hardness("IRHD 50").points == pytest.approx(50, abs=4)


@pytest.mark.parametrize("text", ["", "squishy", "A", "A 130", "B 30", "30"])
def test_what_says_no_hardness_is_refused_with_examples(text: str) -> None:
    with pytest.raises(BadRequest) as caught:
        wanted_hardness(text)
    assert caught.value.remedy


def test_the_two_scales_meet_only_where_the_chart_does() -> None:
    assert points_above(Hardness(scale=Scale.A, points=95), Hardness(scale=Scale.D, points=46)) == 0
    assert points_above(Hardness(scale=Scale.D, points=72), Hardness(scale=Scale.A, points=30)) is None


def test_a_wanted_feel_finds_the_material_itself_first_then_a_softened_one() -> None:
    castings = shipped().of_kinds(CASTING_KINDS)
    softeners = shipped().of_kinds([Kind.SOFTENER])
    ways = ways_to_reach(wanted_hardness("A 30"), materials=castings, softeners=softeners)
    assert ways[0].material.id == "flexible-rubber-a30-slow"
    assert ways[0].softener is None
    softened = {way.material.id: way.softener for way in ways}
    dose = softened["flexible-rubber-a40-middling"]
    assert dose is not None
    assert dose.material.id == "urethane-softener"
    assert 0.1 < dose.dose_ratio < 0.3
    assert "rigid-plastic-d75-middling" not in softened


@MODEST
@given(points=st.floats(5, 90))
def test_every_way_keeps_inside_the_tolerance_and_the_softeners_table(points: float) -> None:
    wanted = Hardness(scale=Scale.A, points=points)
    softeners = shipped().of_kinds([Kind.SOFTENER])
    for way in ways_to_reach(wanted, materials=shipped().of_kinds(CASTING_KINDS), softeners=softeners):
        assert abs(way.off_points) <= wanted.tolerance_points
        if way.softener is not None:
            assert 0 < way.softener.dose_ratio <= way.softener.material.doses[-1].dose_ratio


def test_stiffness_is_a_range_of_two_correlations_and_an_estimate() -> None:
    """A 60: Gent 1958 gives 3.605 MPa, the logarithmic relation 5.884."""
    stiff = stiffness_of(Hardness(scale=Scale.A, points=60))
    assert stiff is not None
    assert (stiff.modulus_low_mpa, stiff.modulus_high_mpa) == pytest.approx((3.6051, 5.884), abs=1e-3)
    assert stiffness_of(Hardness(scale=Scale.D, points=72)) is None
    assert stiffness_of(Hardness(scale=Scale.A, points=5)) is None


def test_a_thin_soft_section_bends_far_and_a_thick_stiff_one_does_not() -> None:
    soft = stiffness_of(Hardness(scale=Scale.A, points=30), thickness_mm=3, length_mm=40)
    firm = stiffness_of(Hardness(scale=Scale.D, points=50), thickness_mm=12, length_mm=40)
    assert soft is not None
    assert soft.bends_far
    assert firm is not None
    assert not firm.bends_far
    assert firm.deflection_low_mm is not None
    assert firm.deflection_high_mm is not None
    assert firm.deflection_low_mm <= firm.deflection_high_mm


def test_a_record_without_hardness_has_none() -> None:
    assert hardness_of(shipped().get("urethane-colourant")) is None
    assert str(hardness_of(worked_plastic())) == "D 70"


def test_what_goes_into_b_is_stirred_in_before_the_clock_starts() -> None:
    """The record of a urethane's colourant names part B, so B is weighed in its own cup and tipped in ready."""
    colour = Additive(material=shipped().get("urethane-colourant"), dose_ratio=0.02)
    steps = pour_steps(pour(FAST_PLASTIC, 100, additives=(colour,)), temperature_c=23)
    before = [step.name for step in steps if not step.on_clock]
    assert before == [PourStepName.WEIGH_A, PourStepName.WEIGH_B_APART, PourStepName.ADDITIVES_B]
    assert next(step.name for step in steps if step.on_clock) is PourStepName.TIP_B
    plain = pour_steps(pour(FAST_PLASTIC, 100), temperature_c=23)
    assert age_at_pour_min(steps) < age_at_pour_min(plain)


def test_the_margin_is_what_the_pot_life_leaves_and_names_what_eats_it() -> None:
    fit = pour_fit(pour(FAST_SILICONE, 200), temperature_c=23)
    assert fit.times is not None
    assert fit.margin_min == pytest.approx(fit.times.pot_life_min - fit.work_min)
    running = [step.time.mean_min for step in fit.eaten_by]
    assert sum(running) == pytest.approx(fit.work_min)
    assert running == sorted(running, reverse=True)
    assert pour_fit(pour(FAST_PLASTIC, 100), temperature_c=45).margin_min is None


def test_a_pour_that_most_likely_ends_with_the_pot_life_ends_in_time_half_the_time() -> None:
    fit = pour_fit(pour(FAST_PLASTIC, 100), temperature_c=23)
    assert fit.times is not None
    others = sum(step.time.mean_min for step in fit.steps if step.on_clock and step.name is not PourStepName.POUR)
    just = pour(FAST_PLASTIC, 100, pour_min=(fit.times.pot_life_min - others) / 1.135 - 0.25)
    assert pour_fit(just, temperature_c=23).chance == pytest.approx(0.5, abs=0.15)


def test_a_cavity_too_heavy_for_a_slower_plastic_is_not_offered_it() -> None:
    fast, slower = shipped().get(FAST_PLASTIC), slower_like(shipped().get(FAST_PLASTIC), shipped())
    fit = pour_fit(Pour(material=fast, volume_ml=1500), temperature_c=23, slower=slower)
    offered = " ".join(change.text for change in fit.changes)
    assert "rigid-plastic-d75-slow" in offered
    assert "rigid-plastic-d75-middling" not in offered
