"""Where a channel leaves the block, and to which level it stands full before it runs out there."""

from collections.abc import Sequence

import numpy as np

from firstpour.fill.routes import Ground
from firstpour.fill.values import Channel
from firstpour.values import Finding, FloatArray, Severity, place_words

WORTH_SAYING_MM = 1.0
"""A vent that runs over by less below the level in the gate is not told."""


def runs_over_at_mm(ground: Ground, channel: Channel) -> float:
    """The level along up at which what stands in the channel runs out: the lowest place of its mouth.

    The mouth is the disc of its end radius where the last stretch leaves the side of the block; in a side that looks
    askew its lowest place lies `radius · sin` of the angle between that side and up under its middle.
    """
    point, side = _mouth(ground, channel.path_mm)
    sine = float(np.sqrt(max(0.0, 1.0 - float(side @ ground.up) ** 2)))
    return float(point @ ground.up) - sine * channel.radius_end_mm


def _mouth(ground: Ground, path_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The point (3,) where a path leaves the block, and which way that side of the block looks (3,)."""
    start, end = path_mm[-2] @ ground.box.T, path_mm[-1] @ ground.box.T
    way = end - start
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = np.where(way > 0, (ground.high_mm - start) / way, (ground.low_mm - start) / way)
    shares = np.where(np.abs(way) > 1e-9, shares, np.inf)
    axis = int(np.argmin(shares))
    side = np.sign(way[axis]) * ground.box[axis]
    point: FloatArray = path_mm[-2] + float(np.clip(shares[axis], 0.0, 1.0)) * (path_mm[-1] - path_mm[-2])
    return point, side


def runs_over_findings(ground: Ground, gates: Sequence[Channel], vents: Sequence[Channel]) -> list[Finding]:
    """Say which vents run over before the gate stands full."""
    if not gates:
        return []
    full_mm = min(runs_over_at_mm(ground, gate) for gate in gates)
    found = []
    for vent in vents:
        below_mm = full_mm - runs_over_at_mm(ground, vent)
        if below_mm > WORTH_SAYING_MM:
            found.append(_runs_over(vent, below_mm))
    return found


def _runs_over(vent: Channel, below_mm: float) -> Finding:
    return Finding(
        severity=Severity.INFO,
        code="vent-runs-over",
        what=f"the mouth of this vent lies {below_mm:.0f} mm below the level to which the gate is filled: "
        "what is poured runs out of it first",
        remedy="have a dab of clay ready: close the vent as soon as the material stands in it, then fill the gate up",
        where=place_words(vent.at_mm),
    )
