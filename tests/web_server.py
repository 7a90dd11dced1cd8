"""A real server on loopback for the tests of its routes, with jobs of its own."""

import io
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import httpx
import trimesh
import uvicorn

from firstpour.web.addresses import listening
from firstpour.web.app import make_app
from firstpour.web.serving import Serving

WITHIN_S = 240.0


@contextmanager
def served(serving: Serving) -> Iterator[httpx.Client]:
    """A client of a server that runs in a thread until the block ends."""
    listener = listening(0, lan=False)
    port = listener.getsockname()[1]
    config = uvicorn.Config(make_app(serving), log_level="error", access_log=False, timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=60.0, trust_env=False) as client:
            yield client
    finally:
        server.should_exit = True
        thread.join()
        listener.close()


def peg_bytes(radius: float = 8.0) -> bytes:
    """A round peg as STL."""
    content = io.BytesIO()
    trimesh.creation.cylinder(radius=radius, height=20, sections=24).export(content, file_type="stl")
    return content.getvalue()


def made(client: httpx.Client, *names: str, wishes: str = "{}") -> dict[str, Any]:
    """A job of pegs of these file names."""
    files = [("files", (name, peg_bytes(), "model/stl")) for name in names or ("peg.stl",)]
    answer = client.post("/api/jobs", files=files, data={"wishes": wishes})
    assert answer.status_code == 201, answer.text
    job: dict[str, Any] = answer.json()
    return job


def ended(client: httpx.Client, job: str) -> dict[str, Any]:
    """How the run of a job ended."""
    until = time.monotonic() + WITHIN_S
    while time.monotonic() < until:
        lines = [
            line
            for line in client.get(f"/api/jobs/{job}/progress", params={"follow": False}).text.splitlines()
            if line.startswith("data:")
        ]
        told = httpx.Response(200, text=lines[-1].removeprefix("data:")).json()
        if told["state"] not in ("queued", "working"):
            return dict(told)
    raise AssertionError("it did not end")
