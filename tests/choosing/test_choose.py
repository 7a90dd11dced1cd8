"""The choice of materials for a whole job."""

import json
from collections.abc import Sequence
from dataclasses import replace

import pytest

from firstpour.choosing.choice import PartChoice, ShelfPlan
from firstpour.choosing.decide import decide_materials
from firstpour.choosing.need import PartNeed
from firstpour.choosing.provide import provide_materials
from firstpour.errors import BadRequest, UnknownMaterial
from firstpour.files.material_entries import part_choice_entry, stock_line_entry
from firstpour.materials.compatibility import Verdict
from firstpour.materials.material import CASTING_KINDS, SILICONES
from firstpour.mixing.bench_kit import Pace
from firstpour.mixing.pour_steps import PourStepName
from firstpour.printing.estimate import post_steps
from firstpour.printing.printers import Process
from firstpour.stock.demo_stock import demo_stock
from firstpour.values import Severity
from firstpour.workshop.equipment import Bench, Equipment, PressurePot, Room, VacuumChamber
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, pack, shipped

STAR = PartNeed(
    name="sea star",
    pieces_ml={"upper": 260, "lower": 210},
    casting_ml=62,
    copies=6,
    hardness="A 30",
    master=Process.VAT,
    colourant_ratio=0.01,
    thinnest_mm=6,
    reach_mm=35,
)
LIMPET = PartNeed(
    name="limpet",
    pieces_ml={"upper": 150, "lower": 120},
    casting_ml=25,
    copies=12,
    hardness="rigid",
    master=Process.VAT,
    moulds=2,
)
RING = PartNeed(
    name="porthole ring",
    pieces_ml={"upper": 300, "lower": 300},
    casting_ml=70,
    copies=4,
    hardness="A 40",
    master=Process.FILAMENT,
    serial_pours=2,
)
BOLLARD = PartNeed(
    name="bollard",
    pieces_ml={"upper": 350, "lower": 350},
    casting_ml=140,
    copies=4,
    hardness="D 70",
    master=Process.FILAMENT,
    stretch_ratio=0.6,
)
SHELF = Workshop(catalogue=shipped(), stock=demo_stock(today=TODAY), today=TODAY)
BARE = replace(SHELF, stock=())


def in_room(workshop: Workshop, temperature_c: float, *, by_hour_c: tuple[float, ...] = ()) -> Workshop:
    room = Room(temperature_c=temperature_c, by_hour_c=by_hour_c)
    return replace(workshop, equipment=replace(workshop.equipment, room=room))


def choose_materials(needs: Sequence[PartNeed], workshop: Workshop) -> ShelfPlan:
    return provide_materials(needs, decide_materials(needs, workshop), workshop)


def choose_for_part(need: PartNeed, workshop: Workshop) -> PartChoice:
    return choose_materials([need], workshop).parts[0]


@pytest.fixture(scope="module")
def demo() -> ShelfPlan:
    return choose_materials([STAR, LIMPET, RING, BOLLARD], SHELF)


def codes(part: PartChoice) -> set[str]:
    return {finding.code for finding in part.findings}


def test_every_demo_part_has_materials_masses_steps_and_pours_in_three_rooms(demo: ShelfPlan) -> None:
    for part in demo.parts:
        assert part.silicone is not None
        assert part.silicone.material.kind in SILICONES
        assert part.casting is not None
        assert part.casting.material.kind in CASTING_KINDS
        for chosen in (part.silicone, part.casting):
            assert len(chosen.why) >= 4
            assert chosen.steps
            assert all(mix.mix.part_a_g > 0 and mix.mix.part_b_g > 0 for mix in chosen.mixes)
            assert [pour.fit.temperature_c for pour in chosen.pours] == [18, 23, 28]
        assert all(finding.severity is not Severity.ERROR for finding in part.findings)
        assert part.cautions


def test_the_feel_decides_the_casting_material(demo: ShelfPlan) -> None:
    chosen = [part.casting.material.id for part in demo.parts if part.casting is not None]
    assert chosen == [
        "flexible-rubber-a30-slow",
        "rigid-plastic-d75-middling",
        "flexible-rubber-a40-middling",
        "rigid-plastic-d75-middling",
    ]


def test_a_vat_master_is_sealed_before_addition_cure_silicone_and_both_halves_have_release(demo: ShelfPlan) -> None:
    star, ring = demo.parts[0], demo.parts[2]
    assert star.silicone is not None
    assert [step.step.id for step in star.silicone.steps] == [
        "wash",
        "dry-wash",
        "post-cure",
        "seal",
        "dry-sealer",
        "test-patch",
    ]
    assert star.silicone.steps[-1].step.wait_min == star.silicone.demould_min
    assert ring.silicone is not None
    assert "release-silicone" in [step.step.id for step in ring.silicone.steps]
    assert {"step-first", "typical-figures"} <= codes(star)


def test_what_one_part_uses_up_is_not_there_for_the_next() -> None:
    stock = (pack(1, "rigid-plastic-d75-middling", 450, 405),)
    workshop = replace(SHELF, stock=stock)
    need = replace(BOLLARD, casting="rigid-plastic-d75-middling")
    plan = choose_materials([need, replace(need, name="second")], workshop)
    first, second = (
        next(line for line in part.stock if line.material_id == "rigid-plastic-d75-middling") for part in plan.parts
    )
    assert first.enough
    assert not second.enough
    assert second.have.a_g == pytest.approx(450 - first.need.a_g)
    whole = next(line for line in plan.stock if line.material_id == "rigid-plastic-d75-middling")
    assert whole.need.a_g == pytest.approx(first.need.a_g + second.need.a_g)
    assert not whole.enough
    assert whole.buy is not None
    assert "buy" in {finding.code for finding in plan.findings}


def test_an_empty_shelf_is_bought_with_what_the_steps_use() -> None:
    part = choose_for_part(replace(STAR, silicone="addition-silicone-a25-middling"), BARE)
    assert not any(line.enough for line in part.stock)
    assert "buy" in codes(part)
    assert {"clear-acrylic-sealer", "silicone-spray-release"} <= {line.material_id for line in part.stock}


def test_what_is_on_the_shelf_goes_before_what_is_sooner() -> None:
    stock = (pack(1, "addition-silicone-a30-slow", 5000, 500),)
    with_slow = choose_for_part(LIMPET, replace(SHELF, stock=stock))
    without = choose_for_part(LIMPET, BARE)
    assert with_slow.silicone is not None
    assert with_slow.silicone.material.id == "addition-silicone-a30-slow"
    assert without.silicone is not None
    assert without.silicone.ready_min < with_slow.silicone.ready_min


def test_a_surface_with_sulphur_leaves_only_condensation_cure() -> None:
    part = choose_for_part(replace(RING, surface=frozenset({"contains sulphur"})), SHELF)
    assert part.silicone is not None
    assert part.silicone.material.kind.value == "condensation-cure silicone"
    reasons = {one.material_id: one.reason for one in part.silicone.rejected}
    assert "Sulphur" in reasons["addition-silicone-a25-middling"]


def test_a_clear_copy_takes_the_clear_plastic_and_no_tin_mould() -> None:
    part = choose_for_part(replace(BOLLARD, hardness="D 80", clear=True), SHELF)
    assert part.casting is not None
    assert part.casting.material.id == "rigid-plastic-d80-clear"
    assert part.silicone is not None
    assert part.silicone.material.kind.value == "addition-cure silicone"
    assert all(one.reason for one in part.silicone.rejected if one.material_id.startswith("condensation"))


def test_an_undercut_beyond_the_stretch_of_every_silicone_is_an_error() -> None:
    part = choose_for_part(replace(BOLLARD, stretch_ratio=3.0), SHELF)
    assert part.silicone is None
    assert [f.severity for f in part.findings if f.code == "no-silicone"] == [Severity.ERROR]


def test_a_feel_that_nothing_reaches_is_an_error_with_the_nearest_named() -> None:
    part = choose_for_part(replace(STAR, hardness="D 99"), SHELF)
    assert part.casting is None
    told = next(f for f in part.findings if f.code == "no-casting-material")
    assert told.what.index("rigid-plastic-d80-clear") < told.what.index("rigid-plastic-d75")
    assert "another hardness" in told.remedy


def test_a_feel_between_two_rubbers_is_reached_with_a_softener() -> None:
    only = replace(
        shipped(),
        materials={
            key: one
            for key, one in shipped().materials.items()
            if one.kind not in CASTING_KINDS or key == "flexible-rubber-a40-middling"
        },
    )
    part = choose_for_part(STAR, replace(SHELF, catalogue=only))
    assert part.casting is not None
    assert [one.material.id for one in part.casting.additives] == ["urethane-softener", "urethane-colourant"]
    assert "softener" in " ".join(part.casting.why).lower()
    assert {line.material_id for line in part.stock} >= {"urethane-softener", "urethane-colourant"}


def test_a_pour_that_does_not_fit_is_a_warning_here_and_a_note_elsewhere() -> None:
    need = replace(BOLLARD, casting="rigid-plastic-d70-fast", moulds=3, copies=6)
    part = choose_for_part(need, replace(SHELF, equipment=Equipment(bench=Bench(pace=Pace.UNHURRIED))))
    short = [finding for finding in part.findings if finding.code == "pot-life-short"]
    severities = {finding.what[:8]: finding.severity for finding in short}
    assert severities["At 23 °C"] is Severity.WARNING
    assert severities["At 28 °C"] is Severity.INFO
    assert all(finding.remedy for finding in short)


def test_a_paint_that_will_not_hold_turns_the_material_down() -> None:
    part = choose_for_part(replace(STAR, paint="flat-black-paint"), SHELF)
    assert part.casting is None
    flexible = choose_for_part(replace(STAR, paint="flexible-paint"), SHELF)
    assert flexible.casting is not None
    steps = [step.step.id for step in flexible.casting.steps]
    assert "wash-copy" in steps
    assert "release-paintable" in steps
    assert "release-mould" not in steps


def test_more_shots_than_a_mould_gives_ask_for_more_moulds() -> None:
    part = choose_for_part(replace(LIMPET, copies=90, moulds=1), SHELF)
    assert "mould-wears-out" in codes(part)
    assert part.mould_life is not None
    assert part.pours > 90
    assert "mould-wears-out" not in codes(choose_for_part(LIMPET, SHELF))


def test_a_room_outside_the_data_turns_every_material_down() -> None:
    part = choose_for_part(STAR, in_room(SHELF, 8.0))
    assert part.silicone is None
    assert part.casting is None
    told = next(f for f in part.findings if f.code == "no-casting-material")
    assert "8 °C" in told.what
    assert "bring the room" in told.remedy


def test_another_room_outside_the_data_is_only_noted() -> None:
    part = choose_for_part(STAR, in_room(SHELF, 23.0, by_hour_c=(10.0, *23 * (23.0,))))
    assert [f.severity for f in part.findings if f.code == "room-outside"] == [Severity.INFO, Severity.INFO]


def test_a_sealed_master_needs_only_the_test_patch() -> None:
    sealed = choose_for_part(replace(STAR, surface=frozenset({"sealed"})), SHELF)
    assert sealed.silicone is not None
    assert [step.step.id for step in sealed.silicone.steps] == ["test-patch"]


def test_a_material_that_the_user_fixed_is_taken_or_refused_with_the_reason() -> None:
    fixed = choose_for_part(replace(STAR, silicone="addition-silicone-a40-middling"), SHELF)
    assert fixed.silicone is not None
    assert fixed.silicone.material.id == "addition-silicone-a40-middling"
    wrong = choose_for_part(replace(STAR, silicone="filament-rigid"), SHELF)
    assert wrong.silicone is None
    assert "no silicone for a mould" in next(f.what for f in wrong.findings if f.code == "no-silicone")
    with pytest.raises(UnknownMaterial):
        choose_for_part(replace(STAR, casting="unobtainium"), SHELF)


@pytest.mark.parametrize(
    "wrong",
    [{"casting_ml": 0.0}, {"pieces_ml": {}}, {"pieces_ml": {"upper": -1.0}}, {"copies": 0}, {"moulds": 0}],
)
def test_a_need_that_cannot_be_meant_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(BadRequest):
        replace(STAR, **wrong)  # type: ignore[arg-type]


def test_the_whole_answer_is_plain_json_without_empty_figures(demo: ShelfPlan) -> None:
    entries = [part_choice_entry(one) for one in demo.parts], [stock_line_entry(line) for line in demo.stock]
    tables = [[one.model_dump(mode="json") for one in some] for some in entries]
    (part, *_), stock = json.loads(json.dumps(tables, allow_nan=False))
    assert {line["material"] for line in stock} == {line.material_id for line in demo.stock}
    assert part["silicone"]["mixes"][0]["part_a_g"] > 100
    assert part["casting"]["pours"][1]["fits"] is True
    assert part["stiffness"]["estimate"] is True
    assert part["cautions"][0]["text"].startswith("The data sheet")
    assert Verdict.REFUSED.value not in json.dumps(part["silicone"]["steps"])


def test_the_margin_of_the_pour_goes_before_what_is_ready_soonest() -> None:
    """In a cool room a six-minute silicone fits, but leaves no room for a mishap; a slower one stands in front."""
    cool = in_room(BARE, 17.0)
    part = choose_for_part(LIMPET, cool)
    assert part.silicone is not None
    pour = next(pour.fit for pour in part.silicone.pours if pour.fit.temperature_c == 17.0)
    assert pour.times is not None
    assert pour.times.pot_life_min >= 2 * pour.work_min
    slow = choose_for_part(replace(LIMPET, due_min=1.0), cool)
    assert slow.silicone is not None
    assert slow.silicone.material.id == part.silicone.material.id  # late either way: the margin decides again


def test_a_date_that_presses_goes_before_the_margin() -> None:
    cool = in_room(BARE, 21.0)
    done = post_steps(process=Process.VAT, step_mm=0.01, show_area_mm2=3000.0, support_mm2=0.0)
    need = replace(LIMPET, pieces_ml={"upper": 30, "lower": 30}, copies=2, master_steps=done)
    calm = decide_materials([need], cool).parts[0]
    assert calm.silicone is not None
    soonest = choose_for_part(replace(need, silicone="addition-silicone-a20-fast"), cool)
    assert soonest.silicone is not None
    assert soonest.casting is not None
    due_min = soonest.silicone.ready_min + soonest.casting.ready_min + 1.0
    pressed = decide_materials([replace(need, due_min=due_min)], cool).parts[0]
    assert pressed.silicone is not None
    assert pressed.silicone.material.id == "addition-silicone-a20-fast" != calm.silicone.material.id


def test_what_was_decided_is_provided_for_other_volumes_without_deciding_anew() -> None:
    """With twice the volume another silicone would win on this shelf; the one decided on stays, and is bought."""
    stock = (pack(1, "addition-silicone-a25-middling", 200, 200),)
    workshop = replace(SHELF, stock=stock)
    small = replace(LIMPET, pieces_ml={"upper": 80, "lower": 80})
    decisions = decide_materials([small], replace(workshop, catalogue=shipped()))
    assert decisions.of("limpet").silicone is not None
    large = replace(small, pieces_ml={"upper": 400, "lower": 400}, moulds=1)
    plan = provide_materials([large], decisions, workshop)
    silicone = plan.parts[0].silicone
    assert silicone is not None
    assert silicone.material.id == decisions.of("limpet").silicone.material.id  # type: ignore[union-attr]
    assert sum(mix.mix.volume_ml for mix in silicone.mixes) == 800
    assert not next(line for line in plan.stock if line.material_id == silicone.material.id).enough
    with pytest.raises(BadRequest, match="no materials were decided"):
        decisions.of("lamp post")


def test_a_surface_that_stops_what_was_decided_is_an_error_with_the_remedy() -> None:
    decisions = decide_materials([RING], SHELF)
    plan = provide_materials([replace(RING, surface=frozenset({"contains sulphur"}))], decisions, SHELF)
    assert plan.parts[0].silicone is None
    failed = [f for f in plan.parts[0].findings if f.code == "material-fails"]
    assert [f.severity for f in failed] == [Severity.ERROR]
    assert "without sulphur" in failed[0].remedy


def test_an_open_process_must_suit_every_print() -> None:
    either = replace(STAR, master=None)
    assert {"photopolymer", "filament", "layered"} <= either.surface_traits


def test_cautions_follow_the_steps_as_well_as_the_materials() -> None:
    """A clear urethane has its mould baked; a filament master is primed and sealed with sprays."""
    plain = {one.id for one in choose_for_part(replace(BOLLARD, master=Process.VAT), SHELF).cautions}
    clear = choose_for_part(replace(BOLLARD, hardness="D 80", clear=True), SHELF)
    assert "warm-cure" in {one.id for one in clear.cautions}
    sprayed = post_steps(process=Process.FILAMENT, step_mm=0.2, show_area_mm2=3000.0, support_mm2=0.0)
    primed = choose_for_part(replace(BOLLARD, silicone="condensation-silicone-a25-slow", master_steps=sprayed), SHELF)
    assert "spray" in {one.id for one in primed.cautions}
    assert "aromatic-isocyanate" in plain


def test_a_thin_copy_waits_longer_in_its_mould_and_is_told_so() -> None:
    """Common practice, no source: thin castings demould later than the data sheet says."""
    thin, thick = (choose_for_part(replace(LIMPET, section_mm=mm), BARE) for mm in (2.0, 30.0))
    assert thin.casting is not None
    assert thick.casting is not None
    assert thin.casting.demould_min > 1.5 * thick.casting.demould_min
    assert "thin-sets-later" in [finding.code for finding in thin.findings]
    assert "part-gets-hot" in [finding.code for finding in thick.findings]


def test_a_cavity_above_the_largest_mass_turns_the_material_down() -> None:
    part = choose_for_part(replace(LIMPET, casting_ml=1200.0, moulds=1), BARE)
    turned_down = {one.material_id: one.reason for one in (part.casting.rejected if part.casting else ())}
    assert "One cavity takes" in turned_down["rigid-plastic-d70-fast"]


def test_the_workshop_s_own_scale_cups_vacuum_pot_and_pace_are_respected() -> None:
    """A coarse scale, small cups, no vacuum, a pressure pot and an unhurried hand: all of it shows in the plan."""
    own = Equipment(
        bench=Bench(scale_step_g=1.0, containers_ml=(150.0, 300.0), pace=Pace.UNHURRIED),
        vacuum=VacuumChamber(available=False),
        pressure_pot=PressurePot(available=True),
    )
    need = replace(STAR, pieces_ml={"upper": 350})
    part, usual = choose_for_part(need, replace(BARE, equipment=own)), choose_for_part(need, BARE)
    assert part.silicone is not None
    assert part.casting is not None
    assert usual.casting is not None
    mixes = [mix.mix for chosen in part.chosen for mix in chosen.mixes]
    assert all(mix.container_ml <= 300.0 for mix in mixes)
    assert all(mix.batch.weigh_a_g == round(mix.batch.weigh_a_g) for mix in mixes)
    assert all(step.name is not PourStepName.DEGAS for chosen in part.chosen for step in chosen.pours[0].fit.steps)
    assert part.silicone.steps[-1].step.id == "pot-cure"  # while the silicone cures, not before the first cast
    assert "pot-hold" in {one.step.id for one in part.casting.steps}
    assert not {"pot-cure", "pot-hold"} & {one.step.id for chosen in usual.chosen for one in chosen.steps}
    cautions = {one.id for one in part.cautions}
    assert "pressure" in cautions
    assert "vacuum" not in cautions
    assert {"no-vacuum", "wet-on-wet"} <= codes(part)
    assert "mix-split" not in codes(part)
    assert part.silicone.mixes[0].mix.batches == 2
    assert "no-vacuum" not in codes(usual)


def test_without_vacuum_a_silicone_that_loses_its_bubbles_goes_before_a_thick_one() -> None:
    airless = replace(BARE, equipment=Equipment(vacuum=VacuumChamber(available=False)))
    need = replace(RING, casting="flexible-rubber-a40-middling", serial_pours=1)
    thick = choose_for_part(replace(need, silicone="condensation-silicone-a30-middling"), airless)
    free = choose_for_part(need, airless)
    assert [f.severity for f in thick.findings if f.code == "no-vacuum"] == [Severity.WARNING]
    assert [f.severity for f in free.findings if f.code == "no-vacuum"] == [Severity.INFO]


def test_the_surface_that_the_silicone_meets_is_told_with_what_was_done_to_it() -> None:
    done = post_steps(process=Process.VAT, step_mm=0.01, show_area_mm2=3000.0, support_mm2=0.0)
    table = part_choice_entry(choose_for_part(replace(STAR, master_steps=done), SHELF))
    assert table.surface == "photopolymer, washed, post-cured, sealed"
    assert part_choice_entry(choose_for_part(STAR, SHELF)).surface == "photopolymer, bare"


def test_a_cavity_too_large_for_every_plastic_says_what_helps() -> None:
    part = choose_for_part(replace(BOLLARD, hardness="rigid", clear=True, casting_ml=1200.0), SHELF)
    told = next(f for f in part.findings if f.code == "no-casting-material")
    assert "at once" in told.what
    assert "filler" in told.remedy
