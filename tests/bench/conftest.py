"""The plan of the tide pool as it lies in a folder, and a bench with the demo's stock."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from bench_walk import NOON
from firstpour.bench.kept import Bench, keep_plan
from firstpour.files.catalogue import load_catalogue
from firstpour.results import SavedPlan
from firstpour.stock.demo_stock import demo_stock
from firstpour.store.place import store_in
from firstpour.store.stock_rows import add_packs
from postgres_server import server  # noqa: F401  (a fixture)


@pytest.fixture(scope="session")
def plan_folder(demo: SavedPlan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kept-plan")
    (folder / "plan.json").write_text(demo.entry.model_dump_json(), encoding="utf-8")
    return folder


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    made = Bench(store=store_in(tmp_path / "store"), catalogue=load_catalogue(None))
    add_packs(made.store, demo_stock(today=NOON.date()), at=datetime(2027, 1, 4, 9, tzinfo=UTC))
    return made


@pytest.fixture
def kept(bench: Bench, plan_folder: Path) -> int:
    return keep_plan(bench, plan_folder, at=NOON)
