"""A short name for the content of values: equal values have equal digests, whatever objects they are."""

import hashlib
import struct
from collections.abc import Mapping
from collections.abc import Set as AnySet
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

import firstpour

COMPUTED_WITH = ("numpy", "scipy", "numba", "manifold3d", "shapely", "ortools", "pillow")
"""Libraries whose version may change a figure."""


def digest_of(*values: object) -> str:
    """The digest of the values, as 32 hexadecimal digits. Paths count by their words, not by what they name.

    Raises
    ------
    TypeError
        If a value is of a kind that has no content of its own (a function, an open file).

    >>> digest_of(1, (2.0, "a")) == digest_of(1, (2.0, "a")) != digest_of(1, (2.0, "b"))
    True
    """
    told = hashlib.blake2b(digest_size=16)
    for value in values:
        _tell(told, value)
    return told.hexdigest()


def _tell(told: "hashlib.blake2b", value: Any) -> None:
    kind = type(value).__name__.encode()
    if isinstance(value, np.ndarray):
        array = np.ascontiguousarray(value)
        told.update(b"%b%b%b" % (kind, array.dtype.str.encode(), str(array.shape).encode()))
        told.update(array.tobytes())
    elif is_dataclass(value) and not isinstance(value, type):
        told.update(b"{%b" % kind)
        for entry in fields(value):
            told.update(entry.name.encode() + b"=")
            _tell(told, getattr(value, entry.name))
        told.update(b"}")
    elif isinstance(value, Enum):
        told.update(b"%b.%b;" % (kind, value.name.encode()))
    elif isinstance(value, (list, tuple)):
        told.update(b"[%d:" % len(value))
        for entry in value:
            _tell(told, entry)
    elif isinstance(value, Mapping):
        told.update(b"<%d:" % len(value))
        for key in sorted(value, key=str):
            _tell(told, key)
            _tell(told, value[key])
    elif isinstance(value, AnySet):
        _tell(told, sorted(value, key=str))
    elif isinstance(value, bytes):
        told.update(b"b%d:" % len(value) + value)
    elif isinstance(value, (float, np.floating)):
        told.update(b"f" + struct.pack("<d", float(value)))
    elif value is None or isinstance(value, (bool, int, str, Path, date, np.integer)):
        told.update(b"%b:%b;" % (kind, str(value).encode()))
    else:
        raise TypeError(f"{type(value)} has no content to name")


@cache
def code_digest() -> str:
    """The digest of this version of Firstpour and of the libraries it computes with."""
    folder = Path(firstpour.__file__).parent
    sources = sorted(file for file in folder.rglob("*") if file.suffix in (".py", ".toml"))
    return digest_of(
        firstpour.__version__,
        [version(name) for name in COMPUTED_WITH],
        [(file.relative_to(folder).as_posix(), file.read_bytes()) for file in sources],
    )
