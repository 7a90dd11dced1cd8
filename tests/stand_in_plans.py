"""Plans without any mould worked out: what chooses between them is tried on stand-ins of what they are made of."""

from types import SimpleNamespace as Some

from firstpour.cavities.table import CavityRow
from firstpour.job.job import PartRequest
from firstpour.plan.values import FailedPart, PartPlan


def part_plan(request: PartRequest, **more: object) -> PartPlan:
    """A planned part of which only the request is known, and what is given."""
    known = {
        "part": None, "measures": None, "draws": (), "fill": None, "flow": None, "mould": Some(cavities=1),
        "pours": (), "printing": None, "choice": None, "worked_name": "worked",
    }  # fmt: skip
    return PartPlan(**{"request": request, **known, **more})


def cavity_row(cavities: int, *, days: float | None, made: bool = False, **more: object) -> CavityRow:
    """A row of the table of cavities, its silicone in proportion."""
    known = {
        "block_mm": (10.0, 10.0, 10.0), "silicone_ml": 50.0 * cavities, "print_min": 100.0, "waste_g": 1.0,
        "pour_min": 5.0, "rounds": 3, "copies_a_day": 1.0, "cost": 20.0, "in_one_mix": True, "in_time": None,
    }  # fmt: skip
    return CavityRow(**{"cavities": cavities, "days": days, "made": made, **known, **more})


def failed(name: str) -> FailedPart:
    """A part that could not be planned."""
    return FailedPart(name=name, problem=f"{name} does not open", remedy=f"turn {name}", code="unplanned")
