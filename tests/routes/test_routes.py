"""The routes of a soft part and of a rigid hub from the shipped shelf."""

from dataclasses import replace

import pytest

from firstpour.choosing.need import PartNeed
from firstpour.job.job import Preference
from firstpour.materials.feel import wanted_hardness
from firstpour.materials.steps import step
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER, Process
from firstpour.routes.cast import MouldWay, PrintedPieces
from firstpour.routes.compare import BreakEven
from firstpour.routes.money import Rates
from firstpour.routes.printed import PrintWay, on_a_plate
from firstpour.routes.recipe import Way
from firstpour.routes.refused import miss_of
from firstpour.routes.routes import Asked, PartRoutes, part_routes
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.equipment import Equipment
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped

SHELF = Workshop(catalogue=shipped(), stock=demo_stock(today=TODAY), today=TODAY)
FINISH = tuple(step(name) for name in ("sand", "prime", "dry-primer", "sand-primer", "seal", "dry-sealer"))
HUB = PartNeed(
    name="hub",
    pieces_ml={"upper": 60, "lower": 60},
    casting_ml=8,
    copies=8,
    hardness="D 75",
    master=Process.FILAMENT,
    master_steps=FINISH,
    area_mm2=3500,
)
PRINTS = (
    PrintWay(
        printer=FILAMENT_PRINTER,
        size_mm=(30, 30, 20),
        layer_mm=0.1,
        step_mm=0.04,
        print_min=60,
        material_ml=6,
        support_mm2=0,
        fits=True,
        smoothing=FINISH[:4],
    ),
    PrintWay(
        printer=VAT_PRINTER,
        size_mm=(30, 30, 25),
        layer_mm=0.05,
        step_mm=0.02,
        print_min=100,
        material_ml=9,
        support_mm2=100,
        fits=True,
    ),
)


def asked(need: PartNeed = HUB, prints: tuple[PrintWay, ...] = PRINTS) -> Asked:
    pieces = (PrintedPieces(process=Process.FILAMENT, print_min=300, grams=80, count=3),)
    mould = MouldWay(kind="trays", need=need, pieces=pieces, step_mm=0.04, seam_on_show_mm=90, estimated=False)
    return Asked(need=need, prints=prints, moulds=(mould,), refused=())


def hub_routes(prefer: Preference | None = None, rates: Rates | None = None) -> PartRoutes:
    return part_routes(asked(), SHELF, rates=rates or Rates(), prefer=prefer)


def test_a_soft_part_cannot_be_printed_and_the_row_says_by_how_much_it_misses() -> None:
    made = part_routes(asked(replace(HUB, hardness="A 30")), SHELF, rates=Rates())
    assert {one.recipe.way for one in made.routes} == {Way.CAST}
    misses = {one.name: (one.by_points, one.reason) for one in made.refused}
    assert misses["printed in Flexible photopolymer, A 80"] == (
        50.0,
        "A 80 is 50 points too hard for A 30 (±5 on Shore A).",
    )
    assert misses["printed in Flexible filament, A 95"][0] == 65.0
    assert misses["printed in Rigid filament"][1].startswith("D 80 is at least 70 points too hard")


def test_a_rigid_hub_is_printed_for_one_and_smooth_copies_are_cast_from_a_number_that_is_shown() -> None:
    made = hub_routes(rates=Rates(hands_per_h=20.0))
    smooth = next(one for one in made.breaks if one.smooth and one.measure == "money")
    assert isinstance(smooth, BreakEven)
    assert (smooth.better_below, smooth.better_from) == ("printed", "cast")
    assert smooth.copies is not None
    at = part_routes(asked(replace(HUB, copies=smooth.copies)), SHELF, rates=Rates(hands_per_h=20.0))
    before = part_routes(asked(replace(HUB, copies=smooth.copies - 1)), SHELF, rates=Rates(hands_per_h=20.0))
    assert cheapest_smooth(at) is Way.CAST
    assert cheapest_smooth(before) is Way.PRINTED


def cheapest_smooth(made: PartRoutes) -> Way:
    return next(one.recipe.way for one in made.routes if one.recipe.flaw_mm == 0.0)


def test_nothing_that_is_marked_undominated_is_beaten_and_the_cheapest_is_among_it() -> None:
    made = hub_routes()
    assert made.routes[0].undominated
    assert 1 < sum(one.undominated for one in made.routes) < len(made.routes)


@pytest.mark.parametrize("preference", list(Preference))
def test_a_stated_preference_picks_one_and_says_why(preference: Preference) -> None:
    made = hub_routes(preference)
    assert made.pick is not None
    best = made.named(made.pick.route)
    assert best is not None
    assert made.pick.why.startswith(f"{preference.value} for 8 copies: {best.recipe.name}")
    values = {
        Preference.CHEAPEST: [one.outcome.money for one in (best, *made.routes)],
        Preference.SOONEST: [one.outcome.days for one in (best, *made.routes)],
        Preference.FINISH: [one.recipe.flaw_mm for one in (best, *made.routes)],
        Preference.HANDS: [one.outcome.hands_min for one in (best, *made.routes)],
    }[preference]
    assert values[0] == min(values)


def test_without_a_stated_preference_nothing_is_picked_but_each_is_told() -> None:
    made = hub_routes()
    assert made.pick is None
    assert [one.preference for one in made.picks] == list(Preference)


def test_a_printer_that_is_missing_or_too_small_is_the_reason() -> None:
    small = tuple(replace(one, fits=False, size_mm=(300, 30, 20)) for one in PRINTS)
    made = part_routes(asked(prints=small), SHELF, rates=Rates())
    reasons = {one.name: one.reason for one in made.refused}
    assert (
        reasons["printed in Rigid filament"]
        == "The part takes 300 × 30 × 20 mm; the filament printer has 200 × 200 × 200 mm."
    )
    one_printer = replace(SHELF, equipment=Equipment(printers=(FILAMENT_PRINTER,)))
    made = part_routes(asked(prints=PRINTS[:1]), one_printer, rates=Rates())
    reasons = {one.name: one.reason for one in made.refused}
    assert reasons["printed in Tough photopolymer"] == "No vat printer is in the workshop."


def test_what_the_figures_leave_out_is_said() -> None:
    notes = " ".join(hub_routes().notes)
    assert "Your own hours are not in the money" in notes
    assert "Prices are typical" in notes
    assert "Your own hours" not in " ".join(hub_routes(rates=Rates(hands_per_h=20.0)).notes)


def test_the_colour_of_a_batch_and_the_gloss_stand_in_the_route() -> None:
    need = replace(HUB, colourant_ratio=0.02)
    made = part_routes(asked(need), SHELF, rates=Rates())
    notes = [" ".join(one.recipe.notes) for one in made.routes if one.recipe.way is Way.CAST]
    assert notes
    assert all("its master's gloss" in words for words in notes)
    assert any("the same every time" in words for words in notes)


def test_prints_stand_on_a_plate_in_rows() -> None:
    """200 mm plate, 5 mm between: 205/35 = 5.86, so 5 × 5 boxes of 30 mm; of 100 × 30 mm 1 × 5."""
    assert on_a_plate((30, 30, 20), (200, 200, 200)) == 25
    assert on_a_plate((100, 30, 20), (200, 200, 200)) == 5


def test_a_material_within_the_tolerance_does_not_miss() -> None:
    rubber = shipped().get("flexible-rubber-a30-slow")
    assert miss_of(rubber, wanted_hardness("A 30")) is None
    assert miss_of(rubber, wanted_hardness("A 34")) is None
    miss = miss_of(rubber, wanted_hardness("A 40"))
    assert miss is not None
    assert miss.points == -10.0
