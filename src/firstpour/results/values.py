"""A plan and what was written of it."""

from dataclasses import dataclass

from firstpour.files.plan_json import PlanEntry
from firstpour.plan.values import Plan
from firstpour.results.order import Order
from firstpour.values import Finding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SavedPlan:
    """A plan, its order of work and what its plan.json says."""

    plan: Plan
    order: Order
    entry: PlanEntry

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages found, the order of work included, the worst first."""
        return self.order.with_those_of(self.plan)
