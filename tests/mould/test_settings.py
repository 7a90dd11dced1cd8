"""Settings that cannot be meant are refused."""

from dataclasses import fields

import pytest

from firstpour.errors import BadRequest
from firstpour.mould.settings import MouldSettings


@pytest.mark.parametrize("name", [field.name for field in fields(MouldSettings)])
@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_a_setting_that_is_negative_or_no_number_is_refused_with_a_remedy(name, value):
    with pytest.raises(BadRequest, match=name) as refused:
        MouldSettings(**{name: value})
    assert refused.value.remedy


@pytest.mark.parametrize(
    "name", ["wall_mm", "key_radius_mm", "floor_mm", "gate_radius_mm", "vent_radius_mm", "wall_give_mm"]
)
def test_a_length_that_must_be_there_is_not_nothing(name):
    with pytest.raises(BadRequest, match=f"{name} is 0"):
        MouldSettings(**{name: 0.0})


def test_a_shrinkage_given_in_per_cent_is_caught():
    with pytest.raises(BadRequest, match="a fifth or more") as refused:
        MouldSettings(casting_shrinkage_ratio=0.4)
    assert "0.4 % is 0.004" in refused.value.remedy
