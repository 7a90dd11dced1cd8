"""A heap of triangles as a file gives it, before anything is known of how they meet."""

from dataclasses import dataclass

from firstpour.values import Finding, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heap:
    """`vertices` (n, 3) in the file's unit and `faces` (m, 3); `mm_per_unit` where the file itself says its unit."""

    vertices: FloatArray
    faces: IntArray
    mm_per_unit: float | None = None
    findings: tuple[Finding, ...] = ()
