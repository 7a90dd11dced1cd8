"""The use case: from a job to a plan, the straight way through all stages."""

from firstpour.plan.by_date import plan_by_date
from firstpour.plan.by_route import plan_by_route
from firstpour.plan.crew import crew_of
from firstpour.plan.kept import kept_folder
from firstpour.plan.make import make_plan
from firstpour.plan.ready import get_ready
from firstpour.plan.values import PartPlan, Plan, Progress

__all__ = [
    "PartPlan",
    "Plan",
    "Progress",
    "crew_of",
    "get_ready",
    "kept_folder",
    "make_plan",
    "plan_by_date",
    "plan_by_route",
]
