"""What the tests of the server share: a page that was built, and a client of a server without jobs."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from firstpour.web.serving import Serving
from web_server import served


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page that was built, as far as its files go."""
    static = tmp_path_factory.mktemp("static")
    (static / "assets").mkdir()
    (static / "index.html").write_text("<!doctype html><title>the page</title>", encoding="utf-8")
    (static / "assets" / "entry-1a2b.js").write_text("export {};", encoding="utf-8")
    return static


@pytest.fixture
def client(tmp_path: Path, built: Path) -> Iterator[httpx.Client]:
    """A client of a server without jobs."""
    with served(Serving(jobs=tmp_path / "jobs", static=built)) as one:
        yield one
