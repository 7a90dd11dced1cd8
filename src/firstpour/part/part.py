"""The part: one closed solid with its marks, as every later stage takes it."""

from dataclasses import dataclass, field
from enum import IntFlag
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstpour.values import Finding, IntArray, Mesh, frozen_array


class FaceMark(IntFlag):
    """What a face is for. A face without a mark may be seen, but nobody minds."""

    NONE = 0
    SHOW = 1
    """Must look good: no seam, gate, vent or air pocket if it can be helped."""
    HIDDEN = 2
    """Nobody sees it: seam, gate, vents and air go here first."""
    KEEP_CLEAR = 4
    """Fits something: no gate and no vent."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """A closed, outward-wound solid in mm; `marks` (m,) uint8 holds one `FaceMark` a face.

    `source_face` (m,) is each face's number in the file, −1 for one that a repair added; not given: as they stand.
    `faces_read` is how many faces the file had.
    """

    name: str
    mesh: Mesh
    marks: NDArray[np.uint8]
    bodies: int = 1
    findings: tuple[Finding, ...] = field(default=())
    source: Path | None = None
    source_face: IntArray | None = None
    faces_read: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "marks", frozen_array(self.marks, np.uint8))
        if self.source_face is not None:
            object.__setattr__(self, "source_face", frozen_array(self.source_face, np.int64))


def marked(part: Part, mark: FaceMark) -> NDArray[np.bool_]:
    """Which faces carry `mark`: (m,) bool."""
    carries: NDArray[np.bool_] = (part.marks & int(mark)) != 0
    return carries
