"""What is written of a plan: pieces, pictures, the run sheet, the order of work, plan.json."""

from firstpour.results.plan_into import plan_into
from firstpour.results.values import SavedPlan

__all__ = ["SavedPlan", "plan_into"]
