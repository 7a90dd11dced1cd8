"""What is weighed into one cup, and what is wrong with it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.materials.figures import FigureName
from firstpour.materials.material import CountsOn, Material, value_or
from firstpour.mixing.bench_kit import BenchKit
from firstpour.mixing.clock import CureTimes
from firstpour.mixing.heat import second_mass_off_ratio
from firstpour.values import Finding, Severity

DOSE_ERROR = 0.05
"""A dose may be off by this share through the scale's step: an estimate of our own (decision 0004)."""
HOT_CUP_C, HOT_PART_C = 60.0, 80.0
"""Above: left-overs burn fingers and smoke; a part creeps and shrinks more. Estimates of our own (decision 0013)."""
SECOND_MASS_OFF = 0.1
"""Two pot lives that differ by less from what self-heating explains go together (our own choice)."""
LATER_RATIO = 1.25
"""A demould time is called later than the data sheet's from this ratio on (our own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """An additive of one mix: the part it is stirred into, its mass exact and as the scale shows it."""

    id: str
    name: str
    into: CountsOn
    mass_g: float
    weigh_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One cup: what the scale shall show for A, B and each additive."""

    weigh_a_g: float
    weigh_b_g: float
    additives: tuple[Weighed, ...]

    @property
    def weigh_g(self) -> float:
        """All that the scale shows, together."""
        return round(self.weigh_a_g + self.weigh_b_g + sum(one.weigh_g for one in self.additives), 6)


def dose_findings(batch: Batch, kit: BenchKit) -> tuple[Finding, ...]:
    """An additive that the scale can only tell by a few of its steps."""
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="additive-too-small",
            what=f"{one.mass_g:.2g} g of {one.name} is too little for a scale that shows {kit.scale_step_g:g} g.",
            remedy=f"Use a scale that shows {finer_step_g(2 * DOSE_ERROR * one.mass_g):g} g, "
            "or count drops that were weighed.",
        )
        for one in batch.additives
        if kit.scale_step_g / 2 > DOSE_ERROR * one.mass_g
    )


def finer_step_g(needed_g: float) -> float:
    """The step of a scale that is sold and is fine enough: 1, 0.1, 0.01 g … (common practice, no source).

    >>> finer_step_g(0.073), finer_step_g(0.1), finer_step_g(3.0)
    (0.01, 0.1, 1.0)
    """
    return float(10.0 ** math.floor(math.log10(needed_g) + 1e-9))


def batch_findings(
    material: Material, kit: BenchKit, batch_g: float, smallest_g: float, tolerance: float
) -> tuple[Finding, ...]:
    """A batch too small for the scale, figures that are only typical."""
    findings = []
    if batch_g < smallest_g:
        finer_g = finer_step_g(kit.scale_step_g * batch_g / smallest_g)
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="batch-too-small",
                what=f"{batch_g:.3g} g is too little for a scale that shows {kit.scale_step_g:g} g: "
                f"the mix ratio may be off by more than {tolerance:.1%}.",
                remedy=f"Mix at least {smallest_g:.3g} g, or weigh on a scale that shows {finer_g:g} g.",
            )
        )
    off = second_mass_off_ratio(material)
    if off is not None and abs(off - 1) > SECOND_MASS_OFF:
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="second-pot-life-off",
                what=f"The two pot lives of {material.name} do not go together: self-heating would make the second "
                f"{off:.1f} times as long as its record says.",
                remedy="Check both masses, times and temperatures against the data sheet, or time a cup of your own.",
            )
        )
    if material.is_typical:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="typical-figures",
                what=f"Figures of {material.name} are typical for its class.",
                remedy=f"enter {material.id} anew, with the figures of your own data sheet",
            )
        )
    return tuple(findings)


def split_findings(mixed_g: float, cavities: int, batches: int) -> tuple[Finding, ...]:
    """Cavities that are filled one mix after the other."""
    if batches == 1:
        return ()
    return (
        Finding(
            severity=Severity.INFO,
            code="mix-split",
            what=f"{mixed_g:.0f} g are too much at once: {batches} batches for {cavities} cavities.",
            remedy="Mix and pour one batch after the other; never fill one cavity from two mixes.",
        ),
    )


def cavity_findings(
    material: Material, kit: BenchKit, *, cavity_g: float, stirred_ml: float, slower: Sequence[Material]
) -> tuple[Finding, ...]:
    """One cavity that takes more than may be mixed at once, or more than the largest container holds."""
    largest_g = value_or(material, FigureName.LARGEST_MASS, float("inf"))
    if cavity_g > largest_g * (1 + 1e-9):
        return (
            Finding(
                severity=Severity.ERROR,
                code="cavity-above-largest-mass",
                what=f"One cavity takes {cavity_g:.0f} g of A and B; {material.name} may be mixed up to "
                f"{largest_g:g} g "
                "at once, or it overheats, foams and cracks. A cavity is filled from one mix.",
                remedy=f"{_slower_words(cavity_g, slower)}, replace part of it by filler, cast it hollow, or "
                f"make the "
                "part smaller.",
            ),
        )
    if stirred_ml > kit.largest_container_ml * (1 + 1e-9):
        return (
            Finding(
                severity=Severity.ERROR,
                code="container-too-small",
                what=f"The mix for one cavity wants a cup of {stirred_ml:.0f} ml to be stirred in; the largest "
                f"container "
                f"holds {kit.largest_container_ml:g} ml. A cavity is filled from one mix.",
                remedy=f"Get a container of at least {stirred_ml:.0f} ml, or make the part or the mould smaller.",
            ),
        )
    return ()


def heat_findings(times: CureTimes, *, block_share: float = LATER_RATIO) -> tuple[Finding, ...]:
    """A section that sets later than the data sheet's block, left-overs that get hot, a part that gets hot."""
    found = []
    if times.section_mm is not None and times.demould_min > block_share * times.block_demould_min:
        found.append(
            Finding(
                severity=Severity.INFO,
                code="thin-sets-later",
                what=f"A section of {times.section_mm:.1f} mm keeps little of its heat: demould it after about "
                f"{times.demould_min:.0f} min; the data sheet's {times.block_demould_min:.0f} min hold for a "
                f"block of "
                f"{times.stated_mass_g:g} g (an estimate).",
                remedy="Wait, warm the mould beforehand, and press a fingernail into the sprue before opening.",
            )
        )
    if times.peak_part_c is not None and times.peak_part_c > HOT_PART_C:
        found.append(
            Finding(
                severity=Severity.WARNING,
                code="part-gets-hot",
                what=f"The casting warms itself to about {5 * round(times.peak_part_c / 5)} °C in its mould: it "
                f"shrinks "
                "more, may warp if demoulded hot, and wears the mould (an estimate).",
                remedy="Let it cool in the mould; take a slower material, filler or a hollow where size matters.",
            )
        )
    if times.peak_cup_c > HOT_CUP_C:
        found.append(
            Finding(
                severity=Severity.INFO,
                code="left-overs-get-hot",
                what=f"A whole mix that is left in its cup warms itself up to about "
                f"{5 * round(times.peak_cup_c / 5)} °C (an estimate).",
                remedy="Spread what you do not use in a shallow layer, in fresh air, away from anything that burns.",
            )
        )
    return tuple(found)


def _slower_words(cavity_g: float, slower: Sequence[Material]) -> str:
    enough = [one for one in slower if value_or(one, FigureName.LARGEST_MASS, float("inf")) >= cavity_g]
    if not enough:
        return "Take a slower material that may be mixed in one such mass (none known has this feel)"
    return f"Take a slower one that may: {' or '.join(f'{one.name} ({one.id})' for one in enough[:2])}"
