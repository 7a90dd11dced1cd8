"""Who may ask at all: names, sites, devices; and what every answer carries."""

import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from firstpour.web.pairing import COOKIE, TRIES, Pairing
from firstpour.web.serving import Serving
from web_server import served

PHONE = {"Host": "192.0.2.20:4747"}
"""As a phone in the network asks (an address of documentation, RFC 5737)."""


@pytest.fixture
def codes() -> list[str]:
    return []


@pytest.fixture
def in_lan(tmp_path: Path, built: Path, codes: list[str]) -> Iterator[httpx.Client]:
    pairing = Pairing(tmp_path / "sessions.json", clock=time.time, tell=codes.append)
    pairing.new_code()
    with served(Serving(jobs=tmp_path / "jobs", static=built, pairing=pairing)) as one:
        yield one


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "192.0.2.20", "", "[::2]:80"])
@pytest.mark.parametrize("path", ["/", "/api/jobs", "/api/about"])
def test_another_name_is_refused(client: httpx.Client, host: str, path: str) -> None:
    answer = client.get(path, headers={"Host": host})
    assert answer.status_code == 403
    assert answer.json()["code"] == "from-elsewhere"


@pytest.mark.parametrize("host", ["localhost:1", "127.0.0.1", "[::1]:4747", "LOCALHOST"])
def test_names_of_this_machine_are_taken(client: httpx.Client, host: str) -> None:
    assert client.get("/api/jobs", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_another_site_can_neither_change_nor_read(client: httpx.Client, headers: dict[str, str]) -> None:
    for method, path in (
        ("POST", "/api/jobs/demo"),
        ("DELETE", "/api/jobs/x"),
        ("GET", "/api/jobs"),
        ("POST", "/pair"),
    ):
        assert client.request(method, path, headers=headers).status_code == 403
    assert client.get("/api/jobs").json() == {"jobs": []}


def test_the_page_itself_may_do_all(client: httpx.Client) -> None:
    own = {"Origin": str(client.base_url).rstrip("/"), "Sec-Fetch-Site": "same-origin"}
    assert client.get("/api/jobs", headers=own).status_code == 200
    assert client.put("/api/workshop", json={"keys": {}}, headers=own).status_code == 200


@pytest.mark.parametrize("path", ["/", "/api/about", "/api/jobs/none", "/assets/none.js"])
def test_every_answer_carries_what_keeps_the_page_to_itself(client: httpx.Client, path: str) -> None:
    headers = client.get(path).headers
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"


def test_answers_are_not_kept_by_the_browser(client: httpx.Client) -> None:
    assert client.get("/api/jobs").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("method", "path"),
    [("GET", "/api/jobs"), ("POST", "/api/jobs/demo"), ("GET", "/api/shelf"), ("GET", "/api/jobs/x/progress"),
     ("GET", "/api/nothing"), ("GET", "/api/about/"), ("PUT", "/api/workshop")],
)  # fmt: skip
def test_a_device_that_was_not_let_in_gets_nothing(in_lan: httpx.Client, method: str, path: str) -> None:
    for cookie in ("", f"{COOKIE}=guess", f"{COOKIE}="):
        answer = in_lan.request(method, path, headers={**PHONE, "Cookie": cookie})
        assert answer.status_code == 401
        assert answer.json()["code"] == "not-paired"


def test_a_phone_is_let_in_by_the_code_and_stays_in(in_lan: httpx.Client, codes: list[str]) -> None:
    about = in_lan.get("/api/about", headers=PHONE).json()
    assert (about["paired"], about["lan"], about["this_machine"], about["jobs"]) == (False, True, False, 0)
    assert codes[-1] in in_lan.get("/pair", params={"code": codes[-1]}, headers=PHONE).text
    answer = in_lan.post("/pair", data={"code": codes[-1]}, headers=PHONE)
    assert answer.status_code == 303
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    session = {**PHONE, "Cookie": cookie.partition(";")[0]}
    assert in_lan.get("/api/jobs", headers=session).status_code == 200
    assert in_lan.get("/api/about", headers=session).json()["paired"]
    assert in_lan.post("/pair", data={"code": codes[0]}, headers=PHONE).status_code == 422


def test_guessing_is_stopped(in_lan: httpx.Client, codes: list[str]) -> None:
    for _ in range(TRIES):
        assert in_lan.post("/pair", data={"code": "AAAABBBB"}, headers=PHONE).status_code == 422
    assert in_lan.post("/pair", data={"code": codes[-1]}, headers=PHONE).status_code == 429


def test_this_machine_needs_no_code(in_lan: httpx.Client) -> None:
    assert in_lan.get("/api/jobs").status_code == 200


def test_without_the_lan_there_is_no_way_in(client: httpx.Client) -> None:
    assert client.get("/pair").status_code == 404
    assert client.post("/pair", data={"code": "AAAABBBB"}).status_code == 404
    assert client.get("/api/jobs", headers=PHONE).status_code == 403


def test_what_is_typed_as_a_code_is_shown_as_text(in_lan: httpx.Client) -> None:
    page = in_lan.get("/pair", params={"code": '"><script>x'}, headers=PHONE).text
    assert "<script>" not in page
    assert "&quot;&gt;&lt;script&gt;x" in page
