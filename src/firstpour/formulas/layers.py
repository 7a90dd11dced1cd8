"""Steps that layers leave on a surface."""

import math

from firstpour.errors import OutOfRange


def cusp_mm(*, layer_mm: float, slope_ratio: float) -> float:
    r"""Height of the step that a layer leaves, measured square to the surface.

    .. math:: c = L \, |n_z|

    `slope_ratio` is |n_z|, the part of the face's unit normal along the print direction: 0 on an upright wall,
    1 on a level face. A face that is exactly level lies in one layer and shows no step: the caller leaves it out.

    Raises
    ------
    OutOfRange
        If `layer_mm` is not above 0 or `slope_ratio` is outside 0 to 1.

    References
    ----------
    Dolenc & Mäkelä, "Slicing procedures for layered manufacturing techniques", Computer-Aided Design 26(2)
    (1994) 119-126.

    >>> round(cusp_mm(layer_mm=0.05, slope_ratio=math.cos(math.radians(30))), 6)
    0.043301
    """
    _above_zero(layer_mm, "layer height")
    if not 0.0 <= slope_ratio <= 1.0:
        raise OutOfRange(f"a slope of {slope_ratio}", remedy="give |n·d| of unit vectors, from 0 to 1")
    return layer_mm * slope_ratio


def ra_um(*, cusp_mm: float) -> float:
    """Mean roughness Ra in µm of a saw-tooth profile of height `cusp_mm`: Ra = c/4.

    The mean line lies at half height, so the mean distance from it is a quarter of the height.

    Raises
    ------
    OutOfRange
        If `cusp_mm` is below 0.

    >>> round(ra_um(cusp_mm=0.0433013), 3)
    10.825
    """
    if not cusp_mm >= 0.0:
        raise OutOfRange(f"a step of {cusp_mm} mm", remedy="give a step of 0 mm or more")
    return 250.0 * cusp_mm


def terrace_mm(*, layer_mm: float, slope_deg: float) -> float:
    """Width of one terrace on a face `slope_deg` from level: L / tan(slope).

    Raises
    ------
    OutOfRange
        If `layer_mm` is not above 0, or `slope_deg` is outside 0 to 90 (0 excluded: a level face has no second step).

    >>> round(terrace_mm(layer_mm=0.05, slope_deg=1.0), 3)
    2.864
    """
    _above_zero(layer_mm, "layer height")
    if not 0.0 < slope_deg <= 90.0:
        raise OutOfRange(f"a slope of {slope_deg}° from level", remedy="give more than 0° and at most 90°")
    return layer_mm / math.tan(math.radians(slope_deg))


def _above_zero(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise OutOfRange(f"a {name} of {value} mm", remedy=f"give a {name} above 0 mm")
