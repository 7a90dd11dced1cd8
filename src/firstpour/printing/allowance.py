"""How much larger the master must be, which fits that keeps, and the error left over."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from firstpour.errors import BadJob, OutOfRange
from firstpour.printing.as_printed import roundness_printed_mm
from firstpour.printing.printers import Printer
from firstpour.rounds.round_features import RoundFeature
from firstpour.values import Finding, FloatArray, Severity, frozen_array, place_words

MOST_SHRINKAGE = 0.2
TYPICAL_SPREAD = 0.3
"""A typical shrinkage is known to so much of itself, one standard deviation (our own estimate, decision 0027)."""


Place = tuple[float, float, float]
FIT_IN_DOUBT = "fit-in-doubt"
"""The code of a fit that may not come out."""


class FitKind(StrEnum):
    """A hole takes something in; a shaft goes into something."""

    HOLE = "hole"
    SHAFT = "shaft"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A diameter that the copy must keep: `nominal_mm` ± `tolerance_mm`, of the round feature nearest `near_mm`.

    Without `near_mm` it is every hole (or shaft) whose diameter lies within a tenth of the nominal.
    """

    kind: FitKind
    nominal_mm: float
    tolerance_mm: float
    near_mm: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.nominal_mm < 10_000.0 or not 0.0 < self.tolerance_mm < self.nominal_mm:
            raise BadJob(
                f"a fit of {self.nominal_mm} ± {self.tolerance_mm} mm",
                remedy="give a diameter above 0 and a tolerance above 0 and below the diameter",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrinkage:
    """One material's linear shrinkage, as a share of what it was cast or printed to, along x, y and z.

    `spread_ratio`: how far it may differ from job to job (one standard deviation).
    """

    name: str
    ratio: tuple[float, float, float]
    spread_ratio: float = 0.0

    def __post_init__(self) -> None:
        if any(not -MOST_SHRINKAGE < one < MOST_SHRINKAGE for one in self.ratio):
            raise OutOfRange(
                f"{self.name} shrinks by {self.ratio}",
                remedy=f"give a share between −{MOST_SHRINKAGE} and {MOST_SHRINKAGE}: 0.4 % is 0.004",
            )
        if not 0.0 <= self.spread_ratio < MOST_SHRINKAGE:
            raise OutOfRange(f"{self.name}: a spread of {self.spread_ratio}", remedy="give a share from 0 to 0.2")


@dataclass(frozen=True, slots=True, kw_only=True)
class FitResult:
    """What a fit comes to: the diameter drawn, the copy's, how far off that may be, and whether it holds.

    `drawn_mm` is the diameter in the part; `master_mm` in the file that is printed; `copy_mm` what is expected on the
    copy; `spread_mm` one standard deviation of that, of all figures it rests on; `error_mm` twice as much and the
    out-of-round.
    """

    fit: Fit
    at_mm: tuple[float, float, float]
    drawn_mm: float
    master_mm: float
    copy_mm: float
    spread_mm: float
    error_mm: float
    holds: bool

    @property
    def miss_mm(self) -> float:
        """How far the copy may lie outside of the tolerance; 0 where it holds."""
        reach_mm = abs(self.copy_mm - self.fit.nominal_mm) + self.error_mm
        return 0.0 if self.holds else max(0.0, reach_mm - self.fit.tolerance_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Allowance:
    """The master is the part times `scale` (3,), axis by axis; `error_ratio`, one standard deviation, is left."""

    scale: FloatArray
    error_ratio: float
    fits: tuple[FitResult, ...]
    findings: tuple[Finding, ...]


def same_all_round(name: str, ratio: float, *, spread_ratio: float | None = None) -> Shrinkage:
    """A shrinkage equal along every axis; `spread_ratio` is that of a typical figure unless given (0: exact).

    >>> round(same_all_round("casting", 0.004).spread_ratio, 6)
    0.0012
    """
    spread_ratio = TYPICAL_SPREAD * abs(ratio) if spread_ratio is None else spread_ratio
    return Shrinkage(name=name, ratio=(ratio, ratio, ratio), spread_ratio=spread_ratio)


def master_scale(chain: Sequence[Shrinkage]) -> FloatArray:
    r"""Scale (3,) of the master for a chain of materials, each cast from the last.

    .. math:: k = \prod_i 1 / (1 - s_i)

    The percentage counts on what each was cast to, as in ISO 294-4 (from memory).

    >>> chain = [same_all_round("silicone", 0.001), same_all_round("casting", 0.004)]
    >>> round(float(master_scale(chain)[0]), 8)
    1.00502109
    """
    scale = np.ones(3)
    for one in chain:
        scale = scale / (1.0 - np.array(one.ratio))
    frozen: FloatArray = frozen_array(scale, np.float64)
    return frozen


def work_out_allowance(
    chain: Sequence[Shrinkage],
    *,
    printer: Printer,
    direction: FloatArray,
    layer_mm: float,
    features: tuple[RoundFeature, ...] = (),
    fits: Sequence[Fit] = (),
) -> Allowance:
    """Scale of the master, what each fit comes to on the copy, and what cannot hold.

    The error left over adds the spreads of every shrinkage and of the printer's size in squares; a fit adds that of
    the printer's edges, on both sides of the diameter. Edge growth of the printer is part of what the copy gets:
    holes come out smaller, shafts larger.

    Raises
    ------
    BadJob
        If a fit names no round feature of the part.
    """
    scale = master_scale(chain)
    error_ratio = float(np.sqrt(sum(one.spread_ratio**2 for one in chain) + printer.size_spread_ratio**2))
    results: list[FitResult] = []
    for fit in fits:
        matching = matching_features(fit, features)
        rounds = roundness_printed_mm(matching, direction, printer=printer, layer_mm=layer_mm)[:, 0]
        results += [
            _fit_result(fit, one, scale, error_ratio, float(off), printer)
            for one, off in zip(matching, rounds, strict=True)
        ]
    return Allowance(
        scale=scale,
        error_ratio=error_ratio,
        fits=tuple(results),
        findings=tuple(_fit_finding(one) for one in results if not one.holds),
    )


def by_inserts(allowance: Allowance, inserts: Sequence[tuple[Place, Place, float, float]]) -> Allowance:
    """The allowance with every hole that an insert makes as large as the insert does, whatever shrinks.

    Each insert: a place on its axis, its axis, the diameter of the hole that it leaves and its tolerance, mm.
    """
    results = list(allowance.fits)
    for at_mm, along, hole_mm, tolerance_mm in inserts:
        axis = np.array(along) / np.linalg.norm(along)
        for k, one in enumerate(results):
            away = np.array(one.at_mm) - np.array(at_mm)
            on_axis = float(np.linalg.norm(away - (away @ axis) * axis)) < 0.5 * hole_mm
            if one.fit.kind is FitKind.HOLE and on_axis:
                results[k] = replace(
                    one,
                    master_mm=hole_mm,
                    copy_mm=hole_mm,
                    spread_mm=0.5 * tolerance_mm,
                    error_mm=tolerance_mm,
                    holds=abs(hole_mm - one.fit.nominal_mm) + tolerance_mm <= one.fit.tolerance_mm + 1e-9,
                )
    others = tuple(one for one in allowance.findings if one.code != FIT_IN_DOUBT)
    doubts = tuple(_fit_finding(one) for one in results if not one.holds)
    return replace(allowance, fits=tuple(results), findings=(*others, *doubts))


def matching_features(fit: Fit, features: tuple[RoundFeature, ...]) -> tuple[RoundFeature, ...]:
    """The features that a fit means: holes or shafts of about its diameter, the nearest one if a place is given.

    Raises
    ------
    BadJob
        If there is none.
    """
    material = -1 if fit.kind is FitKind.HOLE else 1
    close = [
        one
        for one in features
        if one.material == material and abs(2.0 * one.radius_mm - fit.nominal_mm) <= 0.1 * fit.nominal_mm
    ]
    if not close:
        kind = [f"{2.0 * one.radius_mm:.2f}" for one in features if one.material == material]
        there = (
            f"its {fit.kind.value}s measure {', '.join(kind)} mm" if kind else f"no round {fit.kind.value} was found"
        )
        raise BadJob(
            f"the part has no {fit.kind.value} of about {fit.nominal_mm} mm",
            remedy=f"{there}: correct nominal_mm or the part",
        )
    if fit.near_mm is None:
        return tuple(close)
    place = np.array(fit.near_mm)
    return (min(close, key=lambda one: float(np.linalg.norm(one.section.centre_mm - place))),)


def _fit_result(
    fit: Fit, feature: RoundFeature, scale: FloatArray, error_ratio: float, off_mm: float, printer: Printer
) -> FitResult:
    drawn_mm = 2.0 * feature.radius_mm
    across = float(np.sqrt(np.mean(scale**2)))
    copy_mm = drawn_mm + 2.0 * feature.material * printer.growth_mm / across
    spread_mm = float(np.hypot(error_ratio * drawn_mm, 2.0 * printer.growth_spread_mm / across))
    error_mm = 2.0 * spread_mm + off_mm
    x, y, z = (float(v) for v in feature.section.centre_mm)
    return FitResult(
        fit=fit,
        at_mm=(x, y, z),
        drawn_mm=drawn_mm,
        master_mm=drawn_mm * across,
        copy_mm=copy_mm,
        spread_mm=spread_mm,
        error_mm=error_mm,
        holds=abs(copy_mm - fit.nominal_mm) + error_mm <= fit.tolerance_mm,
    )


def _fit_finding(result: FitResult) -> Finding:
    fit = result.fit
    off_mm = result.copy_mm - fit.nominal_mm
    if abs(off_mm) > fit.tolerance_mm:
        how = "smaller" if off_mm > 0.0 else "larger"
        remedy = f"draw it {abs(off_mm):.2f} mm {how}, or bring the copy to size"
    else:
        remedy = "print finer or flat on the bed, measure a test ring, or ream or turn the copy to size"
    return Finding(
        severity=Severity.WARNING,
        code=FIT_IN_DOUBT,
        what=(
            f"the {fit.kind.value} of {fit.nominal_mm:g} ± {fit.tolerance_mm:g} mm is expected at"
            f" {result.copy_mm:.2f} mm, ± {result.error_mm:.2f} mm"
        ),
        remedy=remedy,
        where=place_words(result.at_mm),
    )
