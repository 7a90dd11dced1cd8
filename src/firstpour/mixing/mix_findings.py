"""What is weighed into one cup, and what is wrong with it."""

from dataclasses import dataclass

from firstpour.materials.material import Material
from firstpour.mixing.bench_kit import BenchKit
from firstpour.values import Finding, Severity

DOSE_ERROR = 0.05
"""A dose may be off by this share through the scale's step: an estimate of our own (decision 0004)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """An additive of one mix: its mass exact and as the scale shows it."""

    id: str
    name: str
    mass_g: float
    weigh_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One cup: what the scale shall show for A, B and each additive."""

    weigh_a_g: float
    weigh_b_g: float
    additives: tuple[Weighed, ...]


def dose_findings(batch: Batch, kit: BenchKit) -> tuple[Finding, ...]:
    """An additive that the scale can only tell by a few of its steps."""
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="additive-too-small",
            what=f"{one.mass_g:.2g} g of {one.name} is too little for a scale that shows {kit.scale_step_g:g} g.",
            remedy=f"Use a scale that shows {2 * DOSE_ERROR * one.mass_g:.1g} g, or count drops that were weighed.",
        )
        for one in batch.additives
        if kit.scale_step_g / 2 > DOSE_ERROR * one.mass_g
    )


def batch_findings(
    material: Material, kit: BenchKit, mixed_g: float, batches: int, smallest_g: float, tolerance: float
) -> tuple[Finding, ...]:
    """A batch too small for the scale, one too large for one cup, figures that are only typical."""
    findings = []
    if mixed_g / batches < smallest_g:
        finer_g = kit.scale_step_g * mixed_g / batches / smallest_g
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="batch-too-small",
                what=f"{mixed_g / batches:.3g} g is too little for a scale that shows {kit.scale_step_g:g} g: "
                f"the mix ratio may be off by more than {tolerance:.1%}.",
                remedy=f"Mix at least {smallest_g:.3g} g, or weigh on a scale that shows {finer_g:.2g} g or finer.",
            )
        )
    if batches > 1:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="mix-split",
                what=f"{mixed_g:.0f} g are too much at once: {batches} equal batches.",
                remedy="Mix and pour one after the other; pour the next before the last has set.",
            )
        )
    if material.is_typical:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="typical-figures",
                what=f"Figures of {material.name} are typical for its class.",
                remedy=f"Replace them by your own data sheet's: firstpour shelf add {material.id}.",
            )
        )
    return tuple(findings)
