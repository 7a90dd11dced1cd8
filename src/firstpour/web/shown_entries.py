"""What is drawn on a part and on its mould, and openings that are tried."""

from pydantic import Field

from firstpour.files.checked import Table
from firstpour.files.checked import Vector as GivenVector
from firstpour.files.entry import Entry, FindingEntry, Vector
from firstpour.files.fill_entries import PlannedFillEntry, PocketEntry, PourDirectionEntry
from firstpour.files.plan_json import DrawEntry, RegionEntry
from firstpour.files.pour_entries import MouldPourEntry
from firstpour.fill.values import ChannelUse, MadeAs, PlaceKind
from firstpour.mould.values import Role
from firstpour.parting.values import MouldKind
from firstpour.web.entries import Places


class ShownPieceEntry(Entry):
    """One piece of the mould as the viewer shows it."""

    key: str
    name: str
    role: Role
    volume_mm3: float
    printed: bool
    shift_mm: Vector = Field(description="Added to its points with the mould fully moved apart; the copy stays.")
    below: bool = Field(description="It stands below the mould, and its points lie in a frame of their own.")
    file: str | None = Field(description="The file to print, relative to the results.")


class ShownPiecesEntry(Entry):
    """The pieces of one mould, in the part's coordinates times `scale`."""

    scale: float = Field(description="The allowance: multiply the part by it to lay it into the mould.")
    pieces: list[ShownPieceEntry]


class ShownChannelEntry(Entry):
    """A gate or a vent where it meets the part and its way out, with its reason."""

    key: str = Field(description="Such as gate-1 or vent-2.")
    use: ChannelUse
    made_as: MadeAs
    place: PlaceKind
    reason: str
    at_mm: Vector
    path_mm: list[Vector]
    radius_start_mm: float
    radius_end_mm: float
    feet_mm: list[Vector]


class ShownPocketEntry(PocketEntry):
    """Air that stays with the gate alone, and what becomes of it with the vents."""

    key: str
    vented_mm3: float = Field(description="What of it still stays with the vents.")


class ShownUndercutEntry(RegionEntry):
    """An undercut of the draw that is taken."""

    key: str


class Marks3dEntry(Entry):
    """What is drawn on a part. Places are in the part's own coordinates, before the allowance."""

    part: str
    kind: MouldKind
    scale: float
    low_mm: Vector
    high_mm: Vector
    draw: DrawEntry = Field(description="The one taken.")
    draws: list[DrawEntry] = Field(description="All that were ranked, the best first.")
    pours: list[PourDirectionEntry] = Field(description="Pour directions, the best first; none where fixed.")
    all_pours: list[MouldPourEntry]
    seams_mm: list[list[Vector]] = Field(description="Closed lines: the last point joins the first.")
    up: Vector | None = Field(description="Way up for the cast; null for an open-face mould.")
    level_from_mm: float | None = Field(description="Lowest level along `up`; wet levels count from the origin.")
    level_to_mm: float | None
    fill: PlannedFillEntry | None
    channels: list[ShownChannelEntry]
    pockets: list[ShownPocketEntry]
    undercuts: list[ShownUndercutEntry]


class FillTryWish(Table):
    """Openings to try, on the surface of the part; without a gate the highest place."""

    gate_mm: GivenVector | None = None
    vents_mm: Places = ()
    up: GivenVector | None = Field(default=None, description="Way up; that of the plan if not given.")


class FillTryEntry(Entry):
    """The air that stays with these openings."""

    up: Vector
    gate_mm: Vector
    vents_mm: list[Vector]
    trapped_mm3: float
    trapped_show_mm3: float
    unfilled_mm3: float
    unresolved: int
    unresolved_mm3: float
    pitch_mm: float
    pockets: list[PocketEntry]
    wet_mm: list[float | None] = Field(
        description="Level along `up`, from the origin, at which each face is wetted; null where air stays."
    )
    findings: list[FindingEntry]
