"""What a benchmark module provides, and how it measures.

A module in this folder defines `run() -> list[Row]`; `python -m benchmarks` finds it by that, runs all (or those
named on the command line) and prints one table. The contract:

- Measure ours and the peer in the same run, in turn (`paired`), so that both meet the same machine; `timed` is for
  a line without a peer. Both warm up first and give medians, so compiling is not counted.
- Check before measuring that ours and the peer find the same thing (an assert with a tolerance and a reason).
- What judges is a floor on the ratio peer / ours (`at_least_ratio`), or a ceiling (`at_most`) on a figure that is no
  time. A ceiling on milliseconds is an aim on a quiet machine: it is shown, and a busy machine does not fail by it.
- Where the peer is measured on a part of the work and multiplied, `what` or `peer` says so.
- A module takes well under a minute; what it needs beyond the package comes with the `dev` extra.
"""

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter, sleep

from firstpour.values import Mesh

Work = Callable[[], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table: our median, the peer's, and what was asked for."""

    what: str
    ours: float
    unit: str = "ms"
    peer: str = ""
    peers: float | None = None
    """The peer's median, in `unit`."""
    at_most: float | None = None
    at_least_ratio: float | None = None

    @property
    def ratio(self) -> float | None:
        """How many times faster than the peer we are."""
        return None if self.peers is None else self.peers / self.ours

    @property
    def is_time(self) -> bool:
        """Whether our figure is a time: the machine's as much as ours."""
        return self.unit == "ms"

    @property
    def target(self) -> str:
        """What was asked for, in words."""
        parts = []
        if self.at_most is not None:
            parts.append(("aim " if self.is_time else "") + f"≤ {self.at_most:g} {self.unit}".rstrip())
        if self.at_least_ratio is not None:
            parts.append(f"≥ {self.at_least_ratio:g}×")
        return ", ".join(parts)

    @property
    def met(self) -> bool | None:
        """Whether all that judges was reached; None if nothing does.

        >>> Row(what="a cut", ours=5.0, at_most=4.0).met is None
        True
        >>> Row(what="a cut", ours=3.0, peer="a peer", peers=30.0, at_most=4.0, at_least_ratio=20).met
        False
        >>> Row(what="a slope", ours=1.0, unit="", at_most=1.1).met
        True
        """
        asked = []
        if self.at_most is not None and not self.is_time:
            asked.append(self.ours <= self.at_most)
        if self.at_least_ratio is not None:
            asked.append(self.ratio is not None and self.ratio >= self.at_least_ratio)
        return all(asked) if asked else None


def anew(mesh: Mesh) -> Mesh:
    """The same mesh as another value: what was worked out of it before is not found again."""
    return Mesh(vertices_mm=mesh.vertices_mm, faces=mesh.faces)


REST_S = 0.03
"""Rest before a measurement beside a peer: its threads spin for a while after their work, which would count to us."""


def once_ms(work: Work) -> float:
    """Milliseconds that `work` takes, once."""
    start = perf_counter()
    work()
    return 1000.0 * (perf_counter() - start)


def timed(work: Work, n: int) -> float:
    """Median of `n` runs in ms, after one to warm up."""
    work()
    return median(once_ms(work) for _ in range(n))


def paired(ours: Work, peer: Work, n: int) -> tuple[float, float]:
    """Medians of `n` runs each in ms, ours and the peer's in turn, each after a rest and one to warm up."""
    pairs = [(_rested_ms(ours), _rested_ms(peer)) for _ in range(n)]
    return median(pair[0] for pair in pairs), median(pair[1] for pair in pairs)


def _rested_ms(work: Work) -> float:
    sleep(REST_S)
    work()
    return once_ms(work)
