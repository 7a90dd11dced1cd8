"""A step of the workshop as a plain table: the keys that stay stable in JSON."""

from typing import Any

from firstpour.materials.steps import Step


def step_table(step: Step) -> dict[str, Any]:
    """One step with its minutes: shortest, likeliest, longest."""
    return {
        "id": step.id,
        "name": step.name,
        "text": step.text,
        "why": step.why,
        "hands_min": step.hands_min,
        "hands_low_min": step.hands.low_min,
        "hands_high_min": step.hands.high_min,
        "wait_min": step.wait_min,
        "wait_low_min": step.wait.low_min,
        "wait_high_min": step.wait.high_min,
        "wait_at_c": step.at_c,
        "each_pour": step.each_pour,
        "uses": step.uses,
    }
