"""What a job uses up besides its mixes."""

from dataclasses import replace

import pytest

from firstpour.choosing.choice import PartChoice, ShelfPlan
from firstpour.choosing.decide import decide_materials
from firstpour.choosing.need import PartNeed
from firstpour.choosing.provide import provide_materials
from firstpour.choosing.supplies import area_mm2
from firstpour.materials.gear import gear_for
from firstpour.printing.estimate import post_steps
from firstpour.printing.printers import Process
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped

WORKSHOP = Workshop(catalogue=shipped(), stock=(), today=TODAY)
RING = PartNeed(
    name="ring",
    pieces_ml={"upper": 200, "lower": 200},
    casting_ml=40,
    copies=10,
    hardness="A 40",
    master=Process.FILAMENT,
    master_steps=post_steps(process=Process.FILAMENT, step_mm=0.1, show_area_mm2=20_000.0, support_mm2=0.0),
    area_mm2=20_000.0,
)


def provided(need: PartNeed) -> ShelfPlan:
    return provide_materials([need], decide_materials([need], WORKSHOP), WORKSHOP)


def grams(part: PartChoice, material_id: str) -> float:
    return part.uses[material_id].a_g


def test_primer_sealer_release_and_paint_stand_in_what_to_have_and_to_buy() -> None:
    plan = provided(replace(RING, paint="flexible-paint"))
    part = plan.parts[0]
    lines = {line.material_id: line for line in plan.stock}
    for key in ("filler-primer", "clear-acrylic-sealer", "paintable-spray-release", "flexible-paint"):
        assert lines[key].buy is not None
    # 2 dm² of master, primer and sealer each 5 g to a dm² in two coats; ten copies at 2 g to a dm²
    assert grams(part, "filler-primer") == pytest.approx(10)
    assert grams(part, "clear-acrylic-sealer") == pytest.approx(10)
    assert grams(part, "flexible-paint") == pytest.approx(10 * 2 * 2)
    assert grams(part, "paintable-spray-release") == pytest.approx(part.pours * 2 * 2)


def test_release_is_counted_by_how_often_it_is_put_on() -> None:
    oily = provided(RING).parts[0]
    often = -(-oily.rounds // 5)
    assert grams(oily, "silicone-spray-release") == pytest.approx(often * 2 * 2)
    copy = provided(replace(RING, hardness="A 10", casting="flexible-silicone-a10-middling")).parts[0]
    assert grams(copy, "brush-on-wax-release") == pytest.approx(copy.pours * 1.5 * 2)
    beds = provided(replace(RING, serial_pours=2, moulds=2)).parts[0]
    assert grams(beds, "brush-on-wax-release") == pytest.approx(2 * 1.5 * 2)


def test_a_rigid_copy_is_painted_with_the_paint_of_the_job() -> None:
    part = provided(replace(RING, hardness="rigid", paint="flat-black-paint")).parts[0]
    assert grams(part, "flat-black-paint") == pytest.approx(10 * 2 * 2)


def test_a_surface_that_is_not_known_is_reckoned_above_that_of_a_cube() -> None:
    """A cube of 40 ml has 6 · 34.2² mm²; no closed shape has less surface than the sphere."""
    unknown = replace(RING, area_mm2=None)
    assert area_mm2(RING) == 20_000.0
    assert 6 * 40_000 ** (2 / 3) < area_mm2(unknown) < 2 * 6 * 40_000 ** (2 / 3)


def test_gloves_cups_and_sticks_are_counted_by_the_batch() -> None:
    plan = provided(RING)
    batches = sum(mix.times * mix.mix.batches for chosen in plan.parts[0].chosen for mix in chosen.mixes)
    by_id: dict[str, int] = {}
    for one in plan.supplies:
        by_id[one.id] = by_id.get(one.id, 0) + one.count
    assert by_id["nitrile-gloves"] == by_id["plastic-sticks"] == batches
    assert by_id["plastic-cups"] == 2 * batches
    assert by_id["eye-protection"] == 1


def test_the_rules_say_what_must_not_be_laid_out() -> None:
    """Common practice, no source; latex and tin: Catalysts 5 (2015) 145."""
    never = " ".join(words for one in provided(RING).supplies for words in one.never)
    for bad in ("latex gloves", "wooden sticks", "paper cups", "dust mask", "condensation-cure silicone"):
        assert f"no {bad}" in never or f"touched a {bad}" in never
    taken = {choice.gear.id for choice in gear_for({"condensation-cure silicone"})}
    assert "paper-cups" not in taken
    assert "vapour-mask" not in taken
    assert "own-tools" not in taken


def test_silicone_alone_may_be_stirred_with_wood() -> None:
    stirred = next(choice for choice in gear_for({"condensation-cure silicone"}) if choice.gear.use == "sticks")
    assert stirred.never == ()
    urethane = next(choice for choice in gear_for({"urethane"}) if choice.gear.use == "sticks")
    assert "water" in urethane.never[0]
