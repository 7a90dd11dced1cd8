"""A wedge foot to print: it tilts the box by the angle the pour wants."""

import numpy as np

from firstpour.errors import OutOfRange
from firstpour.fill.pour import WEDGE_DEG
from firstpour.values import Mesh

ROUNDED_DEG = 1e-6
"""A direction turned by exactly the largest tilt may come out above it by rounding."""
FLOOR_MM = 2.0


def wedge_foot(*, length_mm: float, width_mm: float, tilt_deg: float) -> Mesh:
    """A closed wedge (mm), `length_mm` along x and `width_mm` along y, its top rising by `tilt_deg` towards +x.

    The thin end is `FLOOR_MM` high. Stand the box on it with the side that should be higher over the thick end.

    Raises
    ------
    OutOfRange
        If the tilt is not above 0 and at most 15° (beyond it the box slides: cradle it), or a length is not positive.

    >>> wedge_foot(length_mm=60, width_mm=40, tilt_deg=10).vertices_mm[:, 2].max().round(2)
    np.float64(12.58)
    """
    if not 0 < tilt_deg <= WEDGE_DEG + ROUNDED_DEG:
        raise OutOfRange(f"a wedge of {tilt_deg:g}°", remedy=f"give more than 0 and at most {WEDGE_DEG:g}°")
    if not (length_mm > 0 and width_mm > 0):
        raise OutOfRange(f"a wedge {length_mm:g} mm by {width_mm:g} mm", remedy="give both above 0")
    rise = length_mm * np.tan(np.radians(tilt_deg))
    corners = [
        (x * length_mm, y * width_mm, 0.0 if low else FLOOR_MM + x * rise)
        for low in (True, False)
        for y in (0, 1)
        for x in (0, 1)
    ]
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = [tri for a, b, c, d in quads for tri in ((a, b, c), (a, c, d))]
    return Mesh(vertices_mm=np.array(corners), faces=np.array(faces))
