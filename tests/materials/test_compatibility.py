"""What may touch what, as the trade knows it: common practice, no source, unless a rule names one."""

from dataclasses import replace

import pytest

from firstpour.materials import compatibility
from firstpour.materials.compatibility import Contact, Rule, Verdict, all_rules, judge, mould_life, substances
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


def steps_of(first: str, *surface: str) -> list[str]:
    judged = judge(first=frozenset({first}), second=frozenset(surface), contact=Contact.CURES_AGAINST)
    return [one.id for one in judged.steps]


def test_a_photopolymer_master_is_washed_sealed_and_tried_in_this_order() -> None:
    whole = ["wash", "dry-wash", "post-cure", "seal", "dry-sealer", "test-patch"]
    assert steps_of("addition-cure silicone", "photopolymer") == whole
    washed = steps_of("addition-cure silicone", "photopolymer", "washed", "post-cured")
    assert washed == ["seal", "dry-sealer", "test-patch"]


@pytest.mark.parametrize("print_trait", ["photopolymer", "filament"])
@pytest.mark.parametrize("coats", [(), ("primed",), ("painted",), ("repair putty",), ("sealed",), ("waxed",)])
@pytest.mark.parametrize("state", [(), ("sanded",), ("washed", "post-cured", "sanded")])
def test_every_addition_cure_contact_with_a_print_or_a_coat_gets_a_test_patch(
    print_trait: str, coats: tuple[str, ...], state: tuple[str, ...]
) -> None:
    """A print that was painted with the usual steps once passed without any patch."""
    assert steps_of("addition-cure silicone", print_trait, *coats, *state)[-1] == "test-patch"
    for coat in coats:
        assert steps_of("addition-cure silicone", coat)[-1] == "test-patch"


def test_one_trait_that_is_allowed_does_not_speak_for_the_rest() -> None:
    """Sealed layers passed; that hid whatever else lay on the surface."""
    judged = judge(
        first=frozenset({"condensation-cure silicone"}),
        second=frozenset({"photopolymer", "glass", "porous", "flexible photopolymer"}),
        contact=Contact.CURES_AGAINST,
    )
    spoken = {trait for rule in judged.rules for trait in rule.second}
    assert {"photopolymer", "glass", "porous", "flexible photopolymer"} <= spoken
    assert [one.id for one in judged.steps] == ["seal", "dry-sealer", "test-patch", "release-print"]


def test_a_substance_without_a_rule_asks_for_a_patch_although_another_is_allowed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    table = compatibility._table()
    known = replace(table, substances=table.substances | {"beeswax and resin"})
    monkeypatch.setattr(compatibility, "_table", lambda: known)
    judged = judge(
        first=frozenset({"condensation-cure silicone"}),
        second=frozenset({"photopolymer", "beeswax and resin"}),
        contact=Contact.CURES_AGAINST,
    )
    assert judged.verdict is Verdict.WITH_STEP
    assert "beeswax and resin" in judged.reason
    assert [one.id for one in judged.steps] == ["test-patch"]


@pytest.mark.parametrize("first", ["addition-cure silicone", "condensation-cure silicone", "urethane"])
@pytest.mark.parametrize("trait", sorted(substances()))
def test_the_table_knows_every_substance_that_it_names(first: str, trait: str) -> None:
    for surface in ({trait}, {trait, "sealed"}):
        judged = judge(first=frozenset({first}), second=frozenset(surface), contact=Contact.CURES_AGAINST)
        assert all(rule.id != "no-rule" for rule in judged.rules), surface


@pytest.mark.parametrize("rule", [r for r in all_rules() if r.verdict is Verdict.REFUSED], ids=lambda r: r.id)
def test_a_refusal_lets_its_own_remedy_through(rule: Rule) -> None:
    """The amine rule told the maker to seal, and refused what was sealed."""
    for trait in rule.second:
        if "seal the" in rule.remedy.lower():
            for first in rule.first:
                sealed = frozenset({trait, "sealed"})
                judged = judge(first=frozenset({first}), second=sealed, contact=rule.contact)
                assert judged.verdict is Verdict.WITH_STEP
        if "condensation-cure silicone" in rule.remedy:
            other = frozenset({"condensation-cure silicone"})
            judged = judge(first=other, second=frozenset({trait}), contact=rule.contact)
            assert judged.verdict is not Verdict.REFUSED


@pytest.mark.parametrize(
    ("first", "surface", "expected"),
    [
        ("addition-cure silicone", "epoxy", Verdict.REFUSED),
        ("addition-cure silicone", "amine putty", Verdict.REFUSED),
        ("addition-cure silicone", "masking tape", Verdict.REFUSED),
        ("addition-cure silicone", "PVC", Verdict.REFUSED),
        ("addition-cure silicone", "latex", Verdict.REFUSED),
        ("addition-cure silicone", "flexible photopolymer", Verdict.REFUSED),
        ("addition-cure silicone", "urethane", Verdict.WITH_STEP),
        ("addition-cure silicone", "glass", Verdict.WITH_STEP),
        ("condensation-cure silicone", "epoxy", Verdict.ALLOWED),
        ("condensation-cure silicone", "glass", Verdict.WITH_STEP),
    ],
)
def test_what_else_lies_about_a_workshop(first: str, surface: str, expected: Verdict) -> None:
    """Inhibitors of an addition cure (N, P, As, S; Sn, Pb, Hg): Catalysts 5 (2015) 145; the rest common practice."""
    judged = judge(first=frozenset({first}), second=frozenset({surface}), contact=Contact.CURES_AGAINST)
    assert judged.verdict is expected


def test_a_condensation_mould_is_aired_before_any_urethane_and_an_addition_mould_baked_before_a_clear_one() -> None:
    """Common practice, no source."""
    assert "air-mould" in steps_of("urethane", "condensation-cure silicone")
    assert step("air-mould").wait_min == 24 * 60
    assert "air-mould" not in steps_of("urethane", "addition-cure silicone")
    assert "post-bake" in steps_of("clear", "addition-cure silicone")
    assert "post-bake" not in steps_of("urethane", "addition-cure silicone")


def test_a_mould_for_the_pressure_pot_cures_under_pressure_and_the_copy_stays_in_it() -> None:
    """Common practice, no source."""
    assert {"pot-cure", "pot-hold"} <= set(steps_of("sets under pressure", "addition-cure silicone"))


def test_a_silicone_copy_has_release_at_every_pour() -> None:
    judged = judge(
        first=shipped().get("flexible-silicone-a10-middling").traits,
        second=shipped().get(ADDITION).traits,
        contact=Contact.CURES_AGAINST,
    )
    assert [one.id for one in judged.steps] == ["release-silicone-copy"]
    assert all(one.each_pour for one in judged.steps)


@pytest.mark.parametrize(
    ("first", "held"),
    [
        ("addition-cure silicone", "latex"),
        ("contains isocyanate", "latex"),
        ("contains isocyanate", "dust mask"),
        ("addition-cure silicone", "used with tin"),
        ("urethane", "holds water"),
        ("spray", "open flame"),
        ("silicone-free release", "open flame"),
    ],
)
def test_what_is_worn_held_or_near(first: str, held: str) -> None:
    """Common practice, no source; latex and tin: Catalysts 5 (2015) 145."""
    judged = judge(first=frozenset({first}), second=frozenset({held}), contact=Contact.HANDLED_WITH)
    assert judged.verdict is Verdict.REFUSED
    assert judged.remedy


def test_paint_that_stays_tacky_on_soft_rubber_is_told() -> None:
    judged = judge(
        first=frozenset({"flexible casting rubber"}), second=frozenset({"solvent paint"}), contact=Contact.PAINTED_ON
    )
    assert "tacky" in judged.reason


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
    assert "photopolymer" not in judged.reason


def test_every_rule_can_fit_and_every_step_and_source_is_there() -> None:
    for rule in all_rules():
        for first in rule.first:
            for second in rule.second:
                judged = judge(first=frozenset({first}), second=frozenset({second}) | rule.also, contact=rule.contact)
                assert rule in judged.rules
        assert all((rule.reason, rule.remedy, rule.source))
        assert (rule.verdict is Verdict.WITH_STEP) == bool(rule.steps)
        assert not rule.also & rule.lacks
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
