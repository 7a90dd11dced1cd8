"""What would let a pour end in time: each remedy solved for by itself from the resistances of gate and cavity."""

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from firstpour.formulas.gate_flow import gate_resistance_pa_s_ml

WIDEST_GATE_MM = 12.0
"""Radius of the widest gate that is still cut off cleanly: our own limit (decision 0016)."""
MOST_GATES = 4
THICKEST_RATIO = 3.0
TALLEST_HEAD_MM = 400.0
SLOWEST_RATIO = 20.0
THINNEST_PA_S = 0.03
"""Beyond these a remedy is not worth naming: our own limits (decision 0016)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Squeeze:
    """What the pour is up against, Pa·s/ml: the gate, the cavity, and the most that both together may be."""

    gate_radius_mm: float
    gate_length_mm: float
    gate_pa_s_ml: float
    cavity_pa_s_ml: float
    most_pa_s_ml: float
    viscosity_pa_s: float
    head_mm: float
    widest_gate_mm: float = WIDEST_GATE_MM
    """Radius of the widest gate that the part has room for."""

    @property
    def short_ratio(self) -> float:
        """How many times too much the resistance is; at most 1: it fills in time."""
        return (self.gate_pa_s_ml + self.cavity_pa_s_ml) / self.most_pa_s_ml

    @property
    def cavity_resists(self) -> bool:
        """Whether the cavity alone is too much: then no gate helps, however wide."""
        return self.cavity_pa_s_ml >= self.most_pa_s_ml


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedies:
    """Each by itself makes the pour end just in time; None where it does not, or not in a sensible measure.

    `gate_radius_mm` one wider gate; `gates` as many as the one there is, spread over the cavity's length;
    `thicker_ratio` the section grown; `viscosity_pa_s` a thinner mix; `slower_ratio` a longer pot life; `head_mm`.
    """

    gate_radius_mm: float | None
    gates: int | None
    thicker_ratio: float | None
    viscosity_pa_s: float | None
    slower_ratio: float | None
    head_mm: float | None

    def words(self, squeeze: Squeeze) -> str:
        """The remedies as one says them, the least trouble first."""
        said = []
        if self.head_mm is not None:
            said.append(f"raise the head to {math.ceil(self.head_mm)} mm")
        if self.gate_radius_mm is not None:
            said.append(f"widen the gate to {math.ceil(20 * self.gate_radius_mm) / 10:.1f} mm across")
        if self.gates is not None:
            said.append(f"give it {self.gates} gates, spread over its length")
        if self.slower_ratio is not None:
            said.append(f"take a slower mix ({_up(self.slower_ratio):.1f} times the pot life)")
        if self.viscosity_pa_s is not None:
            said.append(f"take a thinner mix (at most {self.viscosity_pa_s:.2g} Pa·s as it goes in)")
        if self.thicker_ratio is not None:
            said.append(f"make the section {_up(self.thicker_ratio):.1f} times as thick")
        if squeeze.cavity_resists:
            said.append("press it in by syringe or lift it in by vacuum, each within its rating")
        alone = "no gate helps, the cavity itself resists: " if squeeze.cavity_resists else ""
        return alone + (", or ".join(said) or "split the part into pieces that are poured apart")


def _up(ratio: float) -> float:
    """A ratio to a tenth, never too little."""
    return math.ceil(10 * ratio - 1e-9) / 10


def remedies(squeeze: Squeeze) -> Remedies:
    r"""Solve each remedy by itself.

    With R_g, R_c of gate and cavity and R the most they may be: a wider gate, :math:`R_g(r) + R_c = R`; n gates, each
    feeding 1/n of the volume over 1/n of the length, :math:`R_g/n + R_c/n^2 = R`; a section f times as thick, which
    also holds f times as much, :math:`R_g + R_c/f^3 = R/f`. Viscosity, head and pot life go with the resistance in
    proportion.
    """
    short = squeeze.short_ratio
    head_mm, slower, thinner = squeeze.head_mm * short, short, squeeze.viscosity_pa_s / short
    return Remedies(
        gate_radius_mm=_gate_radius_mm(squeeze),
        gates=_gates(squeeze),
        thicker_ratio=_thicker_ratio(squeeze),
        viscosity_pa_s=thinner if thinner >= THINNEST_PA_S else None,
        slower_ratio=slower if 1 < slower <= SLOWEST_RATIO else None,
        head_mm=head_mm if squeeze.head_mm < head_mm <= TALLEST_HEAD_MM else None,
    )


def _gate_radius_mm(squeeze: Squeeze) -> float | None:
    """The root of R_g(r) + R_c = R between the gate there is and the widest; a wide gate is at least 4 r long."""

    def over(radius_mm: float) -> float:
        gate = gate_resistance_pa_s_ml(
            radius_mm=radius_mm,
            length_mm=max(squeeze.gate_length_mm, 4 * radius_mm),
            viscosity_pa_s=squeeze.viscosity_pa_s,
        )
        return gate + squeeze.cavity_pa_s_ml - squeeze.most_pa_s_ml

    now_mm, widest_mm = squeeze.gate_radius_mm, squeeze.widest_gate_mm
    if widest_mm <= now_mm or over(now_mm) <= 0 or over(widest_mm) > 0:
        return None
    return float(brentq(over, now_mm, widest_mm, xtol=1e-6))


def _gates(squeeze: Squeeze) -> int | None:
    for gates in range(2, MOST_GATES + 1):
        if squeeze.gate_pa_s_ml / gates + squeeze.cavity_pa_s_ml / gates**2 <= squeeze.most_pa_s_ml:
            return gates
    return None


def _thicker_ratio(squeeze: Squeeze) -> float | None:
    def over(ratio: float) -> float:
        return squeeze.gate_pa_s_ml * ratio + squeeze.cavity_pa_s_ml / ratio**2 - squeeze.most_pa_s_ml

    best = min(THICKEST_RATIO, max(1.0, (2 * squeeze.cavity_pa_s_ml / squeeze.gate_pa_s_ml) ** (1 / 3)))
    if over(1.0) <= 0 or over(best) > 0:
        return None
    return float(brentq(over, 1.0, best, xtol=1e-6))
