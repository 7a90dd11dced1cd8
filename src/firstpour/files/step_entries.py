"""A step of the workshop as an entry of JSON."""

from pydantic import Field

from firstpour.files.entry import Entry
from firstpour.materials.steps import Step


class StepEntry(Entry):
    """One step with its minutes: likeliest, shortest, longest."""

    id: str
    name: str
    text: str
    why: str
    hands_min: float
    hands_low_min: float
    hands_high_min: float
    wait_min: float
    wait_low_min: float
    wait_high_min: float
    wait_at_c: float
    each_pour: bool = Field(description="Done again for every pour or copy, not once a mould.")
    uses: str | None = Field(description="The material that it takes.")


def step_entry(step: Step) -> StepEntry:
    """One step."""
    return StepEntry.model_validate(step_keys(step))


def step_keys(step: Step) -> dict[str, object]:
    """The values of a step under their keys."""
    return {
        **{
            key: getattr(step, key)
            for key in ("id", "name", "text", "why", "hands_min", "wait_min", "each_pour", "uses")
        },
        "hands_low_min": step.hands.low_min,
        "hands_high_min": step.hands.high_min,
        "wait_low_min": step.wait.low_min,
        "wait_high_min": step.wait.high_min,
        "wait_at_c": step.at_c,
    }
