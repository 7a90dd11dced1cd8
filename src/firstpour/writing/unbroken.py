"""A few steps that Ctrl-C or an end asked for by the system may not come between."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Final

WAITING: Final = (signal.SIGINT, signal.SIGTERM)


@contextmanager
def unbroken() -> Iterator[None]:
    """Hold back Ctrl-C and SIGTERM until the block is done; then they come through.

    They reach only the main thread, so in any other there is nothing to hold back.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []

    def keep(number: int, _: FrameType | None) -> None:
        came.append(number)

    before = {number: signal.signal(number, keep) for number in WAITING}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, signal.SIG_DFL if handler is None else handler)
        for caught in dict.fromkeys(came):
            signal.raise_signal(caught)
