"""The plan of the tide pool for tests: planned once, rounded for the golden file, compared readably."""

import math
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from firstpour.demo.tide_pool import tide_pool_job
from firstpour.files.catalogue import load_catalogue
from firstpour.results import SavedPlan, plan_into
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop

GOLDEN = Path(__file__).parent / "golden" / "tide-pool.json"
TODAY = date(2027, 1, 4)
DIGITS = 3
"""Figures are kept to so many digits."""
PLACES = 2
"""Directions, and the turn of a piece in its mould, are kept to so many places."""
DIRECTIONS = ("direction", "draw", "up", "in_mould")
SHOWN = 3
"""So many of the ranked directions are kept: of those that come later, near equals change places easily."""
RANKED = ("directions", "pours")
LEFT_OUT = (
    "files",
    "file",
    "print_file",
    "pictures",
    "faces",
    "made_by",
    "version",
    "format",
    "cautions",
    "schedule",
)
"""Names of files, counts of triangles, long words that every mix repeats, and dates, which hang on the clock here."""
OVER_ONE = "scale"
"""Kept as what it is over 1: the allowance is a few thousandths."""
NEAR_RATIO = 0.015
"""Figures nearer than this are the same: the last digit that is kept may tip over, and libraries differ by dust."""
SMALL = 0.02
"""So are figures above this that differ by half of it: a hundredth of a millimetre, of a degree, of a direction."""
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")


def plan_demo(folder: Path) -> SavedPlan:
    """Plan the tide pool into the folder, here and now, with nothing kept from before."""
    job = tide_pool_job()
    assert job.begin is not None
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=job.begin), today=TODAY)
    return plan_into(job, folder, progress=lambda *_: None, workshop=workshop)


def rounded_plan(value: Any, key: str = "") -> Any:
    """What plan.json says, without names of files and counts of faces, figures rounded."""
    if isinstance(value, dict):
        return {name: rounded_plan(entry, name) for name, entry in value.items() if name not in LEFT_OUT}
    if isinstance(value, list):
        kept = value[:SHOWN] if key in RANKED else value
        return [rounded_plan(entry, key) for entry in kept]
    if isinstance(value, float):
        return _rounded(value, key)
    if isinstance(value, str):
        return NUMBER.sub(lambda found: f"{_digits(float(found[0]), 2):g}" if "." in found[0] else found[0], value)
    return value


def _rounded(value: float, key: str) -> float:
    if key in DIRECTIONS:
        return round(value, PLACES) + 0.0
    if key == OVER_ONE:
        return _digits(round(value - 1.0, 5), DIGITS)
    return _digits(value, DIGITS)


def _digits(value: float, digits: int) -> float:
    """The value to so many digits.

    >>> _digits(1234.5, 3), _digits(0.0012345, 3)
    (1230.0, 0.00123)
    """
    if value == 0.0 or not math.isfinite(value):
        return value
    return round(value, digits - 1 - math.floor(math.log10(abs(value))))


def differences(was: Any, now: Any, where: str = "plan") -> Iterator[str]:
    """Each difference on a line: where, what it was, what it is. Things with a name are matched by it."""
    if isinstance(was, dict) and isinstance(now, dict):
        for key in dict.fromkeys((*was, *now)):
            yield from differences(was.get(key, "—"), now.get(key, "—"), f"{where} / {key}")
    elif isinstance(was, list) and isinstance(now, list):
        olds, news = _named(was), _named(now)
        for name in dict.fromkeys((*olds, *news)):
            yield from differences(olds.get(name, "—"), news.get(name, "—"), f"{where} / {name}")
    elif not _same(was, now):
        yield f"{where}: {_short(was)} → {_short(now)}"


def _named(entries: list[Any]) -> dict[str, Any]:
    names = [str(entry.get("name", n)) if isinstance(entry, dict) else str(n) for n, entry in enumerate(entries)]
    return dict(zip(names if len(set(names)) == len(names) else map(str, range(len(names))), entries, strict=True))


def _same(was: Any, now: Any) -> bool:
    if isinstance(was, bool) or isinstance(now, bool) or was is None or now is None:
        return was is now
    if isinstance(was, (int, float)) and isinstance(now, (int, float)):
        small = SMALL if max(abs(was), abs(now)) >= SMALL else 0.0
        return math.isclose(was, now, rel_tol=NEAR_RATIO, abs_tol=small / 2)
    if isinstance(was, str) and isinstance(now, str):
        figures = [[float(found) for found in NUMBER.findall(words)] for words in (was, now)]
        alike = NUMBER.sub("0", was) == NUMBER.sub("0", now) and len(figures[0]) == len(figures[1])
        return alike and all(math.isclose(a, b, rel_tol=0.1, abs_tol=SMALL) for a, b in zip(*figures, strict=True))
    return bool(was == now)


def _short(value: Any) -> str:
    words = str(value)
    return words if len(words) <= 160 else words[:157] + "…"
