"""One function for how thick a mix is: filler, age and warmth."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import OutOfRange
from firstpour.formulas.thickness import filled_ratio
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import MIXED_KINDS, Material
from firstpour.mixing.clock import cure_times
from firstpour.mixing.viscosity import viscosity_pa_s
from shelf_samples import MODEST, shipped, worked_plastic

MIXED = shipped().of_kinds(MIXED_KINDS)


def test_little_filler_thickens_as_einstein_says() -> None:
    """Einstein (1906, 1911; from memory): 1 + 2.5 φ for few rigid spheres."""
    assert (filled_ratio(1e-4) - 1) / 1e-4 == pytest.approx(2.5, rel=1e-3)


def test_half_filled_is_what_the_batchelor_series_bounds_from_below() -> None:
    """Batchelor (1977; from memory): 1 + 2.5 φ + 6.2 φ² holds for little filler and is too low for much."""
    for share in (0.02, 0.05):
        assert filled_ratio(share) == pytest.approx(1 + 2.5 * share + 6.2 * share**2, rel=0.01)
    assert filled_ratio(0.5) > 1 + 2.5 * 0.5 + 6.2 * 0.25


@pytest.mark.parametrize("share", [-0.01, 0.62, math.nan])
def test_a_dough_does_not_pour(share: float) -> None:
    with pytest.raises(OutOfRange, match="filler"):
        filled_ratio(share)


@MODEST
@given(material=st.sampled_from(MIXED), room_c=st.floats(16, 32), age_min=st.floats(0, 30))
def test_warmer_is_thinner_older_is_thicker_and_the_end_of_the_pot_life_is_twice_as_thick(
    material: Material, room_c: float, age_min: float
) -> None:
    times = cure_times(material, temperature_c=23, mass_g=100)
    aged = {"thickening_min": times.thickening_min}
    fresh = viscosity_pa_s(material, temperature_c=23)
    assert fresh == pytest.approx(material.figures[FigureName.VISCOSITY].value)
    assert (viscosity_pa_s(material, temperature_c=room_c) <= fresh) is (room_c >= 23)
    assert viscosity_pa_s(material, temperature_c=23, age_min=age_min, **aged) >= fresh
    at_end = viscosity_pa_s(material, temperature_c=23, age_min=times.pot_life_min, **aged)
    assert at_end == pytest.approx(2 * fresh)


def test_a_heavy_filler_by_weight_is_counted_by_volume() -> None:
    """100 g of a plastic of 1.035573 g/ml with 100 g of a filler of 2.7 g/ml: 27.72 % by volume (by hand)."""
    plastic = worked_plastic()
    powder = [Additive(material=shipped().get("mineral-filler"), dose_ratio=1.0)]
    thickened = viscosity_pa_s(plastic, temperature_c=23, additives=powder) / viscosity_pa_s(
        plastic, temperature_c=23
    )
    assert thickened == pytest.approx(filled_ratio(0.2772), rel=1e-3)
