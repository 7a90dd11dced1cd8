"""Hardness against printed values. R: recomputed; from memory where it says so."""

import pytest

from firstpour.errors import OutOfRange
from firstpour.formulas import hardness

GENT_1958_MPA = {
    10: 0.4127,
    20: 0.7319,
    30: 1.1424,
    40: 1.6896,
    50: 2.4558,
    60: 3.6051,
    70: 5.5205,
    80: 9.3514,
}
"""Gent, Rubber Chem. Technol. 31 (1958) 896, recomputed from the printed formula."""

DUROMETER_A_N = {0: 0.550, 60: 5.05, 100: 8.05}
"""Spring force of the type A gauge, ASTM D2240 / ISO 48-4: 0.550 + 0.075 HA in N (from memory)."""


@pytest.mark.parametrize(("shore_a", "modulus_mpa"), GENT_1958_MPA.items())
def test_gents_modulus_is_the_printed_one(shore_a: int, modulus_mpa: float) -> None:
    assert hardness.gent_modulus_mpa(shore_a) == pytest.approx(modulus_mpa, abs=5e-5)


@pytest.mark.parametrize("shore_a", range(11, 80))
def test_gents_modulus_turns_back_to_its_hardness(shore_a: int) -> None:
    assert hardness.gent_shore_a(hardness.gent_modulus_mpa(shore_a)) == pytest.approx(shore_a)


@pytest.mark.parametrize("shore_a", [10, 60, 80])
def test_gents_numerator_is_the_spring_force_of_the_standard(shore_a: int) -> None:
    """Gent's formula divides the spring's force by the indentation: 56 + 7.62336 S grams-force against ASTM D2240."""
    denominator = 0.137505 * (254 - 2.54 * shore_a)
    force_n = hardness.gent_modulus_mpa(shore_a) * denominator / 10
    assert force_n == pytest.approx(0.550 + 0.075 * shore_a, rel=0.005)


@pytest.mark.parametrize(("points", "modulus_mpa"), [(30, 1.161), (50, 3.425), (60, 5.884)])
def test_the_logarithmic_relation_takes_powers_of_ten(points: float, modulus_mpa: float) -> None:
    """log10 E = 0.0235 S − 0.6403 (Qi, Joyce & Boyce 2003, from memory), recomputed."""
    assert hardness.log_modulus_mpa(points) == pytest.approx(modulus_mpa, abs=5e-4)


@pytest.mark.parametrize(("modulus_mpa", "irhd"), [(1, 30.2), (2, 46.4), (2.31, 50.0), (5, 68.4)])
def test_irhd_is_that_of_the_standard(modulus_mpa: float, irhd: float) -> None:
    """ISO 48-2 (from memory)."""
    assert hardness.modulus_from_irhd(irhd) == pytest.approx(modulus_mpa, rel=0.004)


@pytest.mark.parametrize("shore_a", range(30, 71, 5))
def test_gent_and_the_irhd_curve_agree_within_four_points(shore_a: int) -> None:
    softer, harder = (hardness.modulus_from_irhd(shore_a + off) for off in (-4, 4))
    assert softer <= hardness.gent_modulus_mpa(shore_a) <= harder


def test_the_two_moduli_differ_by_1_6_at_a_60() -> None:
    ratio = hardness.log_modulus_mpa(60) / hardness.gent_modulus_mpa(60)
    assert ratio == pytest.approx(1.63, abs=0.01)


@pytest.mark.parametrize(("shore_a", "shore_d"), [(100, 58), (95, 46), (85, 33), (70, 22), (50, 12)])
def test_the_overlap_chart_is_read_at_its_points(shore_a: float, shore_d: float) -> None:
    """A common overlap chart (from memory)."""
    assert hardness.shore_d_from_shore_a(shore_a) == shore_d
    assert hardness.shore_a_from_shore_d(shore_d) == shore_a


def test_the_overlap_chart_rises_and_turns_back() -> None:
    shore_d = [hardness.shore_d_from_shore_a(a) for a in range(50, 101)]
    assert shore_d == sorted(shore_d)
    for shore_a in range(50, 101):
        back = hardness.shore_a_from_shore_d(hardness.shore_d_from_shore_a(shore_a))
        assert back == pytest.approx(shore_a)


@pytest.mark.parametrize(
    ("formula", "value"),
    [
        (hardness.gent_modulus_mpa, 9.9),
        (hardness.gent_modulus_mpa, 80.1),
        (hardness.gent_shore_a, 0.1),
        (hardness.log_modulus_mpa, 19),
        (hardness.log_modulus_mpa, 136),
        (hardness.modulus_from_irhd, 99),
        (hardness.shore_d_from_shore_a, 45),
        (hardness.shore_a_from_shore_d, 70),
        (hardness.shore_d_from_shore_a, float("nan")),
    ],
)
def test_outside_its_limits_a_formula_refuses(formula: object, value: float) -> None:
    with pytest.raises(OutOfRange) as caught:
        formula(value)  # type: ignore[operator]
    assert caught.value.remedy
