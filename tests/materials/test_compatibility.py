"""What may touch what, as the trade knows it: common practice, no source, unless a rule names one."""

import pytest

from firstpour.materials.cautions import cautions_for
from firstpour.materials.compatibility import Contact, Verdict, all_rules, judge, mould_life
from firstpour.materials.steps import step
from shelf_samples import shipped

ADDITION = "addition-silicone-a25-middling"
CONDENSATION = "condensation-silicone-a25-slow"


def verdict(first: str, second: str, contact: Contact = Contact.CURES_AGAINST) -> Verdict:
    catalogue = shipped()
    return judge(first=catalogue.get(first).traits, second=catalogue.get(second).traits, contact=contact).verdict


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (ADDITION, "sulphur-clay", Verdict.REFUSED),
        (ADDITION, CONDENSATION, Verdict.REFUSED),
        (ADDITION, "photopolymer-rigid", Verdict.WITH_STEP),
        (ADDITION, "flat-black-paint", Verdict.WITH_STEP),
        (ADDITION, "sulphur-free-clay", Verdict.WITH_STEP),
        (ADDITION, ADDITION, Verdict.WITH_STEP),
        (CONDENSATION, ADDITION, Verdict.WITH_STEP),
        (CONDENSATION, "photopolymer-rigid", Verdict.ALLOWED),
        (CONDENSATION, "sulphur-clay", Verdict.ALLOWED),
        ("flexible-silicone-a10-middling", ADDITION, Verdict.WITH_STEP),
        ("flexible-silicone-a10-middling", CONDENSATION, Verdict.REFUSED),
        ("rigid-plastic-d80-clear", CONDENSATION, Verdict.REFUSED),
        ("rigid-plastic-d80-clear", ADDITION, Verdict.WITH_STEP),
        ("flexible-rubber-a30-slow", "photopolymer-rigid", Verdict.WITH_STEP),
        ("flexible-rubber-a30-slow", "water-soluble-sealer", Verdict.WITH_STEP),
    ],
)
def test_what_cures_against_what(first: str, second: str, expected: Verdict) -> None:
    """Cure inhibition of platinum silicones: Lukin et al., Polymers 12 (2020) 2174 (from memory)."""
    assert verdict(first, second) is expected


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("flexible-rubber-a30-slow", "water-paint-colourant", Verdict.REFUSED),
        ("flexible-rubber-a30-slow", "silicone-softener", Verdict.REFUSED),
        ("flexible-rubber-a30-slow", "urethane-softener", Verdict.ALLOWED),
        (ADDITION, "urethane-colourant", Verdict.REFUSED),
        (ADDITION, "silicone-colourant", Verdict.ALLOWED),
        ("rigid-plastic-d75-middling", "hollow-sphere-filler", Verdict.WITH_STEP),
    ],
)
def test_what_is_mixed_into_what(first: str, second: str, expected: Verdict) -> None:
    assert verdict(first, second, Contact.MIXED_INTO) is expected


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("flexible-silicone-a10-middling", "flexible-paint", Verdict.REFUSED),
        ("flexible-rubber-a30-slow", "flat-black-paint", Verdict.REFUSED),
        ("flexible-rubber-a30-slow", "flexible-paint", Verdict.WITH_STEP),
        ("rigid-plastic-d75-middling", "flat-black-paint", Verdict.WITH_STEP),
    ],
)
def test_what_is_painted_on_what(first: str, second: str, expected: Verdict) -> None:
    assert verdict(first, second, Contact.PAINTED_ON) is expected


def test_a_photopolymer_master_is_washed_sealed_and_tried_in_this_order() -> None:
    judged = judge(
        first=shipped().get(ADDITION).traits, second=frozenset({"photopolymer"}), contact=Contact.CURES_AGAINST
    )
    assert [one.id for one in judged.steps] == ["wash", "dry-wash", "post-cure", "seal", "dry-sealer", "test-patch"]
    sealed = judge(
        first=shipped().get(ADDITION).traits,
        second=frozenset({"photopolymer", "sealed"}),
        contact=Contact.CURES_AGAINST,
    )
    assert [one.id for one in sealed.steps] == ["test-patch"]


def test_damp_and_open_surfaces_and_urethane() -> None:
    urethane = shipped().get("flexible-rubber-a30-slow").traits
    open_surface = judge(first=urethane, second=frozenset({"porous"}), contact=Contact.CURES_AGAINST)
    assert open_surface.verdict is Verdict.REFUSED
    damp = judge(first=urethane, second=frozenset({"damp", "sealed"}), contact=Contact.CURES_AGAINST)
    assert "dry-surface" in [one.id for one in damp.steps]


def test_where_nothing_is_known_a_test_patch_is_asked_for() -> None:
    judged = judge(first=frozenset({"x"}), second=frozenset({"y"}), contact=Contact.CURES_AGAINST)
    assert judged.verdict is Verdict.WITH_STEP
    assert [one.id for one in judged.steps] == ["test-patch"]


def test_a_refusal_asks_for_no_steps_and_says_what_else_to_do() -> None:
    judged = judge(
        first=shipped().get(ADDITION).traits,
        second=frozenset({"photopolymer", "contains sulphur"}),
        contact=Contact.CURES_AGAINST,
    )
    assert judged.verdict is Verdict.REFUSED
    assert judged.steps == ()
    assert "Sulphur" in judged.reason
    assert "without sulphur" in judged.remedy


def test_every_rule_can_fit_and_every_step_and_source_is_there() -> None:
    for rule in all_rules():
        for first in rule.first:
            for second in rule.second:
                judged = judge(first=frozenset({first}), second=frozenset({second}) | rule.also, contact=rule.contact)
                assert rule in judged.rules
        assert all((rule.reason, rule.remedy, rule.source))
        assert (rule.verdict is Verdict.WITH_STEP) == bool(rule.steps)
        for name in rule.steps:
            used = step(name).uses
            assert used is None or shipped().get(used)


def test_a_clear_plastic_wears_a_mould_sooner_than_a_rubber() -> None:
    silicone = shipped().get(ADDITION).traits
    clear = mould_life(casting=shipped().get("rigid-plastic-d80-clear").traits, silicone=silicone)
    rubber = mould_life(casting=shipped().get("flexible-rubber-a30-slow").traits, silicone=silicone)
    assert clear is not None
    assert rubber is not None
    assert clear.high < rubber.low
    assert mould_life(casting=frozenset({"x"}), silicone=silicone) is None


def test_isocyanates_come_with_limits_and_their_sources() -> None:
    """NIOSH and OSHA for MDI; EU directive 98/24/EC as amended 2024: 6 and 12 µg NCO/m³."""
    caution = next(c for c in cautions_for(shipped().get("flexible-rubber-a30-slow").traits) if c.id == "isocyanate")
    limits = {limit.what: limit.value for limit in caution.limits}
    assert limits["MDI, mean over a shift of up to 10 h"] == 0.05
    assert limits["MDI, ceiling"] == 0.2
    assert limits["all diisocyanates as NCO, mean over 8 h"] == 0.006
    assert all(limit.source for limit in caution.limits)


def test_every_material_that_can_hurt_has_a_caution() -> None:
    harmless = {"silicone-colourant", "urethane-colourant", "water-paint-colourant", "silicone-softener"}
    harmless |= {"urethane-softener", "brush-on-wax-release", "water-soluble-sealer", "flexible-paint"}
    harmless |= {"sulphur-clay", "sulphur-free-clay", "filament-flexible", "filament-rigid"}
    for material in shipped().materials.values():
        assert material.id in harmless or cautions_for(material.traits), material.id
