"""What is poured into and around a part, as the stages of the mould must know it: shrinkages, weight, flow."""

from dataclasses import dataclass

from firstpour.choosing.decisions import Decision, Picked
from firstpour.choosing.trial import Trial
from firstpour.fill.breathing import Mix, mix_of
from firstpour.fill.flow import Liquid, liquid_of
from firstpour.job.job import PartRequest
from firstpour.materials.additives import shrinkage_with
from firstpour.mixing.recipe import mix_density_g_ml
from firstpour.mould.settings import MouldMaterials
from firstpour.values import Finding, Severity

LEAST_LEFT_MIN = 0.1
"""What the flow is given where the pot life is over before the pour begins; the clock tells that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """The materials of one part as its mould sees them.

    `liquid` and `time_left_s` are those of the casting material when the pour itself begins; None where it, its
    viscosity or its clock is not known.
    """

    materials: MouldMaterials
    liquid: Liquid | None = None
    time_left_s: float = 0.0
    mix: Mix | None = None
    """The casting material as gate and vents must know it."""
    silicone_bubble_mm: float | None = None
    """Smaller bubbles stay in silicone that is not put under vacuum; None where it is, or where nothing is known."""
    findings: tuple[Finding, ...] = ()


def poured_of(
    request: PartRequest, decision: Decision | None, casting: Trial | None, silicone_tried: Trial | None
) -> Poured:
    """The materials decided on, what the part's maker gives instead, and else what is typical, which is then said.

    `casting` and `silicone_tried` are the materials tried with the first volumes of the part, in this room.
    """
    picked = {
        "silicone": None if decision is None else decision.silicone,
        "casting": None if decision is None else decision.casting,
    }
    own = {"silicone": request.silicone_shrinkage_ratio, "casting": request.casting_shrinkage_ratio}
    known = {use: _shrinkage(picked[use]) if own[use] is None else own[use] for use in picked}
    values = {f"{use}_shrinkage_ratio": value for use, value in known.items() if value is not None}
    silicone = picked["silicone"]
    if silicone is not None:
        values["silicone_g_ml"] = mix_density_g_ml(silicone.material)
    missing = [use for use, value in known.items() if value is None]
    liquid, time_left_s = _liquid(casting)
    materials = MouldMaterials(**values)
    return Poured(
        materials=materials,
        liquid=liquid,
        time_left_s=time_left_s,
        mix=None if picked["casting"] is None else mix_of(picked["casting"].material, picked["casting"].additives),
        silicone_bubble_mm=None if silicone_tried is None else silicone_tried.bubble_mm,
        findings=(_typical(materials, missing, chosen=decision is not None),) if missing else (),
    )


def _shrinkage(picked: Picked | None) -> float | None:
    """The material's linear shrinkage, with what is stirred into it."""
    return None if picked is None else shrinkage_with(picked.material, picked.additives)


def _typical(materials: MouldMaterials, missing: list[str], *, chosen: bool) -> Finding:
    """Say that the size of the mould rests on typical shrinkages. `chosen`: materials were, as far as any will do."""
    words = {
        "silicone": f"{100 * materials.silicone_shrinkage_ratio:g} % for the silicone",
        "casting": f"{100 * materials.casting_shrinkage_ratio:g} % for the casting material",
    }
    return Finding(
        severity=Severity.INFO,
        code="typical-shrinkage",
        what=f"no shrinkage is known: the mould is sized with typical ones, "
        f"{' and '.join(words[use] for use in missing)}",
        remedy=("" if chosen else "give the part a hardness, so that its materials are chosen, or ")
        + f"give its {' and '.join(f'{use}_shrinkage_ratio' for use in missing)}",
    )


def _liquid(casting: Trial | None) -> tuple[Liquid | None, float]:
    """The casting material as it goes in, and the seconds left of its pot life when it does."""
    if casting is None:
        return None, 0.0
    left_s = 60.0 * max(LEAST_LEFT_MIN, casting.fit.left_for_pour_min)
    return liquid_of(casting.material, casting.fit, additives=casting.additives), left_s
