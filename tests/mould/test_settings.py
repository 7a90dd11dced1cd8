"""Settings that cannot be meant are refused."""

from dataclasses import fields

import pytest

from firstpour.errors import BadRequest
from firstpour.mould.settings import BELOW, NEEDED, MouldMaterials, MouldSettings


@pytest.mark.parametrize("name", [field.name for field in fields(MouldSettings)])
@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_a_setting_that_is_negative_or_no_number_is_refused_with_a_remedy(name, value):
    with pytest.raises(BadRequest, match=name) as refused:
        MouldSettings(**{name: value})
    assert refused.value.remedy


def test_a_size_beyond_any_mould_is_refused_with_the_limit():
    with pytest.raises(BadRequest, match="wall_mm = 1000") as refused:
        MouldSettings(wall_mm=1000.0)
    assert "from 0 to 500" in refused.value.remedy


@pytest.mark.parametrize("name", NEEDED)
def test_a_figure_that_must_be_there_is_not_nothing(name):
    with pytest.raises(BadRequest, match=f"{name} is 0"):
        MouldSettings(**{name: 0.0})


def test_a_shrinkage_given_in_per_cent_is_caught():
    with pytest.raises(BadRequest, match=r"a shrinkage of 0\.4") as refused:
        MouldMaterials(casting_shrinkage_ratio=0.4)
    assert "0.4 % is 0.004" in refused.value.remedy


@pytest.mark.parametrize(("name", "bound"), BELOW.items())
def test_a_play_as_large_as_the_piece_itself_is_refused(name, bound):
    with pytest.raises(BadRequest, match=f"{name} is 4, but {bound} is 4") as refused:
        MouldSettings(**{name: 4.0, bound: 4.0})
    assert bound in refused.value.remedy
    assert getattr(MouldSettings(**{name: 3.9, bound: 4.0}), name) == 3.9


def test_a_chamfer_that_leaves_nothing_to_stand_on_is_refused():
    with pytest.raises(BadRequest, match=r"chamfer_mm is 30, but least_wall_mm is 1\.6"):
        MouldSettings(chamfer_mm=30.0)
