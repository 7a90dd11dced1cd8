"""How far a thin section gives way under a load: a first estimate of how a part feels."""

from firstpour.formulas.limits import positive

_REMEDY = "Give load, length, width, thickness and modulus as positive numbers."


def cantilever_deflection_mm(
    *, load_n: float, length_mm: float, width_mm: float, thickness_mm: float, modulus_mpa: float
) -> float:
    r"""Deflection in mm at the loaded end of a strip held at the other end: :math:`w = 4FL^3/(E\,b\,h^3)`.

    Small deflections of a slender beam; the caller says so where the answer exceeds a tenth of the length.

    Raises
    ------
    OutOfRange
        If a quantity is zero, negative or not finite.

    References
    ----------
    Euler-Bernoulli beam, w = FL³/3EI with I = bh³/12 (any handbook of strength of materials).

    >>> round(cantilever_deflection_mm(load_n=1, length_mm=40, width_mm=20, thickness_mm=6, modulus_mpa=1.1424), 3)
    51.873
    """
    for value in (load_n, length_mm, width_mm, thickness_mm, modulus_mpa):
        positive(value, what="quantity of the bent strip", unit="", remedy=_REMEDY)
    return 4 * load_n * length_mm**3 / (modulus_mpa * width_mm * thickness_mm**3)
