"""What the mould is told of its materials: each figure from where it must come, by hand."""

from types import SimpleNamespace as Some

import pytest

from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldMaterials
from firstpour.plan import poured
from firstpour.plan.poured import Poured, poured_of

PART = PartRequest(name="part")
SILICONE, RESIN = Some(material="silicone", additives=()), Some(material="resin", additives=())


@pytest.fixture(autouse=True)
def known(monkeypatch):
    """Materials of which the figures are known."""
    shrinkage = {"silicone": 0.004, "resin": 0.01}
    monkeypatch.setattr(poured, "shrinkage_with", lambda material, _: shrinkage[material])
    monkeypatch.setattr(poured, "mix_density_g_ml", lambda _: 1.23)
    monkeypatch.setattr(poured, "mix_of", lambda material, _: f"{material} as mixed")
    monkeypatch.setattr(poured, "liquid_of", lambda material, _fit, **_: f"{material} as poured")


def trial(left_min):
    return Some(material="resin", additives=(), fit=Some(left_for_pour_min=left_min))


def test_both_materials_give_their_shrinkage_and_the_silicone_its_weight():
    said = poured_of(PART, Some(silicone=SILICONE, casting=RESIN), None, None)
    assert said.materials == MouldMaterials(
        silicone_shrinkage_ratio=0.004, casting_shrinkage_ratio=0.01, silicone_g_ml=1.23
    )
    assert said.findings == ()
    assert (said.mix, said.silicone_bubble_mm) == ("resin as mixed", None)


def test_where_one_material_is_missing_the_other_still_counts_and_the_missing_one_is_told():
    said = poured_of(PART, Some(silicone=SILICONE, casting=None), None, None)
    assert (said.materials.silicone_shrinkage_ratio, said.materials.silicone_g_ml) == (0.004, 1.23)
    assert said.materials.casting_shrinkage_ratio == MouldMaterials().casting_shrinkage_ratio
    (finding,) = said.findings
    typical = f"{100 * MouldMaterials().casting_shrinkage_ratio:g} % for the casting material"
    assert finding.what.endswith(f"typical ones, {typical}")
    assert poured_of(PART, Some(silicone=None, casting=RESIN), None, None).materials == MouldMaterials(
        casting_shrinkage_ratio=0.01
    )


def test_what_the_maker_measured_goes_before_the_material():
    own = PartRequest(name="part", silicone_shrinkage_ratio=0.0, casting_shrinkage_ratio=0.02)
    said = poured_of(own, Some(silicone=SILICONE, casting=RESIN), None, None)
    assert (said.materials.silicone_shrinkage_ratio, said.materials.casting_shrinkage_ratio) == (0.0, 0.02)
    assert said.materials.silicone_g_ml == 1.23


@pytest.mark.parametrize(("left_min", "left_s"), [(10.0, 600.0), (0.5, 30.0), (0.05, 6.0), (-3.0, 6.0)])
def test_the_flow_has_the_rest_of_the_pot_life_in_seconds_and_a_tenth_of_a_minute_at_the_least(left_min, left_s):
    said = poured_of(PART, None, trial(left_min), None)
    assert (said.liquid, said.time_left_s) == ("resin as poured", pytest.approx(left_s))


def test_without_a_material_tried_nothing_flows():
    said = poured_of(PART, None, None, None)
    assert (said.liquid, said.time_left_s, said.mix, said.silicone_bubble_mm) == (None, 0.0, None, None)
    assert Poured(materials=MouldMaterials()).time_left_s == 0.0


def test_how_small_the_bubbles_are_that_stay_is_that_of_the_silicone_tried():
    tried = Some(bubble_mm=0.4)
    assert poured_of(PART, Some(silicone=SILICONE, casting=None), None, tried).silicone_bubble_mm == 0.4
