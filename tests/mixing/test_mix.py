"""Mixes: against the worked mix, and what holds for every mix."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest, OutOfRange
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import MIXED_KINDS, CountsOn, Material, value_or
from firstpour.mixing.bench_kit import BenchKit
from firstpour.mixing.clock import cure_times
from firstpour.mixing.mix import RATIO_TOLERANCE, Mix, mass_for_g, mix_volume
from firstpour.values import Severity
from shelf_samples import MODEST, shipped, worked_plastic

MIXED = shipped().of_kinds(MIXED_KINDS)
SILICONE = "addition-silicone-a25-middling"
RUBBER = "flexible-rubber-a30-slow"


def additive(key: str, dose_ratio: float) -> Additive:
    return Additive(material=shipped().get(key), dose_ratio=dose_ratio)


def codes(mix: Mix) -> list[str]:
    return [finding.code for finding in mix.findings]


def test_the_worked_mix_comes_out_to_the_printed_digits() -> None:
    """120 ml at 100:90 by weight, 1.05 and 1.02 g/ml (recomputed by hand): 65.4046 + 58.8641 = 124.2687 g."""
    mix = mix_volume(worked_plastic(), volume_ml=120, loss_ml=0)
    assert mix.part_a_g == pytest.approx(65.4046, abs=5e-5)
    assert mix.part_b_g == pytest.approx(58.8641, abs=5e-5)
    assert mix.total_g == pytest.approx(124.2687, abs=5e-5)
    assert mix.part_a_ml + mix.part_b_ml == pytest.approx(120)


def test_a_warmer_room_shortens_the_pot_life_about_as_the_ten_degree_rule_says() -> None:
    """53 kJ/mol from 23 to 30 °C: ×0.6083 (recomputed) without self-heating, and but little off with it."""
    mix = mix_volume(worked_plastic(), volume_ml=120, temperature_c=30)
    assert mix.times.stated_pot_life_min == pytest.approx(7 * 0.6083, rel=0.05)
    assert mix.times.demould_min == pytest.approx(30 * 0.6083, rel=0.05)


@MODEST
@given(
    material=st.sampled_from(MIXED),
    volume_ml=st.floats(1, 20000),
    step_g=st.sampled_from([0.01, 0.1, 1.0]),
    largest_ml=st.sampled_from([730.0, 5000.0]),
)
def test_a_batch_keeps_its_mass_and_its_ratio(
    material: Material, volume_ml: float, step_g: float, largest_ml: float
) -> None:
    kit = BenchKit(scale_step_g=step_g, largest_container_ml=largest_ml)
    mix = mix_volume(material, volume_ml=volume_ml, kit=kit)
    assert material.ratio is not None
    assert mix.part_b_g / mix.part_a_g == pytest.approx(material.ratio.b_per_100_a / 100)
    assert mix.total_g == pytest.approx((volume_ml + mix.loss_ml) * mix.density_g_ml)
    assert mix.total_g == pytest.approx(mix.batches * mix.batch_g)
    assert mix.batches == 1
    largest_g = value_or(material, FigureName.LARGEST_MASS, 1e9)
    heavy = mix.part_a_g + mix.part_b_g > largest_g
    wide = 1.5 * (volume_ml + mix.loss_ml) > largest_ml
    assert ("cavity-above-largest-mass" in codes(mix)) is heavy
    assert ("container-too-small" in codes(mix)) is (wide and not heavy)
    if not wide:
        assert volume_ml + mix.loss_ml < mix.cup_ml <= largest_ml
        assert mix.container_ml <= largest_ml
    assert 0 < mix.loss_ml < 0.5 * volume_ml + 5 * mix.batches


@MODEST
@given(
    material=st.sampled_from(MIXED),
    excess=st.floats(1.0, 50.0),
    step_g=st.sampled_from([0.01, 0.1, 0.5, 1.0, 5.0]),
)
def test_rounding_to_the_scale_never_leaves_the_tolerance(material: Material, excess: float, step_g: float) -> None:
    assert material.ratio is not None
    kit = BenchKit(scale_step_g=step_g, largest_container_ml=1e6)
    smallest_g = mix_volume(material, volume_ml=10, kit=kit).smallest_batch_g
    volume_ml = excess * smallest_g / mix_volume(material, volume_ml=10, loss_ml=0).density_g_ml
    mix = mix_volume(material, volume_ml=volume_ml, kit=kit, loss_ml=0)
    tolerance = value_or(material, FigureName.RATIO_TOLERANCE, RATIO_TOLERANCE)
    shown = mix.batch.weigh_b_g / mix.batch.weigh_a_g
    assert abs(shown / (material.ratio.b_per_100_a / 100) - 1) <= tolerance
    assert "batch-too-small" not in codes(mix) or mix.batch_g < smallest_g * (1 + 1e-9)
    assert mix.batch.weigh_a_g >= mix.part_a_g / mix.batches - 1e-6


def test_a_batch_below_the_smallest_is_said_and_the_finer_scale_is_enough() -> None:
    material = shipped().get("addition-silicone-a30-slow")
    coarse = mix_volume(material, volume_ml=10, kit=BenchKit(scale_step_g=1.0))
    assert "batch-too-small" in codes(coarse)
    assert coarse.ratio_error_ratio > 0.03 / 2
    finer_g = coarse.batch_g / coarse.smallest_batch_g * 0.999
    assert "batch-too-small" not in codes(mix_volume(material, volume_ml=10, kit=BenchKit(scale_step_g=finer_g)))


@MODEST
@given(dose=st.floats(0.001, 0.03), counts=st.sampled_from(list(CountsOn)), volume_ml=st.floats(20, 2000))
def test_a_colourant_is_counted_on_its_part_and_the_volume_stays(
    dose: float, counts: CountsOn, volume_ml: float
) -> None:
    base = shipped().get("flexible-rubber-a60-slow")
    colour = replace(shipped().get("urethane-colourant"), counts_on=counts)
    mix = mix_volume(base, volume_ml=volume_ml, additives=[Additive(material=colour, dose_ratio=dose)], loss_ml=0)
    counted_g = {CountsOn.A: mix.part_a_g, CountsOn.B: mix.part_b_g, CountsOn.TOTAL: mix.part_a_g + mix.part_b_g}
    added_g = mix.additives[0].mass_g
    assert added_g == pytest.approx(dose * counted_g[counts])
    filled_ml = mix.part_a_ml + mix.part_b_ml + added_g / colour.figures[FigureName.DENSITY].value
    assert filled_ml == pytest.approx(volume_ml)
    assert mix.total_g == pytest.approx(mix.part_a_g + mix.part_b_g + added_g)


@MODEST
@given(first=st.floats(0, 0.02), second=st.floats(0, 0.02))
def test_more_accelerator_is_never_longer(first: float, second: float) -> None:
    low, high = sorted((first, second))
    rubber = shipped().get(RUBBER)
    less, more = (
        cure_times(rubber, temperature_c=23, mass_g=200, additives=[additive("urethane-accelerator", dose)])
        for dose in (low, high)
    )
    assert more.pot_life_low_min <= less.pot_life_low_min
    assert more.demould_min <= less.demould_min


@MODEST
@given(material=st.sampled_from(MIXED), first=st.floats(16, 32), second=st.floats(16, 32))
def test_a_warmer_room_is_never_slower(material: Material, first: float, second: float) -> None:
    low, high = sorted((first, second))
    cool, warm = (cure_times(material, temperature_c=room, mass_g=200) for room in (low, high))
    assert warm.pot_life_high_min <= cool.pot_life_high_min
    assert warm.demould_min <= cool.demould_min


@MODEST
@given(material=st.sampled_from(MIXED), mass_g=st.floats(1, 5000))
def test_a_larger_mass_never_lasts_longer_and_the_range_has_two_ends(material: Material, mass_g: float) -> None:
    small, large = (cure_times(material, temperature_c=23, mass_g=mass) for mass in (mass_g, 2 * mass_g))
    assert large.pot_life_low_min <= small.pot_life_low_min
    assert small.pot_life_low_min <= small.pot_life_high_min


def test_an_accelerator_that_halves_the_cure_of_a_slow_rubber() -> None:
    """Common practice, no source: 16 h become 8 h."""
    plain = mix_volume(shipped().get(RUBBER), volume_ml=100)
    mix = mix_volume(shipped().get(RUBBER), volume_ml=100, additives=[additive("urethane-accelerator", 0.01)])
    assert mix.times.demould_min / plain.times.demould_min == pytest.approx(8 / 16, rel=0.01)
    assert mix.times.stated_pot_life_min < 0.6 * plain.times.stated_pot_life_min


def test_a_drop_of_accelerator_on_a_coarse_scale_is_said() -> None:
    rubber, drops = shipped().get(RUBBER), [additive("urethane-accelerator", 0.005)]
    coarse = mix_volume(rubber, volume_ml=40, additives=drops, kit=BenchKit(scale_step_g=0.1))
    fine = mix_volume(rubber, volume_ml=40, additives=drops, kit=BenchKit(scale_step_g=0.01))
    assert "additive-too-small" in codes(coarse)
    assert "additive-too-small" not in codes(fine)
    said = next(one for one in coarse.findings if one.code == "additive-too-small")
    assert said.remedy == "use a scale that shows 0.01 g, or count drops that were weighed"


def test_one_cavity_above_the_largest_mass_refuses_the_material_and_names_a_slower_one() -> None:
    fast, slow = shipped().get("rigid-plastic-d70-fast"), shipped().get("rigid-plastic-d75-slow")
    mix = mix_volume(fast, volume_ml=1500, slower=[slow])
    assert mix.batches == 1
    refused = next(one for one in mix.findings if one.code == "cavity-above-largest-mass")
    assert refused.severity is Severity.ERROR
    assert "rigid-plastic-d75-slow" in refused.remedy
    assert "filler" in refused.remedy
    assert "cavity-above-largest-mass" not in codes(mix_volume(slow, volume_ml=1500))


@pytest.mark.parametrize(
    ("cavities", "batches", "each", "short"), [(3, 3, 1, 0), (4, 4, 1, 0), (5, 5, 1, 0), (7, 4, 2, 1), (12, 4, 3, 0)]
)
def test_batches_divide_between_cavities_alone(cavities: int, batches: int, each: int, short: int) -> None:
    """1500 ml of at most 500 g at once: every batch fills whole cavities."""
    mix = mix_volume(shipped().get("rigid-plastic-d70-fast"), volume_ml=1500, cavities=cavities)
    assert (mix.batches, mix.batch_cavities, mix.short_batches) == (batches, each, short)
    assert batches * each - short == cavities
    assert ("cavity-above-largest-mass" in codes(mix)) is (cavities < 4)
    if cavities >= 4:
        assert mix.batch_g <= 500
        assert "mix-split" in codes(mix)
    weighed = mix.batch.weigh_g * (batches - short)
    weighed += mix.short_batch.weigh_g * short if mix.short_batch else 0.0
    assert weighed == pytest.approx(mix.total_g, abs=0.3 * batches)


@MODEST
@given(cavities=st.integers(1, 60), volume_ml=st.floats(50, 9000))
def test_no_fewer_batches_would_keep_to_the_largest_mass(cavities: int, volume_ml: float) -> None:
    mix = mix_volume(shipped().get("rigid-plastic-d70-fast"), volume_ml=volume_ml, cavities=cavities)
    if "cavity-above-largest-mass" in codes(mix):
        assert mix.batches == cavities
        return
    assert mix.batch_g <= 500 * (1 + 1e-9)
    if mix.batches > 1:
        fewer = -(-cavities // (mix.batches - 1))
        assert mix.total_g * fewer / cavities > 500 * 0.98  # a batch less loses a little less


def test_a_filler_lets_a_cavity_take_more_of_the_same_plastic() -> None:
    plastic = shipped().get("rigid-plastic-d70-fast")
    powder = [additive("mineral-filler", 1.0)]
    assert "cavity-above-largest-mass" in codes(mix_volume(plastic, volume_ml=550))
    assert "cavity-above-largest-mass" not in codes(mix_volume(plastic, volume_ml=550, additives=powder))


def test_a_silicone_that_rises_above_the_container_is_degassed_in_lots() -> None:
    silicone = mix_volume(shipped().get(SILICONE), volume_ml=1500)
    assert silicone.batches == 1
    assert silicone.degas_lots == 2
    assert silicone.container_ml <= 5000
    huge = mix_volume(shipped().get(SILICONE), volume_ml=4000)
    assert "container-too-small" in codes(huge)


def test_a_softener_lets_the_rubber_shrink_more() -> None:
    rubber = shipped().get(RUBBER)
    soft = mix_volume(rubber, volume_ml=100, additives=[additive("urethane-softener", 0.3)])
    assert rubber.figures[FigureName.SHRINKAGE].value == 0.001
    assert soft.shrinkage_ratio == pytest.approx(0.004)


@MODEST
@given(material=st.sampled_from(MIXED), volume_ml=st.floats(5, 3000), step_g=st.sampled_from([0.01, 0.1, 1.0]))
def test_the_weights_as_they_are_shown_add_up(material: Material, volume_ml: float, step_g: float) -> None:
    colour = "silicone-colourant" if "silicone" in material.id else "urethane-colourant"
    mix = mix_volume(
        material, volume_ml=volume_ml, additives=[additive(colour, 0.02)], kit=BenchKit(scale_step_g=step_g)
    )
    shown = [mix.batch.weigh_a_g, mix.batch.weigh_b_g, *(one.weigh_g for one in mix.batch.additives)]
    assert sum(shown) == pytest.approx(mix.batch.weigh_g, abs=1e-6)
    assert mix.batch.weigh_g == pytest.approx(mix.batch_g, abs=3 * step_g)


def test_degassing_asks_for_more_room_than_stirring() -> None:
    silicone = shipped().get(SILICONE)
    vacuum = mix_volume(silicone, volume_ml=200)
    without = mix_volume(silicone, volume_ml=200, kit=BenchKit(vacuum=False))
    assert vacuum.container_ml > 2 * without.container_ml
    assert without.container_ml == without.cup_ml
    assert "vacuum" in [caution.id for caution in vacuum.cautions]


def test_typical_figures_are_said_and_own_ones_are_not() -> None:
    assert "typical-figures" in codes(mix_volume(shipped().get(SILICONE), volume_ml=100))
    own = mix_volume(worked_plastic(), volume_ml=100)
    assert codes(own) == ["left-overs-get-hot"]
    assert Severity.ERROR not in [finding.severity for finding in own.findings]


def test_the_mass_alone_is_that_of_the_whole_mix() -> None:
    for material in MIXED:
        assert mass_for_g(material, volume_ml=130) == pytest.approx(mix_volume(material, volume_ml=130).total_g)


@pytest.mark.parametrize("volume_ml", [0, -5, float("nan"), float("inf"), 1e9])
def test_a_volume_that_cannot_be_is_refused(volume_ml: float) -> None:
    with pytest.raises(BadRequest, match="volume"):
        mix_volume(worked_plastic(), volume_ml=volume_ml)


def test_a_material_that_is_no_casting_material_is_refused() -> None:
    for key in ("filament-rigid", "flat-black-paint", "urethane-colourant", "photopolymer-rigid"):
        with pytest.raises(OutOfRange, match="nothing to mix"):
            mix_volume(shipped().get(key), volume_ml=100)


@pytest.mark.parametrize("room_c", [5, 15.9, 32.1, 60, float("nan")])
def test_a_room_outside_the_data_is_refused(room_c: float) -> None:
    with pytest.raises(OutOfRange, match="outside what is known"):
        mix_volume(shipped().get(RUBBER), volume_ml=100, temperature_c=room_c)


@pytest.mark.parametrize(
    ("base", "key", "dose", "says"),
    [
        (RUBBER, "urethane-accelerator", 0.021, "outside its table"),
        (RUBBER, "urethane-accelerator", -0.01, "outside its table"),
        (RUBBER, "urethane-accelerator", float("nan"), "outside its table"),
        (SILICONE, "urethane-accelerator", 0.01, "Made for urethane"),
        (RUBBER, "water-paint-colourant", 0.01, "foams"),
        (RUBBER, "silicone-softener", 0.05, "Silicone oil"),
        (RUBBER, "flat-black-paint", 0.05, "no additive"),
        ("rigid-plastic-d75-middling", "urethane-softener", 0.1, "not made for"),
    ],
)
def test_an_additive_that_does_not_belong_is_refused(base: str, key: str, dose: float, says: str) -> None:
    with pytest.raises((BadRequest, OutOfRange), match=says):
        mix_volume(shipped().get(base), volume_ml=100, additives=[additive(key, dose)])


def test_a_kit_and_a_loss_that_cannot_be_are_refused() -> None:
    with pytest.raises(BadRequest):
        BenchKit(scale_step_g=0)
    with pytest.raises(BadRequest):
        BenchKit(largest_container_ml=float("nan"))
    with pytest.raises(BadRequest, match="loss"):
        mix_volume(worked_plastic(), volume_ml=10, loss_ml=-1)
    for cavities in (0, 100_000):
        with pytest.raises(BadRequest, match="cavities"):
            mix_volume(worked_plastic(), volume_ml=100, cavities=cavities)
