"""The routes of a soft part and of a rigid hub from the shipped shelf."""

from dataclasses import replace

import pytest

from firstpour.job.job import Preference
from firstpour.materials.feel import wanted_hardness
from firstpour.printing.printers import FILAMENT_PRINTER
from firstpour.routes.compare import Measure, picked, value_of
from firstpour.routes.lesser import shown_mm
from firstpour.routes.money import Rates
from firstpour.routes.printed import on_a_plate, print_routes
from firstpour.routes.recipe import Way
from firstpour.routes.refused import miss_of
from firstpour.routes.routes import part_routes
from firstpour.routes.told import break_even_words, not_printed, rounds_told, short_name
from firstpour.workshop.equipment import Equipment
from routes_shapes import HUB, PRINTS, SHELF, asked, hub_routes
from shelf_samples import shipped


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


def test_a_part_that_nothing_can_make_has_no_route_and_every_reason() -> None:
    """A bellows too soft to be printed, whose folds stretch the silicone of every mould to ten times its length."""
    wish = asked(replace(HUB, hardness="A 30", stretch_ratio=10.0))
    tight = tuple(replace(one, need=replace(one.need, stretch_ratio=10.0)) for one in wish.moulds)
    made = part_routes(replace(wish, moulds=tight), SHELF, rates=Rates(), prefer=Preference.CHEAPEST)
    assert (made.routes, made.picks, made.pick, made.shortlist.candidates) == ((), (), None, 0)
    assert any("stretches it by 1000%" in one.reason for one in made.refused)
    assert not_printed(made) is not None


def test_a_print_whose_show_faces_have_no_step_is_not_called_sanded() -> None:
    """A level top shows no layers, and nobody has sanded it."""
    wish = asked(prints=(replace(PRINTS[0], step_mm=0.0),))
    recipes, _ = print_routes(wish.need, wanted_hardness("D 75"), wish.prints, SHELF)
    as_printed, smoothed = (one for one in recipes if one.material == "Rigid filament")
    assert (as_printed.sanded, smoothed.sanded) == (False, True)
    assert as_printed.finish == "layer steps below 0.01 mm hardly show"
    short = {one.recipe.sanded: short_name(one) for one in part_routes(wish, SHELF, rates=Rates()).routes[:2]}
    assert short == {False: "print, Rigid filament", True: "print, Rigid filament, sanded"}


SANDED = "printed in Rigid filament on the filament printer, every copy sanded and primed"


def test_a_rigid_hub_is_printed_for_eight_and_cast_from_a_number_that_is_shown() -> None:
    """Copies that look alike: sanded prints against castings, hands at 20 an hour."""
    rates = Rates(hands_per_h=20.0)
    breaks = [one for one in hub_routes(rates=rates).breaks if one.measure is Measure.MONEY]
    shown = next(one for one in breaks if one.print == SANDED)
    assert shown.copies is not None
    assert shown.copies > 8
    for copies, better in ((8, Way.PRINTED), (shown.copies - 1, Way.PRINTED), (shown.copies, Way.CAST)):
        made = part_routes(asked(replace(HUB, copies=copies)), SHELF, rates=rates)
        alike = [one for one in made.routes if one.recipe.way is Way.CAST or one.recipe.name == SANDED]
        assert alike[0].recipe.way is better, copies


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
        Preference.FINISH: [shown_mm(one.recipe) for one in (best, *made.routes)],
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


def test_an_accelerator_is_a_route_of_its_own_or_refused_by_its_pot_life() -> None:
    """The table of the accelerator lists 0.5, 1 and 2 %: each is a route, or its pour does not end in time."""
    made = part_routes(asked(replace(HUB, hardness="A 30")), SHELF, rates=Rates())
    quick = {one.recipe.accelerator_ratio: one for one in made.routes if one.recipe.accelerator_ratio}
    slow = {one.recipe.name: one for one in made.routes}
    assert quick
    for ratio, one in quick.items():
        words = f" with {100 * (ratio or 0):.2g} % accelerator"
        same = slow[one.recipe.name.replace(words, "")]
        assert one.outcome.all_copies_min < same.outcome.all_copies_min
        assert one.outcome.money > same.outcome.money
    left = {0.005, 0.01, 0.02} - set(quick)
    told = " ".join(f"{one.name}: {one.reason}" for one in made.refused)
    assert all(f"with {100 * ratio:.2g} % accelerator" in told for ratio in left)
    chosen = part_routes(asked(replace(HUB, hardness="A 30", accelerator_ratio=0.005)), SHELF, rates=Rates())
    assert not any(one.recipe.accelerator_ratio for one in chosen.routes)


def test_of_equal_prints_the_finest_is_that_which_misses_its_fits_by_least() -> None:
    prints = (replace(PRINTS[0], fit_miss_mm=0.2), replace(PRINTS[1], fit_miss_mm=0.05, step_mm=0.04))
    made = part_routes(asked(prints=prints), SHELF, rates=Rates(), prefer=Preference.FINISH)
    printed = [one for one in made.routes if one.recipe.way is Way.PRINTED]
    pick = picked(printed, Preference.FINISH)
    assert pick is not None
    best = made.named(pick.route)
    assert best is not None
    assert best.recipe.fit_miss_mm == 0.05


def test_printing_is_sooner_for_one_and_the_days_say_from_when_casting_is() -> None:
    breaks = {one.print: one.copies for one in hub_routes().breaks if one.measure is Measure.DAYS}
    assert breaks
    assert all(copies is None or copies > 1 for copies in breaks.values())


def test_the_hub_printed_is_ahead_at_eight_in_money_hands_and_days_and_behind_from_a_number_that_is_shown() -> None:
    """Sanded prints against castings, hands at 20 an hour, whichever casting is best at each number."""
    rates = Rates(hands_per_h=20.0)
    made = hub_routes(rates=rates)
    breaks = {one.measure: one for one in made.breaks if one.print == SANDED}
    assert set(breaks) == set(Measure)
    (words,) = [line for line in break_even_words(made) if "sanded" in line]
    for measure, found in breaks.items():
        assert found.print_value < found.cast_value
        assert found.copies is not None
        assert found.copies > 8
        assert f"casting is ahead from {found.copies} copies on" in words
        for copies, ahead in ((found.copies - 1, Way.PRINTED), (found.copies, Way.CAST)):
            then = part_routes(asked(replace(HUB, copies=copies)), SHELF, rates=rates)
            alike = [one for one in then.routes if one.recipe.way is Way.CAST or one.recipe.name == SANDED]
            best = min(alike, key=lambda one: (value_of(one, measure), one.recipe.way is Way.CAST))
            assert best.recipe.way is ahead, (measure, copies)


def test_a_soft_part_has_a_row_that_says_by_how_much_the_nearest_print_misses() -> None:
    made = part_routes(asked(replace(HUB, hardness="A 30")), SHELF, rates=Rates())
    row = not_printed(made)
    assert row is not None
    nearest = min(
        (one for one in made.refused if one.name.startswith("printed in")), key=lambda one: abs(one.by_points or 1e9)
    )
    assert row.by_points == nearest.by_points == 20.0
    assert "nearest is Soft photopolymer, A 50: A 50 is 20 points too hard for A 30" in row.reason
    assert not_printed(hub_routes()) is None


def test_the_rounds_of_a_route_are_told_as_the_plan_tells_them() -> None:
    made = hub_routes()
    two = next(one for one in made.routes if one.recipe.moulds == 2)
    one = next(one for one in made.routes if one.recipe.moulds == 1)
    print_ = next(one for one in made.routes if one.recipe.way is Way.PRINTED)
    assert rounds_told(two) == "10 shots in 6 rounds (1, 1, then 2 each)"
    assert rounds_told(one) == "10 shots in 10 rounds"
    assert rounds_told(print_) == "9 prints on 1 plate"
