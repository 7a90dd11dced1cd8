"""The stock in the store: nothing is lost, two processes do not harm each other, what is wrong is told."""

import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from firstpour.errors import BadRequest, CannotWrite
from firstpour.stock.stock import Amount, split_by_ratio
from firstpour.store import opening, stock_rows
from firstpour.store.place import FILE_NAME, store_in
from shelf_samples import TODAY, pack, shipped

SILICONE = shipped().get("addition-silicone-a25-middling")
PLASTIC = shipped().get("rigid-plastic-d75-middling")
NOW = datetime(2026, 3, 2, 14, 30)


def test_the_store_gives_back_what_was_put_in(tmp_path: Path) -> None:
    put = [
        pack(0, SILICONE.id, 500, 500, price=36.5, opened_on=TODAY),
        pack(0, "filament-rigid", 1000, bought_on=None),
    ]
    assert stock_rows.load_stock(store_in(tmp_path)) == ()
    stored = stock_rows.add_packs(store_in(tmp_path), put, at=NOW)
    assert [one.id for one in stored] == [1, 2]
    assert stock_rows.load_stock(store_in(tmp_path)) == stored
    assert [replace(one, id=0) for one in stored] == put


def test_taking_from_the_store_is_all_or_nothing_and_is_logged(tmp_path: Path) -> None:
    stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)], at=NOW)
    stock_rows.take(store_in(tmp_path), PLASTIC, split_by_ratio(PLASTIC, 190), at=NOW)
    before = stock_rows.load_stock(store_in(tmp_path))
    assert (before[0].left_a_g, before[0].left_b_g) == pytest.approx((350, 315))
    assert before[0].opened_on == NOW.date()
    with pytest.raises(BadRequest, match="left that is still good"):
        stock_rows.take(store_in(tmp_path), PLASTIC, Amount(a_g=10, b_g=316), at=NOW)
    assert stock_rows.load_stock(store_in(tmp_path)) == before
    with pytest.raises(BadRequest, match="to take"):
        stock_rows.take(store_in(tmp_path), PLASTIC, Amount(a_g=-5), at=NOW)
    with sqlite3.connect(tmp_path / FILE_NAME) as connection:
        moves = connection.execute("SELECT what, change_a_g FROM moves ORDER BY id").fetchall()
    connection.close()
    assert [what for what, _ in moves] == ["add", "open and take"]
    assert moves[1][1] == pytest.approx(-100)


def test_counting_sets_what_is_left_and_refuses_more_than_went_in(tmp_path: Path) -> None:
    stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)], at=NOW)
    counted = stock_rows.count(store_in(tmp_path), 1, left=Amount(a_g=200, b_g=170), at=NOW)
    assert (counted.left_a_g, counted.left_b_g, counted.opened_on) == (200, 170, NOW.date())
    with pytest.raises(BadRequest):
        stock_rows.count(store_in(tmp_path), 1, left=Amount(a_g=451, b_g=0), at=NOW)
    with pytest.raises(BadRequest, match="no pack 7"):
        stock_rows.count(store_in(tmp_path), 7, left=Amount(a_g=1, b_g=0), at=NOW)
    assert stock_rows.load_stock(store_in(tmp_path)) == (counted,)


TAKE_OFTEN = """
import sys
from datetime import datetime
from pathlib import Path
from firstpour.store import stock_rows
from firstpour.store.place import store_in
from firstpour.files.catalogue import load_catalogue
from firstpour.stock.stock import Amount

plastic = load_catalogue(None).get("rigid-plastic-d75-middling")
for _ in range(20):
    stock_rows.take(store_in(Path(sys.argv[1])), plastic, Amount(a_g=1.0, b_g=0.9), at=datetime(2026, 3, 2, 14, 30))
"""


def test_two_processes_taking_at_once_lose_nothing(tmp_path: Path) -> None:
    stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)], at=NOW)
    command = [sys.executable, "-c", TAKE_OFTEN, str(tmp_path)]
    workers = [subprocess.Popen(command) for _ in range(2)]
    assert [worker.wait(30) for worker in workers] == [0, 0]
    assert stock_rows.load_stock(store_in(tmp_path))[0].left_a_g == pytest.approx(450 - 40)


def test_a_file_that_is_no_stock_and_one_from_the_future_are_refused(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"something else entirely, and longer than a header" * 40)
    with pytest.raises(BadRequest, match="no store"):
        stock_rows.load_stock(store_in(tmp_path))
    (tmp_path / FILE_NAME).unlink()
    stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)], at=NOW)
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    connection.execute("UPDATE alembic_version SET version_num = '0999'")
    connection.commit()
    connection.close()
    with pytest.raises(BadRequest, match="newer"):
        stock_rows.load_stock(store_in(tmp_path))


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(CannotWrite):
        stock_rows.add_packs(store_in(tmp_path / "file" / "shelf"), [pack(0, PLASTIC.id, 450, 405)], at=NOW)


def test_a_removed_pack_is_gone_and_its_number_is_not_given_again(tmp_path: Path) -> None:
    first, second = stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)] * 2, at=NOW)
    stock_rows.remove(store_in(tmp_path), second.id, at=NOW)
    assert [one.id for one in stock_rows.load_stock(store_in(tmp_path))] == [first.id]
    (third,) = stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)], at=NOW)
    assert third.id == second.id + 1
    with pytest.raises(BadRequest, match=f"no pack {second.id}"):
        stock_rows.remove(store_in(tmp_path), second.id, at=NOW)
    with sqlite3.connect(tmp_path / FILE_NAME) as connection:
        moved = connection.execute("SELECT change_a_g FROM moves WHERE what = 'remove'").fetchall()
    assert moved == [(-second.left_a_g,)]


@pytest.mark.parametrize(
    ("column", "value"), [("bought_on", "9999-01-01"), ("opened_on", "someday"), ("left_a_g", float("inf"))]
)
def test_a_pack_that_cannot_be_read_is_named_and_can_be_removed(tmp_path: Path, column: str, value: object) -> None:
    (good, bad) = stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)] * 2, at=NOW)
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    connection.execute("PRAGMA ignore_check_constraints = 1")
    connection.execute(f"UPDATE packs SET {column} = ? WHERE id = ?", (value, bad.id))
    connection.commit()
    connection.close()
    with pytest.raises(BadRequest, match=f"pack {bad.id} of the stock cannot be read") as caught:
        stock_rows.load_stock(store_in(tmp_path))
    assert "out of the stock" in caught.value.remedy
    stock_rows.remove(store_in(tmp_path), bad.id, at=NOW)
    assert stock_rows.load_stock(store_in(tmp_path)) == (good,)


def test_a_locked_and_a_cut_off_stock_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "WAIT_S", 0.05)
    stock_rows.add_packs(store_in(tmp_path), [pack(0, PLASTIC.id, 450, 405)], at=NOW)
    other = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(CannotWrite, match="locked"):
        stock_rows.take(store_in(tmp_path), PLASTIC, Amount(a_g=1, b_g=1), at=NOW)
    other.execute("ROLLBACK")
    other.close()
    whole = (tmp_path / FILE_NAME).read_bytes()
    for length in (100, 4096, len(whole) - 4096):
        (tmp_path / FILE_NAME).write_bytes(whole[:length])
        with pytest.raises((BadRequest, CannotWrite), match=FILE_NAME):
            stock_rows.load_stock(store_in(tmp_path))
