"""The fill as entries of JSON."""

from pydantic import Field

from firstpour.files.entry import Entry, Vector, place, vector
from firstpour.fill.channels import ChannelPlan
from firstpour.fill.flow import Flow
from firstpour.fill.values import ChannelUse, MadeAs, PlaceKind, Pour, PourKind


class PocketEntry(Entry):
    """Air that stays with the gate alone."""

    volume_mm3: float
    top_mm: Vector
    seals_at_mm: float = Field(description="Height along `up` from which on it is cut off.")
    on_show: bool


class ProposedChannelEntry(Entry):
    """A gate or a vent: from the part to the outside of the block."""

    use: ChannelUse
    made_as: MadeAs = Field(description="Along the parting surface in both halves, or through one half alone.")
    place: PlaceKind
    reason: str
    path_mm: list[Vector]
    radius_start_mm: float
    radius_end_mm: float


class FillEntry(Entry):
    """The pour in one direction: gate, vents, and the air that stays without and with the vents."""

    up: Vector
    gate_mm: Vector
    trapped_mm3: float = Field(description="Air that stays with the gate alone.")
    trapped_show_mm3: float
    unfilled_mm3: float
    pockets: list[PocketEntry]
    unresolved: int = Field(description="Pockets too small for the grid to tell.")
    unresolved_mm3: float
    pitch_mm: float
    vents_mm: list[Vector]
    trapped_vented_mm3: float = Field(description="Air that stays with the vents.")
    channels: list[ProposedChannelEntry]


class PourDirectionEntry(Entry):
    """One ranked pour direction."""

    up: Vector
    kind: PourKind
    tilt_deg: float
    trapped_mm3: float
    trapped_show_mm3: float
    vents: int
    openings_on_show: int
    lone_openings: int = Field(description="Openings that could not leave along the parting surface.")
    gate_mm: Vector
    head_mm: float
    reasons: list[str]


class PlannedFillEntry(FillEntry):
    """The pour of a part, and the directions it was chosen from; none where the job fixed it."""

    directions: list[PourDirectionEntry]


class RemediesEntry(Entry):
    """Each by itself makes the pour end just in time; null where it does not in a sensible measure."""

    gate_radius_mm: float | None
    gates: int | None
    thicker_ratio: float | None
    viscosity_pa_s: float | None
    slower_ratio: float | None
    head_mm: float | None


class FlowEntry(Entry):
    """The flow through the gate."""

    volume_ml: float
    first_flow_ml_s: float
    most_ml: float = Field(description="What can ever pass before the mix is too thick.")
    fill_s: float | None = Field(description="null: so much never passes.")
    time_left_s: float
    head_mm: float
    head_needed_mm: float | None
    cavity_share: float = Field(description="The cavity's share of all resistance.")
    smallest_escaping_mm: float
    smallest_left_mm: float = Field(description="Bubbles of that size after the pressure pot, if there is one.")
    each_alone: RemediesEntry | None = Field(description="What would make it end in time; null where it does.")
    fits: bool


def fill_entry(plan: ChannelPlan) -> FillEntry:
    """The stable keys of `fill --up`."""
    return FillEntry.model_validate(fill_keys(plan))


def planned_fill_entry(plan: ChannelPlan, pours: tuple[Pour, ...]) -> PlannedFillEntry:
    """The pour that was planned, with the directions it was chosen from."""
    directions = [pour_direction_entry(pour) for pour in pours]
    return PlannedFillEntry.model_validate({**fill_keys(plan), "directions": directions})


def fill_keys(plan: ChannelPlan) -> dict[str, object]:
    """The values of a fill under their keys."""
    alone, vented = plan.gate_alone, plan.vented
    of_fill = ("trapped_mm3", "trapped_show_mm3", "unfilled_mm3", "unresolved", "unresolved_mm3", "pitch_mm")
    return {
        **{key: getattr(alone, key) for key in of_fill},
        "up": vector(alone.up),
        "gate_mm": place(alone.gate_mm),
        "pockets": [
            PocketEntry(
                volume_mm3=pocket.volume_mm3,
                top_mm=place(pocket.top_mm),
                seals_at_mm=pocket.seals_at_mm,
                on_show=pocket.on_show,
            )
            for pocket in alone.pockets
        ],
        "vents_mm": [place(vent.at_mm) for vent in plan.vents],
        "trapped_vented_mm3": vented.trapped_mm3,
        "channels": [
            ProposedChannelEntry(
                use=channel.use,
                made_as=channel.made_as,
                place=channel.place,
                reason=channel.reason,
                path_mm=[place(point) for point in channel.path_mm],
                radius_start_mm=channel.radius_start_mm,
                radius_end_mm=channel.radius_end_mm,
            )
            for channel in plan.channels
        ],
    }


def pour_direction_entry(pour: Pour) -> PourDirectionEntry:
    """One ranked pour direction."""
    of_pour = (
        "kind",
        "tilt_deg",
        "trapped_mm3",
        "trapped_show_mm3",
        "vents",
        "openings_on_show",
        "lone_openings",
        "head_mm",
    )
    return PourDirectionEntry.model_validate(
        {
            **{key: getattr(pour, key) for key in of_pour},
            "up": vector(pour.up),
            "gate_mm": place(pour.gate_mm),
            "reasons": list(pour.reasons),
        }
    )


def flow_entry(flow: Flow) -> FlowEntry:
    """The flow of `fill --viscosity-pa-s`."""
    of_flow = (
        "volume_ml", "first_flow_ml_s", "most_ml", "fill_s", "time_left_s", "head_needed_mm", "cavity_share",
        "smallest_escaping_mm", "smallest_left_mm", "fits",
    )  # fmt: skip
    return FlowEntry.model_validate(
        {
            **{key: getattr(flow, key) for key in of_flow},
            "head_mm": flow.squeeze.head_mm,
            "each_alone": None if flow.remedies is None else RemediesEntry.model_validate(flow.remedies),
        }
    )
