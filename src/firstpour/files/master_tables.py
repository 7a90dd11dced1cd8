"""The master's answers as plain tables: the keys that stay stable in JSON."""

from typing import Any

from firstpour.files.plan_json import vector
from firstpour.files.step_tables import step_table
from firstpour.printing.allowance import Allowance
from firstpour.printing.choice import MasterPlan
from firstpour.printing.orient import PrintDirection


def master_table(plan: MasterPlan, *, keep: int) -> dict[str, Any]:
    """How the master is printed: the choice, why, the best directions, the work, round features and shut hollows."""
    best = plan.direction
    return {
        "process": plan.process.value,
        "printer": plan.chosen.printer.name,
        "direction": list(vector(best.direction)),
        "layer_mm": plan.layer_mm,
        "footing": best.footing.value,
        "total_min": plan.chosen.total_min,
        "material_ml": best.estimate.material_ml,
        "material_g": best.estimate.material_g,
        "why": list(plan.why),
        "directions": [direction_table(one) for one in plan.ranked[:keep]],
        "steps": [step_table(step) for step in plan.steps],
        "round_features": [
            {
                "kind": one.fit.kind.value,
                "hole": bool(one.material < 0),
                "diameter_mm": float(2.0 * one.radius_mm),
                "axis": list(vector(one.section.axis)),
                "at_mm": list(vector(one.section.centre_mm)),
                "residual_mm": float(one.fit.residual_mm),
                "drawn_roundness_mm": float(one.section.drawn_mm),
            }
            for one in plan.features
        ],
        "shut_hollows": [
            {
                "volume_mm3": float(hollow.volume_mm3),
                "area_mm2": float(hollow.area_mm2),
                "closes_mm": float(hollow.closes_mm),
                "opens_mm": None if hollow.opens_mm is None else float(hollow.opens_mm),
                "at_mm": list(vector(hollow.at_mm)),
            }
            for hollow in plan.hollows.shut
        ],
        "starts_in_air_mm": [list(vector(place)) for place in plan.hollows.in_air_mm],
    }


def direction_table(one: PrintDirection) -> dict[str, Any]:
    """One print direction."""
    return {
        "direction": list(vector(one.direction)),
        "step_mm": one.step_mm,
        "roundness_mm": one.roundness_mm,
        "suction_n": one.suction_n,
        "support_mm2": one.support_mm2,
        "height_mm": one.height_mm,
        "print_min": one.print_min,
        "added_roundness_mm": one.added_roundness_mm,
        "marks_mm2": one.marks_mm2,
        "shut_mm2": one.shut_mm2,
        "layer_mm": one.layer_mm,
        "footing": one.footing.value,
        "fits": one.fits,
        "score_mm": one.score_mm,
    }


def allowance_table(allowance: Allowance) -> dict[str, Any]:
    """The scale of the master, the error left, and each fit."""
    return {
        "scale": list(vector(allowance.scale)),
        "error_ratio": allowance.error_ratio,
        "fits": [
            {
                "kind": one.fit.kind.value,
                "nominal_mm": one.fit.nominal_mm,
                "tolerance_mm": one.fit.tolerance_mm,
                "at_mm": list(one.at_mm),
                "drawn_mm": one.drawn_mm,
                "master_mm": one.master_mm,
                "copy_mm": one.copy_mm,
                "spread_mm": one.spread_mm,
                "error_mm": one.error_mm,
                "holds": one.holds,
            }
            for one in allowance.fits
        ],
    }
