"""How things are printed, the allowance and the fits, as entries of JSON."""

from collections.abc import Sequence

from pydantic import Field

from firstpour.files.entry import Entry, Vector, vector
from firstpour.files.step_entries import StepEntry, step_entry
from firstpour.materials.steps import Step
from firstpour.printing.allowance import Allowance
from firstpour.printing.choice import MasterPlan
from firstpour.printing.orient import PrintDirection
from firstpour.printing.print_piece import PrintPlan
from firstpour.printing.printers import Printer
from firstpour.rounds.round_features import RoundFeature


class PrintDirectionEntry(Entry):
    """One way up on a printer."""

    direction: Vector
    step_mm: float = Field(description="Layer steps on show faces: 95 % of their area have no more.")
    roundness_mm: float
    suction_n: float
    support_mm2: float
    height_mm: float
    print_min: float
    added_roundness_mm: float
    marks_mm2: float
    shut_mm2: float
    layer_mm: float
    footing: str
    fits: bool
    score_mm: float


class RoundFeatureEntry(Entry):
    """A round feature found on the part."""

    kind: str
    hole: bool
    diameter_mm: float
    axis: Vector
    at_mm: Vector
    residual_mm: float
    drawn_roundness_mm: float


class ShutHollowEntry(Entry):
    """A hollow that a vat print would seal against the film."""

    volume_mm3: float
    area_mm2: float
    closes_mm: float
    opens_mm: float | None
    at_mm: Vector


class MasterEntry(Entry):
    """How the master is printed by itself."""

    process: str
    printer: str
    direction: Vector
    layer_mm: float
    footing: str
    total_min: float
    material_ml: float
    material_g: float
    why: list[str]
    directions: list[PrintDirectionEntry]
    steps: list[StepEntry]
    round_features: list[RoundFeatureEntry]
    shut_hollows: list[ShutHollowEntry]
    starts_in_air_mm: list[Vector]


class FitEntry(Entry):
    """One fit: what is wanted, and what the copy comes to."""

    kind: str
    nominal_mm: float
    tolerance_mm: float
    at_mm: Vector
    drawn_mm: float
    master_mm: float
    copy_mm: float
    spread_mm: float
    error_mm: float
    holds: bool


class AllowanceEntry(Entry):
    """The scale of the master, the error left, and each fit."""

    scale: Vector
    error_ratio: float
    fits: list[FitEntry]


class PiecePrintEntry(Entry):
    """One piece of the mould as it is printed."""

    piece: str
    printer: str
    process: str
    up: Vector = Field(description="In the part's own coordinates.")
    footing: str
    layer_mm: float
    step_mm: float
    print_min: float
    material_ml: float
    material_g: float
    support_mm2: float
    size_mm: Vector = Field(description="As it stands on the printer.")


class SurfaceEntry(PrintDirectionEntry):
    """How the part's own surface is printed, in its trays or by itself, and the work on it before silicone."""

    printer: str
    process: str
    steps: list[StepEntry]
    round_features: list[RoundFeatureEntry]


def master_entry(plan: MasterPlan, *, keep: int) -> MasterEntry:
    """How the master is printed: the choice, why, the best directions, the work, round features and shut hollows."""
    return MasterEntry.model_validate(master_keys(plan, keep=keep))


def piece_print_entry(name: str, plan: PrintPlan, *, size_mm: Vector) -> PiecePrintEntry:
    """One piece as it is printed."""
    way = plan.direction
    return PiecePrintEntry(
        piece=name,
        printer=plan.printer.name,
        process=plan.process.value,
        up=vector(way.direction),
        footing=way.footing.value,
        layer_mm=way.layer_mm,
        step_mm=way.step_mm,
        print_min=plan.print_min,
        material_ml=plan.estimate.material_ml,
        material_g=plan.estimate.material_g,
        support_mm2=plan.supported_mm2,
        size_mm=size_mm,
    )


def surface_entry(
    way: PrintDirection, *, printer: Printer, steps: Sequence[Step], features: Sequence[RoundFeature]
) -> SurfaceEntry:
    """How the surface that silicone copies is printed."""
    return SurfaceEntry.model_validate(
        {
            **print_direction_entry(way).model_dump(),
            "printer": printer.name,
            "process": printer.process.value,
            "steps": [step_entry(step) for step in steps],
            "round_features": [_round_feature_entry(one) for one in features],
        }
    )


def master_keys(plan: MasterPlan, *, keep: int) -> dict[str, object]:
    """The values of a master under their keys."""
    best = plan.direction
    return {
        "process": plan.process.value,
        "printer": plan.chosen.printer.name,
        "direction": vector(best.direction),
        "layer_mm": plan.layer_mm,
        "footing": best.footing.value,
        "total_min": plan.chosen.total_min,
        "material_ml": best.estimate.material_ml,
        "material_g": best.estimate.material_g,
        "why": list(plan.why),
        "directions": [print_direction_entry(one) for one in plan.ranked[:keep]],
        "steps": [step_entry(step) for step in plan.steps],
        "round_features": [_round_feature_entry(one) for one in plan.features],
        "shut_hollows": [
            ShutHollowEntry(
                volume_mm3=float(hollow.volume_mm3),
                area_mm2=float(hollow.area_mm2),
                closes_mm=float(hollow.closes_mm),
                opens_mm=None if hollow.opens_mm is None else float(hollow.opens_mm),
                at_mm=vector(hollow.at_mm),
            )
            for hollow in plan.hollows.shut
        ],
        "starts_in_air_mm": [vector(one) for one in plan.hollows.in_air_mm],
    }


def _round_feature_entry(one: RoundFeature) -> RoundFeatureEntry:
    return RoundFeatureEntry(
        kind=one.fit.kind.value,
        hole=bool(one.material < 0),
        diameter_mm=float(2.0 * one.radius_mm),
        axis=vector(one.section.axis),
        at_mm=vector(one.section.centre_mm),
        residual_mm=float(one.fit.residual_mm),
        drawn_roundness_mm=float(one.section.drawn_mm),
    )


def print_direction_entry(one: PrintDirection) -> PrintDirectionEntry:
    """One print direction."""
    of_one = (
        "step_mm", "roundness_mm", "suction_n", "support_mm2", "height_mm", "print_min", "added_roundness_mm",
        "marks_mm2", "shut_mm2", "layer_mm", "fits", "score_mm",
    )  # fmt: skip
    return PrintDirectionEntry.model_validate(
        {
            **{key: getattr(one, key) for key in of_one},
            "direction": vector(one.direction),
            "footing": one.footing.value,
        }
    )


def allowance_entry(allowance: Allowance) -> AllowanceEntry:
    """The scale of the master, the error left, and each fit."""
    return AllowanceEntry(
        scale=vector(allowance.scale),
        error_ratio=allowance.error_ratio,
        fits=[
            FitEntry(
                kind=one.fit.kind.value,
                nominal_mm=one.fit.nominal_mm,
                tolerance_mm=one.fit.tolerance_mm,
                at_mm=vector(one.at_mm),
                drawn_mm=one.drawn_mm,
                master_mm=one.master_mm,
                copy_mm=one.copy_mm,
                spread_mm=one.spread_mm,
                error_mm=one.error_mm,
                holds=one.holds,
            )
            for one in allowance.fits
        ],
    )
