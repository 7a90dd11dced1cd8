"""The command that serves the page."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.job_opened import ShelfPath
from firstpour.cli.numbers import limited
from firstpour.cli.workshop_commands import WorkshopPath

if TYPE_CHECKING:
    import socket

    from firstpour.web.pairing import Pairing
    from firstpour.web.serving import Serving

PORT = 4747


def register(app: typer.Typer) -> None:
    """Attach the command."""
    app.command("serve")(serve)


def serve(
    port: Annotated[int, limited(0, 65_535, "The port; 0 takes any that is free.")] = PORT,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let a phone in your own network in, by a code shown here.")
    ] = False,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open the browser.")] = False,
    jobs: Annotated[
        Path | None, typer.Option("--jobs", help="The folder of your jobs, if not the usual one.")
    ] = None,
    shelf: ShelfPath = None,
    workshop: WorkshopPath = None,
) -> None:
    """Show everything in the browser: parts, moulds, the fill, the plan, the bench."""
    import webbrowser

    from firstpour.web.addresses import lan_address, listening
    from firstpour.web.serving import Serving

    listener = listening(port, lan=lan)
    taken = int(listener.getsockname()[1])
    here = f"http://127.0.0.1:{taken}"
    pairing = _pairing(lan_address(), taken) if lan else None
    workers, processes = _shares()
    serving = Serving(
        jobs=_jobs_folder(jobs), shelf=shelf, workshop=workshop, workers=workers, processes=processes, pairing=pairing
    )
    show.print_words(f"Firstpour is at {here} (Ctrl-C ends it)")
    sys.stdout.flush()
    if pairing is not None:
        pairing.new_code()
    if not no_browser:
        webbrowser.open(here)
    _run(serving, listener)


def _run(serving: "Serving", listener: "socket.socket") -> None:
    import uvicorn

    from firstpour.web.app import make_app

    config = uvicorn.Config(
        make_app(serving), log_level="warning", access_log=False, timeout_graceful_shutdown=2, proxy_headers=False,
        server_header=False,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[listener])


def _jobs_folder(given: Path | None) -> Path:
    from firstpour.files.places import jobs_folder

    return jobs_folder(given)


def _pairing(address: str, port: int) -> "Pairing":
    """Codes are shown as they are made: on stderr, as QR where that is a terminal."""
    import time

    from firstpour.files.places import sessions_file
    from firstpour.web.pairing import Pairing

    def tell(code: str) -> None:
        link = f"http://{address}:{port}/pair?code={code}"
        sys.stderr.write(f"To let a phone in: {link} (code {code[:4]} {code[4:]}, works once)\n")
        if sys.stderr.isatty():
            import segno

            segno.make(link, error="m").terminal(out=sys.stderr, compact=True)
        sys.stderr.flush()

    return Pairing(sessions_file(), clock=time.time, tell=tell)


def _shares() -> tuple[int, int]:
    """So many jobs at once, on so many processes each: two cores a job."""
    import os

    cores = os.cpu_count() or 1
    workers = max(1, min(4, cores // 2))
    return workers, max(1, cores // workers)
