"""Stock: what is enough, what to buy, what is used up, and a store that loses nothing."""

import itertools
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.files.catalogue import load_catalogue
from firstpour.files.places import SHELF_VARIABLE, shelf_folder
from firstpour.materials.material import SILICONES, PackSize
from firstpour.mixing.mix import mass_for_g
from firstpour.stock.buy import cheapest_packs
from firstpour.stock.stock import (
    Amount,
    Pack,
    after_taking,
    amount_left,
    good_until,
    mixable_g,
    split_by_ratio,
    stock_line,
    usable,
)
from firstpour.stock.use_up import CUBES_SHARE, fillable_ml, left_overs, use_up
from shelf_samples import MODEST, TODAY, pack, shipped

SILICONE = shipped().get("addition-silicone-a25-middling")
TIN = shipped().get("condensation-silicone-a25-slow")
PLASTIC = shipped().get("rigid-plastic-d75-middling")
NOW = datetime(2026, 3, 2, 14, 30)
FILAMENT = frozenset({"filament", "layered"})


def test_opened_packs_go_first_then_the_one_that_ends_soonest() -> None:
    old = pack(1, SILICONE.id, 500, 500, bought_on=TODAY - timedelta(days=300))
    new = pack(2, SILICONE.id, 500, 500)
    opened = pack(3, SILICONE.id, 500, 500, opened_on=TODAY - timedelta(days=2))
    assert [one.id for one in usable((new, old, opened), SILICONE, today=TODAY)] == [3, 1, 2]


def test_a_pack_past_its_date_is_said_and_not_counted() -> None:
    stale = pack(1, SILICONE.id, 500, 500, opened_on=TODAY - timedelta(days=181))
    assert good_until(stale, SILICONE) == TODAY - timedelta(days=1)
    line = stock_line((stale,), SILICONE, Amount(a_g=100, b_g=100), today=TODAY)
    assert not line.enough
    assert [finding.code for finding in line.findings] == ["pack-out-of-date", "buy"]


def test_the_scarcer_part_decides_what_can_be_mixed() -> None:
    stock = (pack(1, PLASTIC.id, 450, 405, left_b_g=90),)
    assert mixable_g(stock, PLASTIC, today=TODAY) == pytest.approx(190)
    need = split_by_ratio(PLASTIC, 380)
    line = stock_line(stock, PLASTIC, need, today=TODAY)
    assert not line.enough
    assert line.buy is not None
    assert str(line.buy).startswith("1 × 500 g A + 450 g B")


@MODEST
@given(need_a=st.integers(0, 30_000).map(lambda tenths: tenths / 10), need_b=st.integers(0, 3000).map(float))
def test_what_is_bought_covers_what_is_short_at_the_least_cost(need_a: float, need_b: float) -> None:
    """Against trying every count of packs."""
    sizes = [PackSize(part_a_g=450, part_b_g=405, price=28), PackSize(part_a_g=1800, part_b_g=1620, price=90)]
    bought = cheapest_packs(sizes, short_a_g=need_a, short_b_g=need_b)
    assert bought is not None
    costs = [
        n * 28 + m * 90
        for n, m in itertools.product(range(9), range(4))
        if n * 450 + m * 1800 >= need_a - 1e-6 and n * 405 + m * 1620 >= need_b - 1e-6
    ]
    assert bought.cost == min(costs)
    assert sum(size.part_a_g * count for size, count in bought.packs) >= need_a - 1e-6
    assert sum(size.part_b_g * count for size, count in bought.packs) >= need_b - 1e-6


def test_without_a_price_the_least_left_over_is_bought_and_without_packs_nothing() -> None:
    sizes = [PackSize(part_a_g=500), PackSize(part_a_g=2000)]
    bought = cheapest_packs(sizes, short_a_g=600, short_b_g=0)
    assert bought is not None
    assert bought.cost is None
    assert bought.total_g == 1000
    assert cheapest_packs([], short_a_g=1, short_b_g=0) is None


@MODEST
@given(takes=st.lists(st.floats(1, 400), min_size=1, max_size=6))
def test_taking_keeps_the_ratio_and_never_goes_below_nothing(takes: list[float]) -> None:
    stock: tuple[Pack, ...] = (pack(1, PLASTIC.id, 450, 405), pack(2, PLASTIC.id, 450, 405))
    for total_g in takes:
        before = amount_left(stock)
        stock = after_taking(stock, PLASTIC, split_by_ratio(PLASTIC, total_g), today=TODAY)
        left = amount_left(stock)
        assert left.a_g >= 0
        assert before.a_g - left.a_g <= total_g * 100 / 190 + 1e-9
    taken = Amount(a_g=900 - amount_left(stock).a_g, b_g=810 - amount_left(stock).b_g)
    assert taken.b_g == pytest.approx(0.9 * taken.a_g)


@pytest.mark.parametrize(("left_a", "left_b"), [(-1, 0), (501, 0), (0, 501), (float("nan"), 0)])
def test_stock_below_zero_or_above_the_pack_is_refused(left_a: float, left_b: float) -> None:
    with pytest.raises(BadRequest, match="left of"):
        pack(1, SILICONE.id, 500, 500, left_a_g=left_a, left_b_g=left_b)


def test_the_folder_is_the_given_one_then_the_variable_then_the_users(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SHELF_VARIABLE, str(tmp_path / "named"))
    assert shelf_folder(tmp_path / "given") == tmp_path / "given"
    assert shelf_folder(None) == tmp_path / "named"
    monkeypatch.delenv(SHELF_VARIABLE)
    assert shelf_folder(None).parts[-2:] == ("firstpour", "shelf")


@MODEST
@given(left_g=st.floats(20, 3000))
def test_what_fills_a_mould_uses_up_just_what_is_left(left_g: float) -> None:
    volume_ml = fillable_ml(SILICONE, left_g)
    assert mass_for_g(SILICONE, volume_ml=volume_ml) <= left_g * (1 + 1e-9)
    assert mass_for_g(SILICONE, volume_ml=volume_ml * 1.001 + 0.01) > left_g


def test_each_piece_is_poured_from_one_silicone_and_two_that_stop_each_other_are_never_mixed() -> None:
    other = shipped().get("addition-silicone-a40-middling")
    stock = (
        pack(1, SILICONE.id, 150, 150, opened_on=TODAY),
        pack(2, other.id, 250, 25, opened_on=TODAY),
        pack(3, TIN.id, 1000, 100, opened_on=TODAY),
    )
    pieces = {"upper": 200.0, "lower": 180.0}
    both = use_up(stock[:2], shipped(), pieces_ml=pieces, surface=FILAMENT, today=TODAY)
    assert sorted(piece.silicone_id for piece in both[0].pieces) == sorted([SILICONE.id, other.id])
    mixed = (stock[0], pack(3, TIN.id, 250, 25, opened_on=TODAY))
    assert use_up(mixed, shipped(), pieces_ml=pieces, surface=FILAMENT, today=TODAY) == ()
    enough = use_up(stock, shipped(), pieces_ml=pieces, surface=FILAMENT, today=TODAY)
    assert {piece.silicone_id for piece in enough[0].pieces} in ({TIN.id}, {SILICONE.id, other.id})


def test_cubes_fill_up_to_their_share_and_a_contour_box_saves_the_rest() -> None:
    stock = (pack(1, SILICONE.id, 150, 150, opened_on=TODAY),)
    pieces, contour = {"whole": 320.0}, {"whole": 240.0}
    plain = use_up(stock, shipped(), pieces_ml=pieces, surface=FILAMENT, today=TODAY)
    assert plain == ()
    ways = use_up(stock, shipped(), pieces_ml=pieces, surface=FILAMENT, today=TODAY, cubes_ml=500, contour_ml=contour)
    assert [way.saves for way in ways] == [
        "96 ml of cured cubes as filler",
        "a contour box",
        "a contour box and 72 ml of cured cubes as filler",
    ]
    assert ways[0].cubes_ml == pytest.approx(CUBES_SHARE * 320)
    assert any("cubes" in step for step in ways[0].steps)
    with pytest.raises(BadRequest):
        use_up(stock, shipped(), pieces_ml=pieces, surface=FILAMENT, today=TODAY, cubes_ml=-1)


def test_left_overs_are_listed_the_most_first() -> None:
    stock = (pack(1, SILICONE.id, 100, 100), pack(2, TIN.id, 1000, 100))
    left = left_overs(stock, shipped(), kinds=SILICONES, today=TODAY)
    assert [one.material.id for one in left] == [TIN.id, SILICONE.id]
    assert left[1].fills_ml < 200 / 1.09


def test_a_date_that_cannot_be_meant_is_refused_on_entry() -> None:
    with pytest.raises(BadRequest, match="bought on 9999"):
        replace(pack(0, PLASTIC.id, 450, 405), bought_on=date(9999, 1, 1))


def test_records_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    (tmp_path / "materials").write_text("a file where the folder should be")
    with pytest.raises(BadRequest, match="records of the shelf"):
        load_catalogue(tmp_path)
