"""Hardness and stiffness: what a Shore number means as a modulus, and how the scales relate."""

from statistics import NormalDist

import numpy as np

from firstpour.formulas.limits import within

_REMEDY = "Ask for a hardness inside the range, or measure the modulus itself."

A_TO_D_CHART = (
    (50.0, 12.0),
    (60.0, 16.0),
    (70.0, 22.0),
    (75.0, 25.0),
    (80.0, 29.0),
    (85.0, 33.0),
    (90.0, 39.0),
    (95.0, 46.0),
    (100.0, 58.0),
)
"""Shore A beside Shore D where both scales read: a common overlap chart, ±3 points at best (from memory)."""

IRHD_MIDDLE_LOG10_MPA = 0.364
IRHD_SPREAD_LOG10_MPA = 0.70


def gent_modulus_mpa(shore_a: float) -> float:
    r"""Young's modulus in MPa of a rubber of hardness Shore A.

    .. math:: E = \frac{0.0981\,(56 + 7.62336\,S)}{0.137505\,(254 - 2.54\,S)}

    Raises
    ------
    OutOfRange
        Outside A 10 to A 80, where the printed values stop.

    References
    ----------
    Gent, "On the relation between indentation hardness and Young's modulus",
    Rubber Chem. Technol. 31 (1958) 896-906, doi:10.5254/1.3542351 (DOI from memory)

    >>> round(gent_modulus_mpa(30), 4)
    1.1424
    """
    within(shore_a, low=10, high=80, what="hardness", unit="Shore A", remedy=_REMEDY)
    return 0.0981 * (56 + 7.62336 * shore_a) / (0.137505 * (254 - 2.54 * shore_a))


def gent_shore_a(modulus_mpa: float) -> float:
    """Shore A of a rubber of Young's modulus `modulus_mpa`: `gent_modulus_mpa` turned round.

    Raises
    ------
    OutOfRange
        If the modulus belongs to a hardness outside A 10 to A 80.

    >>> round(gent_shore_a(1.1424), 2)
    30.0
    """
    scaled = 0.137505 * modulus_mpa / 0.0981
    shore_a = (254 * scaled - 56) / (7.62336 + 2.54 * scaled)
    return within(shore_a, low=10, high=80, what="hardness", unit="Shore A", remedy=_REMEDY)


def log_modulus_mpa(scale_points: float) -> float:
    r"""Young's modulus in MPa from one number over both Shore scales: S = Shore A, or Shore D + 50.

    .. math:: \log_{10} E = 0.0235\,S - 0.6403

    A widely copied version with exp in place of the power of ten is wrong.

    Raises
    ------
    OutOfRange
        Outside S = 20 to 135 (A 20-80, D 30-85).

    References
    ----------
    Qi, Joyce & Boyce, "Durometer hardness and the stress-strain behavior of elastomeric materials",
    Rubber Chem. Technol. 76 (2003) 419-435, doi:10.5254/1.3547752 (from memory)

    >>> round(log_modulus_mpa(30), 3)
    1.161
    """
    within(scale_points, low=20, high=135, what="hardness", unit="(A, or D + 50)", remedy=_REMEDY)
    return float(10 ** (0.0235 * scale_points - 0.6403))


def modulus_from_irhd(irhd: float) -> float:
    r"""Young's modulus in MPa of a rubber at `irhd` international rubber hardness degrees.

    .. math:: \log_{10} E = 0.364 + 0.70\,\Phi^{-1}(H/100)

    Raises
    ------
    OutOfRange
        Outside 10 to 95 degrees.

    References
    ----------
    ISO 48-2, the curve between modulus and IRHD (from memory).

    >>> round(modulus_from_irhd(50), 2)
    2.31
    """
    within(irhd, low=10, high=95, what="hardness", unit="IRHD", remedy=_REMEDY)
    return float(10 ** (IRHD_MIDDLE_LOG10_MPA + IRHD_SPREAD_LOG10_MPA * NormalDist().inv_cdf(irhd / 100)))


def shore_d_from_shore_a(shore_a: float) -> float:
    """Shore D beside a Shore A reading, straight between the points of the overlap chart; ±3 points at best.

    Raises
    ------
    OutOfRange
        Outside A 50 to A 100: there is no exact conversion and the chart stops.

    >>> shore_d_from_shore_a(90)
    39.0
    """
    return _along_chart(shore_a, A_TO_D_CHART, unit="Shore A")


def shore_a_from_shore_d(shore_d: float) -> float:
    """Shore A beside a Shore D reading: the overlap chart read the other way.

    Raises
    ------
    OutOfRange
        Outside D 12 to D 58.

    >>> shore_a_from_shore_d(39)
    90.0
    """
    return _along_chart(shore_d, tuple((d, a) for a, d in A_TO_D_CHART), unit="Shore D")


def _along_chart(value: float, chart: tuple[tuple[float, float], ...], *, unit: str) -> float:
    within(value, low=chart[0][0], high=chart[-1][0], what="hardness", unit=unit, remedy=_REMEDY)
    return float(np.interp(value, [one for one, _ in chart], [other for _, other in chart]))
