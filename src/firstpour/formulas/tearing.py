"""How much energy a nick in stretched rubber offers to tear it on."""

import math

from firstpour.formulas.limits import positive, within

_REMEDY = "Give modulus, nick and stretch as positive numbers."
MOST_STRETCH_RATIO = 5.0


def strain_energy_mj_m3(*, modulus_mpa: float, stretch_ratio: float) -> float:
    r"""Energy density of a rubber stretched one way by `stretch_ratio` of its length, MJ/m³ (= N/mm²).

    .. math:: W = \frac{E}{6}\left(\lambda^2 + \frac{2}{\lambda} - 3\right), \quad \lambda = 1 + s

    Raises
    ------
    OutOfRange
        If the modulus is not above zero or the stretch is outside 0 to 5.

    References
    ----------
    Treloar, The Physics of Rubber Elasticity, 3rd ed., ch. 4: the Gaussian network, G = E/3 (from memory).

    >>> round(strain_energy_mj_m3(modulus_mpa=0.6, stretch_ratio=1.0), 3)
    0.2
    """
    positive(modulus_mpa, what="modulus", unit="MPa", remedy=_REMEDY)
    within(stretch_ratio, low=0.0, high=MOST_STRETCH_RATIO, what="stretch", unit="", remedy=_REMEDY)
    longer = 1 + stretch_ratio
    return modulus_mpa / 6 * (longer**2 + 2 / longer - 3)


def tearing_energy_n_mm(*, modulus_mpa: float, stretch_ratio: float, nick_mm: float) -> float:
    r"""Energy that an edge nick of length c sets free for each mm² it grows by, N/mm: :math:`G = 2 K W c`.

    :math:`K = 3/\sqrt{\lambda}`.

    Raises
    ------
    OutOfRange
        If a quantity is not above zero or the stretch is outside 0 to 5.

    References
    ----------
    Rivlin & Thomas, J. Polym. Sci. 10 (1953) 291-318, doi:10.1002/pol.1953.120100303; Greensmith, J. Appl. Polym.
    Sci. 7
    (1963) 993-1002, doi:10.1002/app.1963.070070316 (K measured; both from memory)

    >>> round(tearing_energy_n_mm(modulus_mpa=0.6, stretch_ratio=1.0, nick_mm=1.0), 3)
    0.849
    """
    positive(nick_mm, what="nick", unit="mm", remedy=_REMEDY)
    energy = strain_energy_mj_m3(modulus_mpa=modulus_mpa, stretch_ratio=stretch_ratio)
    return 2 * 3 / math.sqrt(1 + stretch_ratio) * energy * nick_mm
