"""A session on a PostgreSQL server, out of it as a zip and into a file, and back: the same to the byte."""

from pathlib import Path

import pytest

from bench_walk import NOON, at_kind, walk
from firstpour.bench.doing import add_photo
from firstpour.bench.kept import Bench, keep_plan
from firstpour.bench.sessions import open_sessions, start, state, undo
from firstpour.bench.steps import StepKind
from firstpour.bench.weigh_in import weigh_in
from firstpour.errors import BadRequest
from firstpour.files.catalogue import load_catalogue
from firstpour.stock.demo_stock import demo_stock
from firstpour.store.opening import changing
from firstpour.store.place import StorePlace, store_in
from firstpour.store.stock_rows import add_packs, load_stock
from firstpour.store.tables import METADATA
from firstpour.store.whole import Belongings, export_all, import_all


def bench_on(place: StorePlace) -> Bench:
    return Bench(store=place, catalogue=load_catalogue(None))


def emptied(place: StorePlace) -> None:
    with changing(place) as connection:
        for table in reversed(METADATA.sorted_tables):
            connection.execute(table.delete())


def belongings(place: StorePlace, folder: Path) -> Belongings:
    folder.mkdir(exist_ok=True)
    return Belongings(store=place, shelf=folder, workshop=folder / "workshop.toml")


def test_a_session_goes_on_on_a_server_and_moves_to_a_file_and_back(
    server: StorePlace, plan_folder: Path, tmp_path: Path
) -> None:
    here = bench_on(server)
    add_packs(server, demo_stock(today=NOON.date()), at=NOON)
    before = load_stock(server)
    plan = keep_plan(here, plan_folder, at=NOON)
    now, at = walk(here, start(here, plan=plan, part="limpet", at=NOON), at=NOON, until=at_kind(StepKind.WEIGH))
    assert now.step is not None
    assert now.step.weigh is not None
    weigh_in(here, now.session, at=at, a_g=now.step.weigh.a_g, b_g=now.step.weigh.b_g)
    assert load_stock(server) != before
    undo(here, now.session, at=at)
    for one, was in zip(load_stock(server), before, strict=True):
        assert (one.left_a_g, one.left_b_g, one.opened_on) == (
            pytest.approx(was.left_a_g), pytest.approx(was.left_b_g), was.opened_on
        )  # fmt: skip
    picture = tmp_path / "copy.jpg"
    picture.write_bytes(b"a picture")
    add_photo(here, now.session, at=at, file=picture)
    now, at = walk(here, now, at=at, until=lambda one: one.round == 2 and at_kind(StepKind.STIR)(one))
    on_server = state(here, now.session, at=at)

    export_all(belongings(server, tmp_path / "server"), tmp_path / "one.zip")
    in_file = store_in(tmp_path / "file")
    own = belongings(in_file, tmp_path / "file")
    import_all(own, tmp_path / "one.zip")
    assert state(bench_on(in_file), now.session, at=at) == on_server
    assert load_stock(in_file) == load_stock(server)

    with pytest.raises(BadRequest, match="is not empty"):
        import_all(belongings(server, tmp_path / "other"), tmp_path / "one.zip")
    export_all(own, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    emptied(server)
    import_all(belongings(server, tmp_path / "server"), tmp_path / "two.zip")
    last, _ = walk(here, state(here, now.session, at=at), at=at)
    assert (last.done, last.good, last.moulds[0].shots) == (True, 8, 8)
    assert open_sessions(here, at=at) == ()
    emptied(server)
