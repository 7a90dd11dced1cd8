"""A heap of triangles as a file gives it, before anything is known of how they meet."""

from dataclasses import dataclass

from firstpour.errors import UnreadablePart
from firstpour.values import Finding, FloatArray, IntArray

MOST_FACES = 3_000_000
"""Most faces of a part (our own limit): more than any print shows, and what 3 GB of memory can repair."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heap:
    """`vertices` (n, 3) in the file's unit and `faces` (m, 3); `mm_per_unit` where the file itself says its unit."""

    vertices: FloatArray
    faces: IntArray
    mm_per_unit: float | None = None
    findings: tuple[Finding, ...] = ()


def refuse_too_many_faces(faces: int) -> None:
    """Refuse a file that holds more faces than `MOST_FACES`, or points as many.

    Raises
    ------
    UnreadablePart
        If `faces` is above the limit.
    """
    if faces > MOST_FACES:
        raise UnreadablePart(
            f"the file holds more than {MOST_FACES} faces",
            remedy="reduce its faces in the program that made it: 500000 show all that a print can",
        )
