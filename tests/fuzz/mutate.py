"""Mutations that know the structure of a file: numbers of a text, fields of a binary, the model in a 3MF."""

import io
import random
import re
import zipfile

NASTY_NUMBERS = (
    "0", "-0.0", "-1", "1", "1e-320", "5e-324", "1e308", "1e400", "nan", "inf", "-inf", "99999999999999999999",
    "2147483648", "-2147483649", "0x10", "1_0", "1e", "true", '"1"', "[]", "{}", "",
)  # fmt: skip
NUMBER = re.compile(rb"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
NASTY_FIELDS = (b"\xff" * 4, b"\0" * 4, b"\xff\xff\xff\x7f", b"\0\0\xc0\x7f", b"\0\0\x80\x7f", b"\1\0\0\0")
"""Counts too large and too small, and floats that are no numbers."""
NASTY_BYTES = (0, 1, 0x7F, 0x80, 0xFE, 0xFF)


def mutated(data: bytes, *, text: bool, chance: random.Random) -> bytes:
    """The file with one to four slips in it."""
    if data[:2] == b"PK":
        return _zip_mutated(data, chance)
    ways = TEXT_WAYS if text else BINARY_WAYS
    for _ in range(chance.randint(1, 4)):
        data = chance.choice(ways)(data, chance)
    return data


def _number(data: bytes, chance: random.Random) -> bytes:
    found = list(NUMBER.finditer(data))
    if not found:
        return data
    at = chance.choice(found)
    return data[: at.start()] + chance.choice(NASTY_NUMBERS).encode() + data[at.end() :]


def _line_lost(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    del lines[chance.randrange(len(lines))]
    return b"\n".join(lines)


def _line_twice(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    at = chance.randrange(len(lines))
    return b"\n".join([*lines[:at], lines[at], *lines[at:]])


def _lines_swapped(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    a, b = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return b"\n".join(lines)


def _cut(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data) + 1)]


def _bytes(data: bytes, chance: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, 8)):
        if changed:
            changed[chance.randrange(len(changed))] = chance.choice((*NASTY_BYTES, chance.randrange(256)))
    return bytes(changed)


def _field(data: bytes, chance: random.Random) -> bytes:
    """Four bytes in their place: a count, an index, a float."""
    if len(data) < 8:
        return data
    at = 4 * chance.randrange(len(data) // 4)
    return data[:at] + chance.choice(NASTY_FIELDS) + data[at + 4 :]


def _zip_mutated(data: bytes, chance: random.Random) -> bytes:
    """The model inside changed and packed again; now and then the packing itself."""
    if chance.random() < 0.3:
        return chance.choice((_bytes, _cut, _field))(data, chance)
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename.endswith(".model") or chance.random() < 0.1:
                content = mutated(content, text=True, chance=chance)
            new.writestr(entry.filename, content)
    return packed.getvalue()


TEXT_WAYS = (_number, _number, _line_lost, _line_twice, _lines_swapped, _cut, _bytes)
BINARY_WAYS = (_field, _bytes, _cut)
