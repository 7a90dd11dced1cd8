"""What the commands write to: where it is closed, full or of few letters, that is told or got round."""

import codecs
import errno
import io
import os
import sys
from typing import TextIO

NEAREST = "firstpour-nearest"
LETTERS = {
    "×": "x", "−": "-", "–": "-", "—": "-", "─": "-", "·": "*", "…": "...", "“": '"', "”": '"', "‘": "'", "’": "'",
    "°": "deg ", "µ": "u", "μ": "u", "²": "2", "³": "3", "±": "+-", "≥": ">=", "≤": "<=", "≈": "~", "÷": "/",
    "→": "->", "½": "1/2", "Ø": "dia ", "ø": "dia ", "ö": "o", "é": "e", "\u00a0": " ", "\u202f": " ",
}  # fmt: skip
"""The nearest that few letters can say."""
READER_LEFT = (errno.EPIPE, errno.EINVAL)
"""What a pipe answers whose reader has left (EINVAL where the system has no such pipes)."""


def ready_streams() -> None:
    """Let stdout and stderr take any letter, and be there even where the caller closed them."""
    codecs.register_error(NEAREST, _nearest)
    sys.stdout = _ready(sys.stdout)
    sys.stderr = _ready(sys.stderr)


def flush_or_say() -> str | None:
    """Send out what is still held; gives what went wrong, in words, or nothing ("" where the reader just left)."""
    try:
        sys.stdout.flush()
    except (OSError, ValueError) as error:
        return cannot_show(error)
    return None


def cannot_show(error: OSError | ValueError) -> str:
    """Why stdout takes no more; nothing more is sent to it."""
    _to_nowhere(sys.stdout)
    if getattr(error, "errno", None) in READER_LEFT:
        return ""
    return f"what was to be shown could not be written: {getattr(error, 'strerror', None) or error}"


def _ready(stream: TextIO | None) -> TextIO:
    if stream is None:
        return open(os.devnull, "w", encoding="utf-8")
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(errors=NEAREST)
    return stream


def _nearest(error: UnicodeError) -> tuple[str, int]:
    """The letters that an encoding lacks, each by the nearest; half of a broken name as a question mark.

    >>> ready_streams(); "20 × 30 mm², \u2603".encode("ascii", NEAREST)
    b'20 x 30 mm2, ?'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(LETTERS.get(one, "?") for one in error.object[error.start : error.end]), error.end


def _to_nowhere(stream: TextIO) -> None:
    """Point a stream that takes nothing more at nothing, so that the end of the program does not try it again."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        return
