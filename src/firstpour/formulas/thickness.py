"""How much a filler thickens a liquid."""

from firstpour.formulas.limits import within

CLOSEST_PACKING = 0.64
"""Equal spheres poured at random fill so much of their room (random close packing)."""
MOST_OF_PACKING = 0.95


def filled_ratio(filler_ratio: float) -> float:
    r"""Viscosity with filler over that without: :math:`(1 - \phi/\phi_m)^{-2.5\,\phi_m}`; φ is a share by volume.

    Rigid spheres in a liquid sheared slowly; for little filler it is Einstein's 1 + 2.5 φ.

    Raises
    ------
    OutOfRange
        If φ is below 0 or above 95 % of the closest packing of spheres: nothing flows any more.

    References
    ----------
    Krieger & Dougherty, "A mechanism for non-Newtonian flow in suspensions of rigid spheres", Trans. Soc. Rheol. 3
    (1959) 137-152, doi:10.1122/1.548848 (from memory)

    >>> round(filled_ratio(0.3), 2)
    2.75
    """
    within(
        filler_ratio,
        low=0.0,
        high=MOST_OF_PACKING * CLOSEST_PACKING,
        what="share of filler by volume",
        unit="",
        remedy="Take less filler: so much makes a dough that cannot be poured.",
    )
    return float((1 - filler_ratio / CLOSEST_PACKING) ** (-2.5 * CLOSEST_PACKING))
