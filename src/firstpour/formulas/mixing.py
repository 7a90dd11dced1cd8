"""Two parts into one: densities, ratios and what the scale's step does to them."""

import math

from firstpour.formulas.limits import positive

_DENSITY_REMEDY = "Take the density from the data sheet, or weigh a filled 100 ml measure and divide."
_RATIO_REMEDY = "Give the mix ratio of the data sheet, e.g. 100:90."
_SCALE_REMEDY = "Give the smallest step that the scale shows, in g."


def mixed_density_g_ml(*, a_g: float, b_g: float, density_a_g_ml: float, density_b_g_ml: float) -> float:
    r"""Density of A and B mixed, volumes adding: :math:`\rho = (a+b)/(a/\rho_a + b/\rho_b)`, in g/ml.

    Raises
    ------
    OutOfRange
        If an amount or a density is zero, negative or not finite.

    >>> round(mixed_density_g_ml(a_g=100, b_g=90, density_a_g_ml=1.05, density_b_g_ml=1.02), 6)
    1.035573
    """
    for amount_g in (a_g, b_g):
        positive(amount_g, what="amount in the mix ratio", unit="g", remedy=_RATIO_REMEDY)
    for density_g_ml in (density_a_g_ml, density_b_g_ml):
        positive(density_g_ml, what="density", unit="g/ml", remedy=_DENSITY_REMEDY)
    return (a_g + b_g) / (a_g / density_a_g_ml + b_g / density_b_g_ml)


def b_by_weight(*, b_per_100_a_by_volume: float, density_a_g_ml: float, density_b_g_ml: float) -> float:
    """Parts of B by weight to 100 parts of A, from the parts by volume.

    Raises
    ------
    OutOfRange
        If the ratio or a density is zero, negative or not finite.

    >>> round(b_by_weight(b_per_100_a_by_volume=100, density_a_g_ml=1.05, density_b_g_ml=1.02), 3)
    97.143
    """
    positive(b_per_100_a_by_volume, what="mix ratio", unit="B to 100 A", remedy=_RATIO_REMEDY)
    for density_g_ml in (density_a_g_ml, density_b_g_ml):
        positive(density_g_ml, what="density", unit="g/ml", remedy=_DENSITY_REMEDY)
    return b_per_100_a_by_volume * density_b_g_ml / density_a_g_ml


def ratio_uncertainty(*, a_g: float, b_g: float, step_g: float) -> float:
    r"""Standard uncertainty of the ratio A:B, as a share of it, left by a scale that shows steps of d.

    .. math:: u_r = \frac{d}{\sqrt{12}} \sqrt{\frac{1}{a^2} + \frac{1}{b^2}}

    Each weighing is uniform within ±d/2, standard uncertainty d/√12; a quotient adds the relative ones in squares.

    Raises
    ------
    OutOfRange
        If an amount or the step is zero, negative or not finite.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7 and 5.1.6 (clause numbers from memory)

    >>> round(ratio_uncertainty(a_g=200, b_g=20, step_g=1.0), 6)
    0.014506
    """
    for amount_g in (a_g, b_g):
        positive(amount_g, what="amount to weigh", unit="g", remedy=_RATIO_REMEDY)
    positive(step_g, what="step of the scale", unit="g", remedy=_SCALE_REMEDY)
    return step_g / math.sqrt(12) * math.hypot(1 / a_g, 1 / b_g)


def smallest_batch_g(*, a_share: float, step_g: float, tolerance_ratio: float, coverage: float = 2.0) -> float:
    """Mass of A and B together at which `coverage` × the ratio's standard uncertainty equals the tolerance.

    `a_share` is A's share of the mass, between 0 and 1. The mass is inversely proportional to the tolerance.

    Raises
    ------
    OutOfRange
        If the share is not inside 0 to 1, or the step or tolerance is not above zero.

    References
    ----------
    JCGM 100:2008 (GUM), 6.2: expanded uncertainty, coverage factor 2 (from memory)

    >>> round(smallest_batch_g(a_share=10 / 11, step_g=0.1, tolerance_ratio=0.02), 2)
    31.91
    """
    positive(tolerance_ratio, what="tolerance of the mix ratio", unit="", remedy="Give it as a share, e.g. 0.02.")
    positive(a_share, what="share of A", unit="", remedy=_RATIO_REMEDY)
    unit_ratio = ratio_uncertainty(a_g=a_share, b_g=1 - a_share, step_g=step_g)
    return coverage * unit_ratio / tolerance_ratio
