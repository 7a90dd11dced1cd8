"""`firstpour serve` as it is typed: one line where it is, answers, ends at Ctrl-C."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from firstpour.web.addresses import listening


@pytest.fixture
def own_place(tmp_path: Path) -> dict[str, str]:
    places = {"JOBS": "jobs", "SHELF": "shelf", "WORKSHOP": "workshop.toml", "SESSIONS": "sessions.json"}
    (tmp_path / "shelf").mkdir()
    return {**os.environ, **{f"FIRSTPOUR_{key}": str(tmp_path / name) for key, name in places.items()}}


def begun(env: dict[str, str], *words: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "firstpour.cli.main", "serve", "--no-browser", "--port", "0", *words],
        env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_one_line_tells_where_it_is_and_ctrl_c_ends_it(own_place: dict[str, str]) -> None:
    server = begun(own_place)
    assert server.stdout is not None
    line = server.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:\d+", line)
    assert found, line
    with httpx.Client(base_url=found[0], timeout=60, trust_env=False) as client:
        about = client.get("/api/about").json()
        assert (about["lan"], about["paired"], about["jobs"]) == (False, True, 0)
    server.send_signal(signal.SIGINT)
    out, err = server.communicate(timeout=30)
    assert (out, server.returncode) == ("", 130), err


def test_lan_shows_a_code_that_lets_a_phone_in_once(own_place: dict[str, str]) -> None:
    server = begun(own_place, "--lan")
    assert server.stdout is not None
    assert server.stderr is not None
    line = server.stderr.readline()
    found = re.search(r"http://[\d.]+:(\d+)/pair\?code=(\w{8}) ", line)
    assert found, line
    phone = {"Host": f"192.0.2.20:{found[1]}"}
    with httpx.Client(base_url=f"http://127.0.0.1:{found[1]}", timeout=60, trust_env=False) as client:
        assert client.get("/api/jobs", headers=phone).status_code == 401
        assert client.post("/pair", data={"code": found[2]}, headers=phone).status_code == 303
        assert client.post("/pair", data={"code": found[2]}, headers=phone).status_code == 422
    server.terminate()
    server.communicate(timeout=30)


def test_a_port_that_is_taken_is_told(own_place: dict[str, str]) -> None:
    with listening(0, lan=False) as taken:
        words = ["serve", "--no-browser", "--port", str(taken.getsockname()[1])]
        ended = subprocess.run(
            [sys.executable, "-m", "firstpour.cli.main", *words],
            env=own_place, capture_output=True, text=True, check=False, timeout=60,
        )  # fmt: skip
    assert ended.returncode == 2
    assert "cannot be used" in ended.stderr
    assert "another port" in ended.stderr
