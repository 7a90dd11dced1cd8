"""The fill's answers as plain tables: the keys that stay stable in JSON."""

from dataclasses import asdict
from typing import Any

from firstpour.fill.channels import ChannelPlan
from firstpour.fill.flow import Flow
from firstpour.fill.values import Pour
from firstpour.values import FloatArray


def numbers(values: FloatArray) -> list[float]:
    """A vector for JSON, to a thousandth."""
    return [round(float(value), 3) + 0.0 for value in values]


def fill_table(plan: ChannelPlan) -> dict[str, Any]:
    """The stable keys of `fill --up`."""
    alone, vented = plan.gate_alone, plan.vented
    return {
        "up": [float(value) for value in alone.up],
        "gate_mm": numbers(alone.gate_mm),
        "trapped_mm3": alone.trapped_mm3,
        "trapped_show_mm3": alone.trapped_show_mm3,
        "unfilled_mm3": alone.unfilled_mm3,
        "pockets": [
            {
                "volume_mm3": pocket.volume_mm3,
                "top_mm": numbers(pocket.top_mm),
                "seals_at_mm": pocket.seals_at_mm,
                "on_show": pocket.on_show,
            }
            for pocket in alone.pockets
        ],
        "unresolved": alone.unresolved,
        "unresolved_mm3": alone.unresolved_mm3,
        "pitch_mm": alone.pitch_mm,
        "vents_mm": [numbers(vent) for vent in vented.vents_mm],
        "trapped_vented_mm3": vented.trapped_mm3,
        "channels": [
            {
                "use": channel.use,
                "place": channel.place,
                "reason": channel.reason,
                "path_mm": [numbers(point) for point in channel.path_mm],
                "radius_start_mm": channel.radius_start_mm,
                "radius_end_mm": channel.radius_end_mm,
            }
            for channel in ([plan.gate] if plan.gate else []) + list(plan.vents)
        ],
    }


def pour_table(pour: Pour) -> dict[str, Any]:
    """One ranked pour direction."""
    return {
        "up": [float(value) for value in pour.up],
        "kind": pour.kind,
        "tilt_deg": pour.tilt_deg,
        "trapped_mm3": pour.trapped_mm3,
        "trapped_show_mm3": pour.trapped_show_mm3,
        "vents": pour.vents,
        "openings_on_show": pour.openings_on_show,
        "gate_mm": numbers(pour.gate_mm),
        "head_mm": pour.head_mm,
        "reasons": list(pour.reasons),
    }


def flow_table(flow: Flow) -> dict[str, Any]:
    """The flow of `fill --viscosity-pa-s`."""
    keys = ("volume_ml", "first_flow_ml_s", "most_ml", "fill_s", "time_left_s", "head_needed_mm", "cavity_share",
            "smallest_escaping_mm", "smallest_left_mm", "fits")  # fmt: skip
    wanted = None if flow.remedies is None else asdict(flow.remedies)
    return {key: getattr(flow, key) for key in keys} | {"head_mm": flow.squeeze.head_mm, "each_alone": wanted}
