"""What holds a fresh layer to the film of a vat printer. For ranking: real films flex, so no newton is promised."""

import math

from firstpour.errors import OutOfRange

ATMOSPHERE_PA = 101_325.0
"""The standard atmosphere (exact by definition, 10th CGPM, 1954)."""

PA_MM2_TO_N = 1e-6


def stefan_force_n(*, radius_mm: float, gap_mm: float, speed_mm_s: float, viscosity_pa_s: float) -> float:
    r"""Force that pulls a flat disc off a flat floor with a film of liquid between.

    .. math:: F = 3 \pi \mu R^4 v / (2 h^3)

    Raises
    ------
    OutOfRange
        If a figure is not above 0 (`radius_mm` may be 0), or `gap_mm` is above a tenth of `radius_mm`: the film must
        be thin against the disc (our own limit).

    References
    ----------
    Stefan, "Versuche über die scheinbare Adhäsion", Sitzungsberichte der Akademie der Wissenschaften Wien 69 (1874)
    713-735.

    >>> round(stefan_force_n(radius_mm=10, gap_mm=0.1, speed_mm_s=1, viscosity_pa_s=0.3), 4)
    14.1372
    """
    _positive(gap_mm=gap_mm, speed_mm_s=speed_mm_s, viscosity_pa_s=viscosity_pa_s)
    if radius_mm == 0.0:
        return 0.0
    if not radius_mm >= 10.0 * gap_mm:
        raise OutOfRange(
            f"a disc of radius {radius_mm} mm on a film of {gap_mm} mm",
            remedy="use it only where the film is thinner than a tenth of the radius",
        )
    return 3.0 * math.pi * viscosity_pa_s * radius_mm**4 * speed_mm_s / (2.0 * gap_mm**3) * PA_MM2_TO_N


def section_force_n(
    *, area_mm2: float, perimeter_mm: float, gap_mm: float, speed_mm_s: float, viscosity_pa_s: float
) -> float:
    r"""Stefan's pull on a section of any outline, never above the weight of the air on it.

    .. math:: F = \min(p_{atm} A,\; \tfrac32 \mu v (2A/P)^2 A / h^3)

    2A/P is the radius of a disc and the width of a long strip or a thin ring, so a disc gets Stefan's own value and a
    long strip 1.5 times that of lubrication theory (mean pressure μ v w²/h³): an estimate of our own, on the safe
    side.

    Raises
    ------
    OutOfRange
        If `area_mm2` or `perimeter_mm` is below 0, or another figure is not above 0.

    >>> round(section_force_n(area_mm2=math.pi * 100, perimeter_mm=math.pi * 20, gap_mm=0.1,
    ...                       speed_mm_s=1, viscosity_pa_s=0.3), 4)
    14.1372
    """
    _positive(gap_mm=gap_mm, speed_mm_s=speed_mm_s, viscosity_pa_s=viscosity_pa_s)
    if area_mm2 < 0.0 or perimeter_mm < 0.0:
        raise OutOfRange(f"a section of {area_mm2} mm², {perimeter_mm} mm round", remedy="give figures of 0 or more")
    if area_mm2 == 0.0 or perimeter_mm == 0.0:
        return 0.0
    width_mm = 2.0 * area_mm2 / perimeter_mm
    pressure_pa = 1.5 * viscosity_pa_s * speed_mm_s * width_mm**2 / gap_mm**3
    return min(ATMOSPHERE_PA, pressure_pa) * area_mm2 * PA_MM2_TO_N


def shut_hollow_force_n(*, area_mm2: float, pressure_drop_pa: float) -> float:
    """Pull of a shut hollow sealed against the film: F = Δp·A.

    Raises
    ------
    OutOfRange
        If `area_mm2` is below 0, or `pressure_drop_pa` is below 0 or above one atmosphere: a vacuum pulls no harder.

    >>> round(shut_hollow_force_n(area_mm2=math.pi * 15**2, pressure_drop_pa=20_000), 3)
    14.137
    """
    if not 0.0 <= pressure_drop_pa <= ATMOSPHERE_PA:
        raise OutOfRange(f"a pressure drop of {pressure_drop_pa} Pa", remedy=f"give 0 to {ATMOSPHERE_PA:.0f} Pa")
    if not area_mm2 >= 0.0:
        raise OutOfRange(f"a shut hollow of {area_mm2} mm²", remedy="give an area of 0 mm² or more")
    return pressure_drop_pa * area_mm2 * PA_MM2_TO_N


def _positive(**figures: float) -> None:
    for name, value in figures.items():
        if not (math.isfinite(value) and value > 0.0):
            raise OutOfRange(f"{name} of {value}", remedy="give a figure above 0")
