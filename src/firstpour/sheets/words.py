"""Lengths of time, grams and names as a caster reads them from the wall."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from firstpour.units import count_words
from firstpour.workshop.hours import DAY_MIN, HOUR_MIN

if TYPE_CHECKING:
    from firstpour.files.plan_json import PartEntry


def wait_words(minutes: float) -> str:
    """A wait that is never told too short: whole minutes, rounded up.

    >>> wait_words(19.2), wait_words(176.29), wait_words(1447.5), wait_words(11668.6)
    ('20 min', '2 h 57 min', '1 d 0 h 8 min', '8 d 2 h 29 min')
    """
    whole = math.ceil(minutes - 1e-9)
    days, rest = divmod(whole, DAY_MIN)
    hours, left = divmod(rest, HOUR_MIN)
    words = [f"{days} d"] if days else []
    words += [f"{hours} h"] if days or hours else []
    words += [f"{left} min"] if left or not words else []
    return " ".join(words)


def minute_words(minutes: float) -> str:
    """A minute of the clock to half a minute.

    >>> minute_words(0.87), minute_words(10.28), minute_words(4)
    ('1', '10.5', '4')
    """
    return f"{round(2 * minutes) / 2:g}"


def grams(value_g: float, *, step_g: float) -> str:
    """Grams with the places that the scale shows.

    >>> grams(104.2, step_g=0.1), grams(11, step_g=0.01), grams(55, step_g=1)
    ('104.2 g', '11.00 g', '55 g')
    """
    return f"{value_g:.{places_of(step_g)}f} g"


def places_of(step_g: float) -> int:
    """Places after the point that a scale of this step shows.

    >>> places_of(0.1), places_of(0.05), places_of(1), places_of(5)
    (1, 2, 0, 0)
    """
    return max(0, len(f"{step_g:.6f}".rstrip("0").split(".")[1]))


def within(value_g: float, *, off_ratio: float, step_g: float) -> str:
    """From and to which reading of the scale a mass stays within the tolerance: rounded inwards.

    >>> within(54.6, off_ratio=0.03, step_g=0.1), within(1.0, off_ratio=0.001, step_g=0.1)
    ('53.0 to 56.2 g', '1.0 g exactly')
    """
    places = places_of(step_g)
    low_g = math.ceil(value_g * (1 - off_ratio) / step_g - 1e-9) * step_g
    high_g = math.floor(value_g * (1 + off_ratio) / step_g + 1e-9) * step_g
    if high_g - low_g < step_g / 2:
        return f"{value_g:.{places}f} g exactly"
    return f"{low_g:.{places}f} to {high_g:.{places}f} g"


def piece_words(name: str) -> str:
    """The name of a piece as one says it.

    >>> piece_words("silicone-upper"), piece_words("tray-lower"), piece_words("silicone"), piece_words("gate-rod")
    ('upper half', 'tray-lower', 'block', 'gate-rod')
    """
    return {"silicone-upper": "upper half", "silicone-lower": "lower half", "silicone": "block"}.get(name, name)


def listed(names: Sequence[str]) -> str:
    """Names in a row.

    >>> listed(["box"]), listed(["bedding", "box", "master"])
    ('box', 'bedding, box and master')
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def copies_words(part: "PartEntry") -> str:
    """Copies of a part, or sets of different parts that one shot gives."""
    return count_words(part.copies, "set", "sets") if part.together else count_words(part.copies, "copy", "copies")


def told(what: str, remedy: str) -> str:
    """What was found and what to do about it, as two sentences.

    >>> told("air stays (an estimate).", "rock the mould")
    'Air stays (an estimate). Rock the mould.'
    """
    return f"{sentence(what)} {sentence(remedy)}"


def sentence(words: str) -> str:
    """Words as a sentence of their own.

    >>> sentence("wait, and open it")
    'Wait, and open it.'
    """
    text = words.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
