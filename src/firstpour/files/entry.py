"""What every table of plan.json, and of the commands' JSON, is made of."""

from collections.abc import Sequence
from itertools import pairwise

from pydantic import BaseModel, ConfigDict, Field

from firstpour.values import Finding, FloatArray, Severity

Vector = tuple[float, float, float]
Row = tuple[float, float, float, float]
Way = tuple[Row, Row, Row]
"""Turn and shift of points."""
PLACES_MM = 3
"""Places are given to a thousandth of a millimetre."""


class Entry(BaseModel):
    """Fixed keys, nothing else."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, from_attributes=True)


class FindingEntry(Entry):
    """What a stage noticed: how bad, what, where, and what to do about it."""

    severity: Severity
    code: str = Field(description="One of the codes in docs/findings.md.")
    what: str
    remedy: str
    where: str | None = None


def finding_entries(findings: Sequence[Finding]) -> list[FindingEntry]:
    """Findings, the worst first, in their order otherwise."""
    worst_first = sorted(findings, key=lambda finding: -list(Severity).index(finding.severity))
    return [FindingEntry.model_validate(finding) for finding in worst_first]


def vector(values: FloatArray | Sequence[float]) -> Vector:
    """Three numbers as plain floats, minus zero as zero.

    >>> vector([1, 2.5, -0.0])
    (1.0, 2.5, 0.0)
    """
    x, y, z = (float(value) + 0.0 for value in values)
    return (x, y, z)


def place(values_mm: FloatArray | Sequence[float]) -> Vector:
    """A place to a thousandth of a millimetre.

    >>> place([1.00049, 2, -0.0001])
    (1.0, 2.0, 0.0)
    """
    x, y, z = (round(float(value), PLACES_MM) + 0.0 for value in values_mm)
    return (x, y, z)


def way(rows: FloatArray) -> Way:
    """Turn and shift (3, 4) as plain floats, minus zero as zero."""
    first, second, third = (_row(values) for values in rows)
    return (first, second, third)


def _row(values: FloatArray) -> Row:
    x, y, z, shift = (float(value) + 0.0 for value in values)
    return (x, y, z, shift)


def loop_length_mm(loop: FloatArray) -> float:
    """Length of a closed line (k, 3), whether or not its first point is repeated at its end."""
    closed = [*loop.tolist(), loop[0].tolist()]
    return float(sum(_distance(a, b) for a, b in pairwise(closed)))


def _distance(a: Sequence[float], b: Sequence[float]) -> float:
    return float(sum((x - y) ** 2 for x, y in zip(a, b, strict=True)) ** 0.5)
