"""Everything as one zip and back: the same workshop, the same bytes; nothing else gets in."""

import hashlib
import json
import zipfile
from datetime import datetime
from pathlib import Path

import pytest

from firstpour.errors import BadRequest, CannotWrite
from firstpour.store import stock_rows
from firstpour.store.opening import changing
from firstpour.store.place import store_in
from firstpour.store.plans import keep
from firstpour.store.runs import EntryKind, Measurement, Photo, add_entry, add_measurements, add_photo_row, add_run
from firstpour.store.tables import METADATA
from firstpour.store.whole import Belongings, export_all, import_all
from shelf_samples import pack

NOW = datetime.fromisoformat("2026-03-02T14:30:00+00:00")


def own(folder: Path) -> Belongings:
    return Belongings(store=store_in(folder), shelf=folder, workshop=folder / "workshop.toml")


def filled(folder: Path) -> Belongings:
    """A workshop with something in every place."""
    made = own(folder)
    packs = stock_rows.add_packs(made.store, [pack(0, "filament-rigid", 1000, price=19.9)] * 2, at=NOW)
    stock_rows.remove(made.store, packs[0].id, at=NOW)
    data = b"a picture"
    name = f"{hashlib.sha256(data).hexdigest()}.jpg"
    with changing(made.store) as connection:
        plan = keep(
            connection, job="pool", due=None, content="{}", made_from={"a": "b"}, made_by="x", folder="y", at=NOW
        )
        run = add_run(
            connection,
            plan_id=plan,
            part="star",
            at=NOW,
            moulds=1,
            temperature_c=21.5,
            way="trays",
            material="rubber",
        )
        entry = add_entry(connection, run, at=NOW, kind=EntryKind.PHOTO, step="ready/1", note="“ä”")
        add_measurements(connection, [Measurement(entry_id=entry, what="A weighed", value=0.1 + 0.2, unit="g")])
        add_photo_row(connection, Photo(entry_id=entry, file=name, sha256=name[:64]))
    for place, content in (
        (made.store.photos / name, data),
        (made.materials / "mine.toml", b"id = 'mine'\n"),
        (made.workshop, b"[room]\n"),
    ):
        place.parent.mkdir(exist_ok=True)
        place.write_bytes(content)
    return made


def test_out_and_in_again_is_the_same_workshop_to_the_byte(tmp_path: Path) -> None:
    first, second = filled(tmp_path / "first"), own(tmp_path / "second")
    counts = export_all(first, tmp_path / "one.zip")
    assert (counts["packs"], counts["moves"], counts["runs"], counts["photos"]) == (1, 3, 1, 1)
    assert import_all(second, tmp_path / "one.zip") == counts
    export_all(second, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    assert stock_rows.load_stock(second.store) == stock_rows.load_stock(first.store)
    assert stock_rows.add_packs(second.store, [pack(0, "filament-rigid", 1000)], at=NOW)[0].id == 3


def test_every_table_is_in_the_zip(tmp_path: Path) -> None:
    export_all(filled(tmp_path / "first"), tmp_path / "one.zip")
    with zipfile.ZipFile(tmp_path / "one.zip") as packed:
        assert set(json.loads(packed.read("store.json"))["tables"]) == set(METADATA.tables)


def test_nothing_is_put_over_what_is_there(tmp_path: Path) -> None:
    made = filled(tmp_path / "first")
    export_all(made, tmp_path / "one.zip")
    with pytest.raises(CannotWrite, match="is there already"):
        export_all(made, tmp_path / "one.zip")
    with pytest.raises(BadRequest, match="not empty"):
        import_all(made, tmp_path / "one.zip")
    other = own(tmp_path / "other")
    other.shelf.mkdir()
    other.workshop.write_text("[scale]\n")
    with pytest.raises(BadRequest, match="is another"):
        import_all(other, tmp_path / "one.zip")
    assert other.workshop.read_text() == "[scale]\n"


@pytest.mark.parametrize("name", ["../outside.toml", "materials/../../outside.toml", "materials/..", "run.sh"])
def test_what_no_export_holds_is_refused(tmp_path: Path, name: str) -> None:
    export_all(filled(tmp_path / "first"), tmp_path / "one.zip")
    with zipfile.ZipFile(tmp_path / "one.zip", "a") as packed:
        packed.writestr(name, b"x")
    with pytest.raises(BadRequest, match="which no export does"):
        import_all(own(tmp_path / "second"), tmp_path / "one.zip")
    assert not (tmp_path / "outside.toml").exists()


def test_a_changed_photo_a_broken_zip_and_another_version_are_refused(tmp_path: Path) -> None:
    made = filled(tmp_path / "first")
    (photo,) = made.store.photos.iterdir()
    photo.write_bytes(b"another picture")
    export_all(made, tmp_path / "one.zip")
    with pytest.raises(BadRequest, match="not as it was"):
        import_all(own(tmp_path / "second"), tmp_path / "one.zip")
    (tmp_path / "broken.zip").write_bytes((tmp_path / "one.zip").read_bytes()[:-40])
    with pytest.raises(BadRequest, match="no zip that Firstpour wrote"):
        import_all(own(tmp_path / "second"), tmp_path / "broken.zip")
    with zipfile.ZipFile(tmp_path / "old.zip", "w") as packed:
        packed.writestr("store.json", json.dumps({"version": "0001", "tables": {}}))
    with pytest.raises(BadRequest, match="version 0001"):
        import_all(own(tmp_path / "second"), tmp_path / "old.zip")


def test_there_is_nothing_to_export_without_a_store(tmp_path: Path) -> None:
    with pytest.raises(BadRequest, match="no store yet"):
        export_all(own(tmp_path / "none"), tmp_path / "one.zip")
