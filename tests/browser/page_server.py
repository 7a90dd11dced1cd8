"""A server with the built page for the browser: in a thread, with jobs, shelf and workshop of its own."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from firstpour.web.addresses import listening
from firstpour.web.app import make_app
from firstpour.web.serving import Serving


@contextmanager
def served_page(home: Path) -> Iterator[str]:
    """The address of the page until the block ends."""
    (home / "shelf").mkdir(parents=True, exist_ok=True)
    serving = Serving(jobs=home / "jobs", shelf=home / "shelf", workers=1, processes=2)
    listener = listening(0, lan=False)
    config = uvicorn.Config(make_app(serving), log_level="error", access_log=False, timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}/"
    finally:
        server.should_exit = True
        thread.join()
        listener.close()
