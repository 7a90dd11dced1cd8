"""How far silicone must stretch to come off a part."""

import math

from firstpour.formulas.limits import positive, within

LIP_SHARE, PLUG_SHARE = 1.5, 0.5
"""How far a thick ring and a plug give under the same pressure, in units of radius × pressure ÷ modulus."""


def lip_stretch_ratio(*, lip_mm: float, bulge_mm: float) -> float:
    r"""Stretch around a closed lip of perimeter `lip_mm` that passes a bulge of perimeter `bulge_mm`.

    .. math:: \varepsilon = \max(0, P_{bulge} / P_{lip} - 1)

    A band's length is all that counts, not how deep the undercut is against the wall. Held by finite elements of
    large strain in the tests: no place of the silicone is stretched further (decision 0020).

    >>> round(lip_stretch_ratio(lip_mm=36, bulge_mm=44), 3)
    0.222
    """
    return max(0.0, bulge_mm / _length(lip_mm, "lip") - 1.0)


def plug_squeeze_ratio(*, plug_mm: float, neck_mm: float) -> float:
    r"""How much narrower a plug of perimeter `plug_mm` becomes in a neck of perimeter `neck_mm`.

    .. math:: q = \max(0, 1 - P_{neck} / P_{plug})

    >>> round(plug_squeeze_ratio(plug_mm=44, neck_mm=36), 3)
    0.182
    """
    return max(0.0, 1.0 - _length(neck_mm, "neck") / _length(plug_mm, "plug"))


def plug_stretch_ratio(squeeze_ratio: float) -> float:
    r"""Stretch along a plug that is squeezed by `squeeze_ratio`: rubber keeps its volume, so it grows longer.

    .. math:: \varepsilon = (1 - q)^{-2} - 1

    Held by finite elements of large strain in the tests (decision 0020).

    Raises
    ------
    OutOfRange
        If the squeeze is not at least 0 and below 1.

    >>> round(plug_stretch_ratio(8 / 44), 3)
    0.494
    """
    within(squeeze_ratio, low=0, high=0.999, what="squeeze", unit="ratio", remedy="Open the neck.")
    return (1.0 - squeeze_ratio) ** -2 - 1.0


def bent_tongue_ratio(*, thick_mm: float, long_mm: float) -> float:
    r"""Stretch on the outside of a tongue that is bent through a right angle as it is drawn out of its slot.

    .. math:: \varepsilon = t / (2 \rho), \quad \rho = l / \pi

    Bending of a thin strip, over half of its length, because the slot holds the rest (our own estimate).

    >>> round(bent_tongue_ratio(thick_mm=2, long_mm=10), 3)
    0.314
    """
    return math.pi * thick_mm / (2.0 * _length(long_mm, "tongue"))


def swung_wall_ratio(*, give_mm: float, wall_mm: float, high_mm: float, wide_mm: float) -> float:
    r"""Stretch of a wall of silicone that swings out by `give_mm` over its height and bows over its width.

    .. math:: \varepsilon = \frac{3 w c}{2 h^2} + \frac{8 c^2}{3 b^2}

    A cantilever with its tip moved by c, and the length of a flat arc of rise c over a chord b (our own sum of
    the two, decision 0020).

    >>> round(swung_wall_ratio(give_mm=2, wall_mm=8, high_mm=20, wide_mm=40), 4)
    0.0667
    """
    bend = 1.5 * wall_mm * give_mm / _length(high_mm, "wall") ** 2
    return bend + 8.0 / 3.0 * (give_mm / _length(wide_mm, "wall")) ** 2


def silicone_share_ratio(*, silicone_mpa: float, copy_mpa: float, plug: bool = False) -> float:
    r"""The silicone's share of the give where the copy is soft as well; the copy's modulus `copy_mpa` inf is rigid.

    Ring and core press on each other alike; each gives by its radius × pressure ÷ modulus times 1.5 (a ring whose
    outside is far off) or 0.5 (a solid core), Lamé's thick cylinders in plane stress at ν = ½. With `plug` the
    silicone is the core and the copy the ring.

    Raises
    ------
    OutOfRange
        If a modulus is not above 0.

    References
    ----------
    Timoshenko & Goodier, *Theory of Elasticity*, § 28 (thick cylinders; from memory)

    >>> silicone_share_ratio(silicone_mpa=1, copy_mpa=1), silicone_share_ratio(silicone_mpa=1, copy_mpa=1, plug=True)
    (0.75, 0.25)
    """
    positive(silicone_mpa, what="modulus of the silicone", unit="MPa", remedy="Give the modulus in MPa.")
    if copy_mpa == math.inf:
        return 1.0
    positive(copy_mpa, what="modulus of the copy", unit="MPa", remedy="Give the modulus in MPa.")
    silicone, copy = (PLUG_SHARE, LIP_SHARE) if plug else (LIP_SHARE, PLUG_SHARE)
    return (silicone / silicone_mpa) / (silicone / silicone_mpa + copy / copy_mpa)


def _length(value_mm: float, what: str) -> float:
    return positive(value_mm, what=f"length of the {what}", unit="mm", remedy="Give a length above 0.")
