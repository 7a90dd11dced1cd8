"""Mass and shape: what the trade and the heat balance say of pot lives and demould times."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import erf

from firstpour.errors import BadRequest
from firstpour.materials.additives import Additive
from firstpour.materials.figures import Figure, FigureName, Origin
from firstpour.materials.material import MIXED_KINDS, Material
from firstpour.materials.material_checks import check_material
from firstpour.mixing import heat
from firstpour.mixing.clock import cure_times, pot_life_spread
from firstpour.mixing.mix import mix_volume
from shelf_samples import MODEST, shipped

FAST, RUBBER = "rigid-plastic-d70-fast", "flexible-rubber-a30-slow"
MIXED = shipped().of_kinds(MIXED_KINDS)


def three_minute_plastic() -> Material:
    base = shipped().get(FAST)
    return replace(
        base,
        figures={
            **base.figures,
            FigureName.POT_LIFE: Figure(value=3.0, origin=Origin.TYPICAL, temperature_c=23.0, mass_g=100.0),
            FigureName.DEMOULD: Figure(value=15.0, origin=Origin.TYPICAL, temperature_c=23.0),
        },
    )


def pot_life_min(material: Material, mass_g: float, **more: float) -> float:
    return cure_times(material, temperature_c=23, mass_g=mass_g, **more).pot_life_min  # type: ignore[arg-type]


def test_a_small_mass_of_a_fast_plastic_gains_almost_nothing_and_a_large_one_loses_as_little() -> None:
    """From memory: 12 g of a 3-minute plastic keep 1.0 to 1.1 of the pot life at 100 g, 1 kg about 0.99."""
    plastic = three_minute_plastic()
    at_100 = pot_life_min(plastic, 100)
    assert at_100 == pytest.approx(3.0, rel=1e-4)
    assert 1.0 < pot_life_min(plastic, 12) / at_100 < 1.1
    assert pot_life_min(plastic, 1000) / at_100 == pytest.approx(0.99, abs=0.01)


@pytest.mark.parametrize("material", MIXED, ids=lambda one: one.id)
def test_the_records_own_figures_come_out_at_their_own_mass(material: Material) -> None:
    times = cure_times(material, temperature_c=23, mass_g=heat.stated_mass_g(material))
    assert times.pot_life_min == pytest.approx(material.figures[FigureName.POT_LIFE].value, rel=1e-3)
    assert times.stated_pot_life_min == pytest.approx(times.pot_life_min)
    assert times.demould_min == pytest.approx(material.figures[FigureName.DEMOULD].value, rel=1e-3)


@pytest.mark.parametrize("material", MIXED, ids=lambda one: one.id)
def test_thin_sections_never_demould_sooner_than_thick_ones(material: Material) -> None:
    """Common practice, no source: a thin casting demoulds later than the data sheet says, which means its block."""
    times = [
        cure_times(material, temperature_c=23, mass_g=200, section_mm=section).demould_min
        for section in (0.5, 1, 2, 3, 5, 10, 20, 40)
    ]
    assert all(thick <= thin * (1 + 1e-6) for thin, thick in pairwise(times))
    assert times[0] > material.figures[FigureName.DEMOULD].value


@MODEST
@given(material=st.sampled_from(MIXED), mass_g=st.floats(1, 20000), room_c=st.floats(16, 32))
def test_a_mix_is_never_hotter_than_its_whole_heat_makes_it(material: Material, mass_g: float, room_c: float) -> None:
    one = heat.set_off(material)
    peak_c = heat.peak_in_cup_c(one, mass_g=mass_g, room_c=room_c)
    assert room_c <= peak_c <= room_c + one.setting.rise_k


def test_a_second_mass_on_the_data_sheet_fits_the_heat_of_the_mix() -> None:
    base = shipped().get(RUBBER)
    own_min = base.figures[FigureName.POT_LIFE].value
    for second_min in (0.90 * own_min, 0.97 * own_min):
        second = Figure(value=second_min, origin=Origin.DATA_SHEET, temperature_c=23.0, mass_g=1000.0)
        sheet = replace(base, figures={**base.figures, FigureName.POT_LIFE_SECOND: second})
        assert pot_life_min(sheet, 1000) == pytest.approx(second_min, rel=1e-3)
        assert pot_life_min(sheet, 100) == pytest.approx(own_min, rel=1e-3)


def test_two_pot_lives_that_do_not_go_together_are_told_and_a_second_without_its_mass_is_refused() -> None:
    base = shipped().get(RUBBER)
    longer = Figure(value=60.0, origin=Origin.DATA_SHEET, temperature_c=23.0, mass_g=1000.0)
    odd = replace(base, figures={**base.figures, FigureName.POT_LIFE_SECOND: longer})
    assert "second-pot-life-off" in [one.code for one in mix_volume(odd, volume_ml=100).findings]
    fits = replace(longer, value=0.95 * base.figures[FigureName.POT_LIFE].value)
    good = replace(base, figures={**base.figures, FigureName.POT_LIFE_SECOND: fits})
    assert "second-pot-life-off" not in [one.code for one in mix_volume(good, volume_ml=100).findings]
    bare = replace(base, figures={**base.figures, FigureName.POT_LIFE_SECOND: replace(longer, mass_g=None)})
    with pytest.raises(BadRequest, match="second mass"):
        check_material(bare, source="bare.toml")


def test_a_slab_has_lost_all_but_1_over_e_of_its_heat_in_the_time_of_its_section() -> None:
    """Carslaw & Jaeger (from memory): a hot slab in its like keeps erf(x) − (1 − e^{−x²})/(x√π) of its heat."""
    x = 5.0 / (2 * math.sqrt(heat.SPREADING_MM2_S * 60 * heat.section_min(5.0)))
    kept = erf(x) - (1 - math.exp(-x * x)) / (x * math.sqrt(math.pi))
    assert kept == pytest.approx(math.exp(-1), abs=0.01)


def test_a_filler_lengthens_the_pot_life_and_cools_the_block() -> None:
    plastic = shipped().get("rigid-plastic-d75-slow")
    powder = [Additive(material=shipped().get("mineral-filler"), dose_ratio=1.0)]
    neat, filled = (cure_times(plastic, temperature_c=23, mass_g=500, additives=a) for a in ((), powder))
    assert filled.pot_life_min > 1.2 * neat.pot_life_min
    assert filled.peak_cup_c < neat.peak_cup_c - 40


def test_a_figure_measured_here_is_trusted_more_and_a_range_is_its_spread() -> None:
    base = shipped().get(FAST)
    spreads = []
    for origin in (Origin.MEASURED, Origin.DATA_SHEET, Origin.TYPICAL):
        figure = Figure(value=3.0, origin=origin, temperature_c=23.0, mass_g=100.0)
        own = replace(base, figures={**base.figures, FigureName.POT_LIFE: figure})
        spreads.append(pot_life_spread(own, temperature_c=23))
    assert spreads == sorted(spreads)
    assert 0.15 < spreads[-1] < 0.18
    wide = Figure(value=3.0, low=2.0, high=5.0, origin=Origin.TYPICAL, temperature_c=23.0, mass_g=100.0)
    ranged = replace(base, figures={**base.figures, FigureName.POT_LIFE: wide})
    assert pot_life_spread(ranged, temperature_c=23) > spreads[-1]
