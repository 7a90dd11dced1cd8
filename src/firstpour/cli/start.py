"""Where the command begins: Ctrl-C is heard before anything large is loaded."""

import os
import signal
import sys
from types import FrameType
from typing import Final

STOPS: Final = {signal.SIGINT: 130, signal.SIGTERM: 143}
"""What the shell expects after Ctrl-C and after SIGTERM."""
ONE_THREAD: Final = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Matrices here are small: a second thread for them costs more than it saves. What the user sets stands."""


def run() -> None:
    """Load the commands and run the one that was typed; stopped while still loading, it says so in one line."""
    before = {number: signal.signal(number, _stop) for number in STOPS}
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    from firstpour.cli.main import run as run_command

    for number, handler in before.items():
        signal.signal(number, handler)
    try:
        run_command()
    except SystemExit as ended:
        if isinstance(ended.code, int) and ended.code in STOPS.values():
            sys.stderr.flush()
            os._exit(ended.code)  # else the interpreter may end itself by the signal once more, with another code
        raise
    finally:
        for number in STOPS:
            signal.signal(number, signal.SIG_IGN)  # all is done and told: a late Ctrl-C changes nothing


def _stop(number: int, _: FrameType | None) -> None:
    """Nothing is open yet, so the process may just end."""
    if sys.stderr is not None:
        os.write(2, b"Stopped; nothing half-written was left behind.\n")
    os._exit(STOPS[signal.Signals(number)])


if __name__ == "__main__":
    run()
