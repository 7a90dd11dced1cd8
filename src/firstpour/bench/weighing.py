"""What came onto the scale against what should: how far the ratio is off, and what to put in to bring it right."""

import math
from dataclasses import dataclass
from enum import StrEnum

from firstpour.bench.steps import Weigh
from firstpour.errors import BadRequest
from firstpour.formulas.mixing import ratio_uncertainty
from firstpour.sheets.words import grams

LARGEST_G = 1e6
SHORT_RATIO = 0.02
"""A batch lighter than planned by more than this may not fill its mould: our own choice."""


class Verdict(StrEnum):
    """Whether one may go on with what was weighed."""

    GO_ON = "go on"
    ADD_A = "add A"
    ADD_B = "add B"
    ANEW = "weigh anew"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedIn:
    """What was weighed, judged. `ratio_error_ratio`: (B ÷ A) ÷ what it should be, less 1; `scale_share_ratio`: what
    the scale's step alone may make of it."""

    a_g: float
    b_g: float
    ratio_error_ratio: float
    tolerance_ratio: float
    scale_share_ratio: float
    verdict: Verdict
    add_g: float
    total_g: float
    advice: tuple[str, ...]


def judge_weighing(wanted: Weigh, *, a_g: float, b_g: float) -> WeighedIn:
    r"""How far B lies off its ratio to A, and what brings it right.

    .. math:: e = \frac{b/a}{r} - 1

    Within the tolerance of the record one goes on. With too little B, :math:`a r - b` of B is missing; with too much,
    :math:`b/r - a` of A. Where more would have to be added than a tenth of the batch it is weighed anew: our own
    choice.

    Raises
    ------
    BadRequest
        If a mass is not above zero or cannot be meant.
    """
    _check(a_g, "A")
    if wanted.b_g > 0:
        _check(b_g, "B")
    ratio = wanted.ratio
    error = (b_g / a_g) / ratio - 1.0 if ratio > 0 else 0.0
    scale_share = ratio_uncertainty(a_g=a_g, b_g=b_g, step_g=wanted.scale_step_g) if ratio > 0 else 0.0
    verdict, add_g = _verdict(wanted, a_g, b_g, error)
    return WeighedIn(
        a_g=a_g,
        b_g=b_g,
        ratio_error_ratio=error,
        tolerance_ratio=wanted.tolerance_ratio,
        scale_share_ratio=scale_share,
        verdict=verdict,
        add_g=add_g,
        total_g=a_g + b_g,
        advice=_advice(wanted, a_g, b_g, error, verdict, add_g),
    )


MOST_ADDED_RATIO = 0.1


def _verdict(wanted: Weigh, a_g: float, b_g: float, error: float) -> tuple[Verdict, float]:
    if abs(error) <= wanted.tolerance_ratio + 1e-9:
        return Verdict.GO_ON, 0.0
    short_b = error < 0
    add_g = a_g * wanted.ratio - b_g if short_b else b_g / wanted.ratio - a_g
    if add_g > MOST_ADDED_RATIO * (wanted.a_g + wanted.b_g):
        return Verdict.ANEW, 0.0
    return (Verdict.ADD_B if short_b else Verdict.ADD_A), add_g


def _advice(wanted: Weigh, a_g: float, b_g: float, error: float, verdict: Verdict, add_g: float) -> tuple[str, ...]:
    step_g = wanted.scale_step_g
    off = f"B is {100 * abs(error):.1f} % {'under' if error < 0 else 'over'} its ratio to A"
    said: list[str] = []
    if verdict is Verdict.ANEW:
        said.append(f"{off}: too far to put right. Do not pour it; weigh a new batch into a clean cup.")
    elif verdict is not Verdict.GO_ON:
        which = "B" if verdict is Verdict.ADD_B else "A"
        said.append(
            f"{off}, more than the {100 * wanted.tolerance_ratio:.2g} % it may be. Before it is stirred add "
            f"{grams(add_g, step_g=step_g)} of {which}, then say both again as they then are. Once it is stirred "
            "the clock runs: add it at once, or weigh anew."
        )
    short = 1.0 - (a_g + b_g) / (wanted.a_g + wanted.b_g)
    if short > SHORT_RATIO and verdict is Verdict.GO_ON:
        missing_a_g = wanted.a_g - a_g
        said.append(
            f"It is {grams(wanted.a_g + wanted.b_g - a_g - b_g, step_g=step_g)} less than planned and may not fill "
            f"the mould: add {grams(max(0.0, missing_a_g), step_g=step_g)} of A and "
            f"{grams(max(0.0, wanted.b_g - b_g), step_g=step_g)} of B first."
        )
    return tuple(said)


def _check(mass_g: float, what: str) -> None:
    if not (math.isfinite(mass_g) and 0 < mass_g < LARGEST_G):
        raise BadRequest(f"{mass_g:g} g of {what}.", remedy="Give what the scale showed, above 0 g.")
