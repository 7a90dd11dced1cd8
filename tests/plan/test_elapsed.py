"""The time of a part is the sum of its works, reckoned by hand."""

from types import SimpleNamespace as Some

import pytest

from firstpour.plan.elapsed import elapsed_of


def step(name, hands_min, wait_min, *, each_pour=False):
    return Some(name=name, hands_min=hands_min, wait_min=wait_min, each_pour=each_pour)


SEAL = step("seal", 10.0, 240.0)
SAND = step("sand", 30.0, 0.0)
PRINTING = Some(print_min=600.0, steps=(SAND, SEAL))
LIFT = step("release in the mould", 2.0, 10.0, each_pour=True)
BAKE = step("bake the mould", 5.0, 60.0)
BARRIER = step("barrier coat", 4.0, 20.0)


def poured(minutes, **more):
    pours = [Some(fit=Some(steps=[Some(time=Some(mean_min=one)) for one in minutes]))]
    return Some(pours=pours, **more)


SILICONE = poured([4.0, 6.0], ready_min=400.0, mixes=(1, 2), steps=[Some(step=SEAL, before="silicone")])
CASTING = poured(
    [1.0, 2.0, 3.0],
    demould_min=60.0,
    steps=[
        Some(step=LIFT, before="casting"), Some(step=BAKE, before="casting"), Some(step=BARRIER, before="silicone"),
    ],
)  # fmt: skip


def choice(rounds=5, *, silicone=SILICONE, casting=CASTING):
    return Some(silicone=silicone, casting=casting, rounds=rounds)


def test_minutes_add_up_to_the_mould_the_first_copy_and_the_last():
    spent = elapsed_of(PRINTING, choice())
    assert spent.prints_min == 600.0
    mould_min = 600.0 + (30.0 + 0.0) + (10.0 + 240.0) + 400.0 + 2 * (4.0 + 6.0)
    assert spent.mould_min == pytest.approx(mould_min)
    round_min = (1.0 + 2.0 + 3.0) + 60.0 + (2.0 + 10.0)
    assert spent.first_copy_min == pytest.approx(mould_min + round_min)
    assert spent.all_copies_min == pytest.approx(mould_min + 5 * round_min)


def test_one_round_is_over_with_its_first_copy():
    spent = elapsed_of(PRINTING, choice(1))
    assert spent.all_copies_min == spent.first_copy_min


def test_the_work_is_told_in_its_order_and_nothing_twice_in_a_row():
    order = elapsed_of(PRINTING, choice()).order
    assert order == (
        "print", "sand", "seal", "pour silicone", "demould", "bake the mould", "release in the mould", "cast",
        "demould",
    )  # fmt: skip
    twice = Some(print_min=1.0, steps=(SAND, SAND, SEAL))
    assert elapsed_of(twice, choice()).order[:3] == ("print", "sand", "seal")


def test_work_on_the_silicone_that_the_print_has_not_had_comes_before_it():
    patch = Some(step=step("test patch", 10.0, 60.0), before="silicone")
    silicone = poured([1.0], ready_min=1.0, mixes=(1,), steps=[Some(step=SEAL, before="silicone"), patch])
    order = elapsed_of(PRINTING, choice(silicone=silicone)).order
    assert order[2:5] == ("seal", "test patch", "pour silicone")


@pytest.mark.parametrize("missing", [None, choice(silicone=None), choice(casting=None)])
def test_without_its_materials_only_the_prints_are_known(missing):
    spent = elapsed_of(PRINTING, missing)
    assert spent.prints_min == 600.0
    assert (spent.mould_min, spent.first_copy_min, spent.all_copies_min) == (None, None, None)
    assert spent.order == ("print", "sand", "seal")


def test_a_material_without_a_pour_on_the_clock_takes_no_work():
    silicone = Some(pours=(), ready_min=400.0, mixes=(1, 2), steps=[])
    assert elapsed_of(PRINTING, choice(silicone=silicone)).mould_min == pytest.approx(600.0 + 280.0 + 400.0)
