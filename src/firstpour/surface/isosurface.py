"""The closed surface of a field on a grid: the checked way into the compiled loops."""

import numpy as np

from firstpour.errors import BadRequest
from firstpour.kernels import isosurface as kernel
from firstpour.values import FloatArray, Mesh


def isosurface_mesh(values: FloatArray, *, level: float, origin_mm: FloatArray, pitch_mm: float) -> Mesh:
    """The solid where `values` (nz, ny, nx) lie below `level`, as a closed mesh; node (0, 0, 0) at `origin_mm`.

    A distance field gives the part grown by `level` mm. Sharp edges are rounded over about one pitch.

    Raises
    ------
    BadRequest
        If the field is not a finite grid of at least 3 nodes a side, the pitch not positive, nothing lies inside,
        or the surface reaches the outermost nodes.

    >>> z, y, x = np.meshgrid(*[np.arange(-3.0, 4.0)] * 3, indexing="ij")
    >>> distance_mm = np.sqrt(x**2 + y**2 + z**2)
    >>> ball = isosurface_mesh(distance_mm, level=2.0, origin_mm=np.full(3, -3.0), pitch_mm=1.0)
    >>> len(ball.vertices_mm) - len(ball.faces) // 2  # 2 for a closed surface without a hole through it
    2
    """
    values = np.ascontiguousarray(values, dtype=np.float64)
    if values.ndim != 3 or min(values.shape) < 3:
        raise BadRequest(f"a field of shape {values.shape}", remedy="give a grid of at least 3 × 3 × 3 nodes")
    if not np.isfinite(values).all() or not np.isfinite(level):
        raise BadRequest("the field has values that are not numbers", remedy="give finite distances everywhere")
    if not pitch_mm > 0:
        raise BadRequest(f"a pitch of {pitch_mm} mm", remedy="give a pitch above 0 mm")
    shell = [values[[0, -1]], values[:, [0, -1]], values[:, :, [0, -1]]]
    if min(side.min() for side in shell) < level:
        raise BadRequest("the surface reaches the edge of its grid", remedy="widen the grid by a node or two")
    if not (values < level).any():
        raise BadRequest(f"nothing of the field lies below {level}", remedy="raise the level or refine the grid")
    vertices_mm, faces = kernel.isosurface(values, level, np.asarray(origin_mm, np.float64), pitch_mm)
    return Mesh(vertices_mm=vertices_mm, faces=faces)
