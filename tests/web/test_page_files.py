"""The built page is sent with headers for the browser's cache; where it is missing, how to build it."""

from pathlib import Path

import httpx
import pytest

from firstpour.web.serving import Serving
from web_server import served


@pytest.mark.parametrize("path", ["/", "/jobs/some-job", "/bench", "/index.html"])
def test_every_way_of_the_page_shows_the_page(client: httpx.Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert "the page" in answer.text
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.headers["content-type"] == "text/html; charset=utf-8"


def test_files_with_a_digest_in_their_name_are_kept_for_ever(client: httpx.Client) -> None:
    answer = client.get("/assets/entry-1a2b.js")
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-type"].startswith("text/javascript")


@pytest.mark.parametrize("path", ["/assets/none.js", "/api", "/api/none"])
def test_what_is_not_there_is_told_in_the_one_shape(client: httpx.Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert set(answer.json()) == {"code", "problem", "remedy"}


@pytest.mark.parametrize("path", ["/../secret", "/%2e%2e/secret", "/assets/..%2f..%2fsecret", "//etc/passwd", "/%00"])
def test_no_file_outside_the_page_is_sent(tmp_path: Path, path: str) -> None:
    (tmp_path / "static").mkdir()
    (tmp_path / "static" / "index.html").write_text("the page", encoding="utf-8")
    (tmp_path / "secret").write_text("secret words", encoding="utf-8")
    with served(Serving(jobs=tmp_path / "jobs", static=tmp_path / "static")) as client:
        answer = client.get(httpx.URL(str(client.base_url)).copy_with(raw_path=path.encode()))
    assert "secret words" not in answer.text
    assert "root:" not in answer.text


def test_a_page_that_is_not_built_says_how_to_build_it(tmp_path: Path) -> None:
    with served(Serving(jobs=tmp_path / "jobs", static=tmp_path / "none")) as client:
        answer = client.get("/")
        assert client.get("/api/about").status_code == 200
    assert answer.status_code == 503
    assert "make page" in answer.text
