"""The time of a part is the sum of its works, reckoned by hand."""

from types import SimpleNamespace as Some

import pytest

from firstpour.materials.steps import On
from firstpour.mixing.pour_steps import PourStepName
from firstpour.parting.values import MouldKind
from firstpour.plan import elapsed
from firstpour.plan.elapsed import elapsed_of, recipe_of
from firstpour.printing.printers import FILAMENT_PRINTER


def step(name, hands_min, wait_min, *, on=On.PRINT, each_pour=False):
    return Some(id=name, name=name, text="", hands_min=hands_min, wait_min=wait_min, on=on, each_pour=each_pour)


SEAL = step("seal", 10.0, 240.0)
SAND = step("sand", 30.0, 0.0)
PIECE = Some(plan=Some(printer=FILAMENT_PRINTER, print_min=600.0))
PRINTING = Some(print_min=600.0, steps=(SAND, SEAL), pieces=(PIECE,), cleaning=())
LIFT = step("lift", 2.0, 10.0, on=On.MOULD, each_pour=True)
RELEASE = step("release-mould", 4.0, 10.0, on=On.MOULD)
BAKE = step("bake the mould", 5.0, 60.0, on=On.MOULD)
SET_UP, OPEN, CLOSE, TAKE_OUT, TURN = 10.0, 10.0, 2.0, 8.0, 20.0
"""Likeliest minutes of the table of steps."""


def poured(work_min, pour_min, mixes, **more):
    times = [(PourStepName.MIX, work_min), (PourStepName.POUR, pour_min)]
    fit = Some(steps=[Some(name=name, time=Some(mean_min=minutes)) for name, minutes in times])
    mix = Some(mix=Some(batches=1, batch_cavities=1))
    return Some(fit=fit, mixes=(mix,) * mixes, material=Some(name="stuff"), **more)


SILICONE = poured(4.0, 6.0, 2, demould_min=400.0, steps=(Some(step=SEAL, before="silicone"),))
CASTING = poured(
    2.0,
    4.0,
    1,
    demould_min=60.0,
    at_once=1,
    steps=(
        Some(step=LIFT, before="casting"), Some(step=BAKE, before="casting"), Some(step=RELEASE, before="casting"),
    ),
)  # fmt: skip
SILICONE.at_once = 1


def part(copies=8, *, silicone=SILICONE, casting=CASTING, kind=MouldKind.TRAYS, printing=PRINTING):
    choice = Some(silicone=silicone, casting=casting, mould_life=None, seen_good=0, seen_shots=0)
    return Some(
        printing=printing, mould=Some(kind=kind, cavities=1), choice=choice, request=Some(copies=copies, moulds=1)
    )


def test_three_moulds_of_two_cavities_give_six_copies_a_go_and_each_cavity_its_shots_of_their_life():
    one = part()
    one.request.moulds, one.mould.cavities = 3, 2
    one.choice.mould_life = Some(low=25)
    recipe = recipe_of(one)
    assert (recipe.moulds, recipe.a_mould, recipe.a_go, recipe.life_shots) == (3, 2, 6, 50)
    assert recipe_of(part()).life_shots is None


def test_what_is_poured_at_once_is_as_much_for_every_cavity(monkeypatch):
    given = []
    monkeypatch.setattr(elapsed, "cast_labour", lambda prints, steps, *poured, **_: given.extend(poured) or LABOUR)
    one = part()
    one.mould.cavities = 4
    recipe_of(one)
    assert [(pour.what, pour.at_once) for pour in given] == [("pour silicone", 4), ("cast", 4)]


LABOUR = Some(once=(), each_mould=(), each_go=(), now_and_then=(), each_good=())


def test_prints_are_work_of_a_printer_not_of_hands():
    (run, *_) = recipe_of(part()).once
    assert (run.what, run.printing) == ("print", True)


MOULD = 600.0 + 30.0 + 250.0 + SET_UP + 2 * 10.0 + 400.0 + OPEN + 65.0 + 14.0
"""Print, sand, seal, two halves that cure at once, open, bake, release."""
SHOT = 12.0 + CLOSE + 6.0 + 60.0 + TAKE_OUT


def test_minutes_add_up_to_the_mould_the_first_copy_and_the_last():
    """Nine in ten shots are good: 10 give 8 copies nine times in ten; release again before the sixth."""
    spent = elapsed_of(part())
    assert spent.prints_min == 600.0
    assert spent.mould_min == pytest.approx(MOULD)
    assert spent.first_copy_min == pytest.approx(MOULD + SHOT)
    assert spent.all_copies_min == pytest.approx(MOULD + 10 * SHOT + 14.0)


def test_the_second_half_of_a_bedding_waits_for_the_first():
    spent = elapsed_of(part(kind=MouldKind.BEDDING))
    assert spent.mould_min == pytest.approx(MOULD + 400.0 + TURN)


def test_the_work_is_told_in_its_order_and_nothing_twice_in_a_row():
    assert elapsed_of(part()).order == (
        "print", "sand", "seal", "set up for the pour", "pour silicone", "silicone cures", "open the mould",
        "bake the mould", "release-mould", "lift", "close the mould", "cast", "it sets", "take the copy out",
    )  # fmt: skip


def test_an_open_mould_is_laid_level_and_not_closed():
    order = elapsed_of(part(kind=MouldKind.OPEN_FACE)).order
    assert "lay the mould level" in order
    assert "close the mould" not in order


@pytest.mark.parametrize("missing", [{"silicone": None}, {"casting": None}])
def test_without_its_materials_only_the_prints_are_known(missing):
    spent = elapsed_of(part(**missing))
    assert spent.prints_min == 600.0
    assert (spent.mould_min, spent.first_copy_min, spent.all_copies_min) == (None, None, None)
    assert spent.order == ("print", "sand", "seal")
