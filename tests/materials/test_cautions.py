"""Cautions: complete for every class shipped, with limits, the days on which they hold, and their sources."""

from datetime import date, timedelta

import pytest

from firstpour.files.catalogue import shipped_materials
from firstpour.materials.cautions import Caution, ExposureLimit, cautions_for
from firstpour.materials.material import Kind, Material
from shelf_samples import shipped


def caution(material_id: str, caution_id: str) -> Caution:
    return next(c for c in cautions_for(shipped().get(material_id).traits) if c.id == caution_id)


def on(day: date, limits: tuple[ExposureLimit, ...], what: str) -> list[float]:
    """What holds on a day, in µg/m³."""
    return [
        round(1000 * limit.value)
        for limit in limits
        if limit.what.endswith(what) and (limit.since or day) <= day <= (limit.until or day)
    ]


def test_limits_of_diisocyanates_change_on_the_day_of_the_directive() -> None:
    """Directive (EU) 2024/869: 6 and 12 µg NCO/m³; 10 and 20 until 31 December 2028."""
    limits = caution("flexible-rubber-a30-slow", "isocyanate").limits
    last = date(2028, 12, 31)
    assert (on(last, limits, "8 h"), on(last, limits, "short term")) == ([10], [20])
    after = last + timedelta(days=1)
    assert (on(after, limits, "8 h"), on(after, limits, "short term")) == ([6], [12])
    assert "until 2028-12-31" in str(limits[0])


def test_aromatic_and_aliphatic_isocyanates_have_their_own_limits() -> None:
    """MDI: NIOSH REL 0.05, ceiling 0.2 mg/m³; OSHA 0.2 ceiling. Aliphatic ones from memory."""
    aromatic = {
        limit.what: limit.value for limit in caution("rigid-plastic-d75-middling", "aromatic-isocyanate").limits
    }
    assert aromatic["MDI, mean over a shift of up to 10 h"] == 0.05
    assert aromatic["MDI, ceiling"] == aromatic["MDI, ceiling over 10 min"] == 0.2
    clear = {one.id for one in cautions_for(shipped().get("rigid-plastic-d80-clear").traits)}
    assert "aliphatic-isocyanate" in clear
    assert "aromatic-isocyanate" not in clear
    assert any(
        limit.what.startswith("HDI") for limit in caution("rigid-plastic-d80-clear", "aliphatic-isocyanate").limits
    )


def test_limits_given_both_ways_agree() -> None:
    """mg/m³ = ppm · M / 24.45, to the rounding of the tables."""
    both = [
        limit
        for material in shipped_materials()
        for one in cautions_for(material.traits)
        for limit in one.limits
        if limit.ppm is not None
    ]
    assert len({limit.what for limit in both}) >= 6
    for limit in both:
        assert limit.molar_mass_g_mol is not None
        turned = (limit.ppm or 0.0) * limit.molar_mass_g_mol / 24.45  # l/mol at 25 °C: NIOSH Pocket Guide
        assert limit.value == pytest.approx(turned, rel=0.04)


@pytest.mark.parametrize("material", shipped_materials(), ids=lambda m: m.id)
def test_no_material_goes_without_a_caution(material: Material) -> None:
    found = cautions_for(material.traits)
    assert found
    assert all(one.text and one.source for one in found)
    assert all(limit.source for one in found for limit in one.limits)


@pytest.mark.parametrize("kind", list(Kind))
def test_no_class_goes_without_a_caution(kind: Kind) -> None:
    """A record of the user's own with no more traits than its kind."""
    assert cautions_for({kind.value})


def test_a_withdrawn_standard_is_called_withdrawn() -> None:
    """ASTM D2471 was withdrawn in 2008 (from memory)."""
    for material in shipped_materials():
        for one in cautions_for(material.traits):
            assert "D2471" not in one.source or "withdrawn" in one.source
