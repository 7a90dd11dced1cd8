"""What a pack holds, as makers say it: “500 g + 450 g”, “1 l + 100 ml”, “2 x 5 kg + 2 x 4.5 kg”, “1 kg kit”."""

import re
from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material, needed
from firstpour.units import FACTORS, quantity

PACK_WORDS = r"(?:(?:kit|set|can|tin|tub|bottle|pail|bag|spool|pack)s?)?"
_N = FigureName


@dataclass(frozen=True, slots=True, kw_only=True)
class Grams:
    """Grams of A (or of a single material) and of B."""

    a_g: float
    b_g: float = 0.0


def grams_said(text: str, material: Material) -> Grams:
    """The grams that the words mean: volumes by the record's densities, one amount of A and B together by its ratio.

    Raises
    ------
    BadRequest
        If it holds no amount, one below zero, B for a material of one part, or a volume whose density is not known.
    """
    parts = [part.strip() for part in text.split("+")]
    two_parts = material.ratio is not None
    if len(parts) > (2 if two_parts else 1):
        example = "“500 g + 450 g”, A and B, or “1 kg kit” for both" if two_parts else "one amount, e.g. “500 g”"
        raise BadRequest(f"“{text}” for {material.name}.", remedy=f"Write {example}.")
    if two_parts and len(parts) == 1:
        return _kit(parts[0], material)
    names = (_N.DENSITY_A, _N.DENSITY_B) if two_parts else (_N.DENSITY,)
    grams = [_grams(part, material, name) for part, name in zip(parts, names, strict=True)]
    return Grams(a_g=grams[0], b_g=grams[1] if two_parts else 0.0)


def _kit(text: str, material: Material) -> Grams:
    """A and B together, split as they are mixed."""
    assert material.ratio is not None  # asked before
    amount, unit = _amount(text)
    a_share = material.ratio.a_share
    if unit in FACTORS["ml"]:
        a_g_ml, b_g_ml = needed(material, _N.DENSITY_A).value, needed(material, _N.DENSITY_B).value
        total_g = _in(amount, unit, "ml") / (a_share / a_g_ml + (1 - a_share) / b_g_ml)
    else:
        total_g = _in(amount, unit, "g")
    return Grams(a_g=total_g * a_share, b_g=total_g * (1 - a_share))


def _grams(text: str, material: Material, density: FigureName) -> float:
    amount, unit = _amount(text)
    if unit in FACTORS["ml"]:
        return _in(amount, unit, "ml") * needed(material, density).value
    return _in(amount, unit, "g")


def _amount(text: str) -> tuple[float, str]:
    """The number and the unit; “2 x” before them counts, what it is packed in does not.

    >>> _amount("2 x 5 kg cans"), _amount("500")
    ((10.0, 'kg'), (500.0, 'g'))
    """
    number = r"(\d+\.?\d*|\.\d+)"
    found = re.fullmatch(rf"(?:(\d{{1,4}})\s*[x×]\s*)?{number}\s*(.*?)\s*{PACK_WORDS}", text, flags=re.ASCII)
    if found is None:
        raise BadRequest(f"“{text}” is no amount.", remedy="Write “500 g”, “1 l”, or “500 g + 450 g” for A and B.")
    times, amount, unit = found.groups()
    return float(times or 1) * float(amount), unit or "g"


def _in(amount: float, unit: str, to: str) -> float:
    """In g or ml; an unknown unit is told with all that may be given."""
    if unit not in FACTORS[to]:
        raise BadRequest(
            f"“{unit}” is no unit of an amount.", remedy=f"Use one of: {', '.join((*FACTORS['g'], *FACTORS['ml']))}."
        )
    return quantity(f"{amount!r} {unit}", to=to)
