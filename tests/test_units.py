"""Quantities as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.units import FACTORS, converted, quantity
from shelf_samples import MODEST


@pytest.mark.parametrize(
    ("text", "to", "value"),
    [
        ("90 min", "min", 90),
        ("1.5 h", "min", 90),
        (".5h", "min", 30),
        ("1 lb", "g", 453.59237),
        ("2.2e3 mPa s", "Pa s", 2.2),
        ("1050 kg/m3", "g/ml", 1.05),
        ("145.0377 psi", "MPa", 1.0),
        ("0.4 %", "ratio", 0.004),
        ("73.4 °F", "°C", 23),
        ("296.15 K", "°C", 23),
        ("6 months", "d", 180),
    ],
)
def test_a_quantity_is_turned_into_our_unit(text: str, to: str, value: float) -> None:
    """Pound: exact by the agreement of 1959; psi from memory."""
    assert quantity(text, to=to) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(("text", "to"), [("12 furlongs", "min"), ("3 kg", "ml"), ("soon", "min"), ("9 °R", "°C")])
def test_an_unknown_unit_or_no_number_is_refused_with_the_choices(text: str, to: str) -> None:
    with pytest.raises(BadRequest) as caught:
        quantity(text, to=to)
    assert caught.value.remedy


@MODEST
@given(value=st.floats(1e-6, 1e6), to=st.sampled_from(sorted(FACTORS)))
def test_our_own_unit_changes_nothing(value: float, to: str) -> None:
    assert converted(value, unit=to, to=to) == value


def test_no_finite_number_is_refused() -> None:
    with pytest.raises(BadRequest, match="finite"):
        converted(float("inf"), unit="g", to="g")
