"""A route that will not do, and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """What was left out, the reason, what would let it in, and by how many points of hardness it misses."""

    name: str
    reason: str
    remedy: str = ""
    by_points: float | None = None
