"""plan.json: what a plan holds for other programs to read. Its JSON Schema is docs/plan.schema.json."""

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Literal

from pydantic import ConfigDict, Field

from firstpour import __version__
from firstpour.files.cavity_entries import CavityRowEntry
from firstpour.files.entry import (
    Entry,
    FindingEntry,
    Vector,
    finding_entries,
    loop_length_mm,
    place,
    vector,
    way,
)
from firstpour.files.entry import Way as InMould
from firstpour.files.fill_entries import FlowEntry, PlannedFillEntry
from firstpour.files.insert_entries import InsertEntry
from firstpour.files.learned_entries import LearnedEntry
from firstpour.files.material_entries import PartChoiceEntry, StockLineEntry, SupplyEntry
from firstpour.files.member_entries import MemberEntry
from firstpour.files.pieces import WrittenPiece
from firstpour.files.pour_entries import MouldPourEntry, PoseEntry, SpareEntry, pose_entry, spare_entry
from firstpour.files.print_entries import AllowanceEntry, MasterEntry, PiecePrintEntry, SurfaceEntry
from firstpour.files.results import PLAN_FILE, PLAN_FORMAT
from firstpour.files.schedule_entries import ScheduleEntry
from firstpour.files.taken_entries import PrintedPartEntry, TakenEntry
from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.values import Mould, Role
from firstpour.part.measure import Measures
from firstpour.parting.values import Draw, DrawOrigin, Half, MouldKind, RankedDraw, UndercutRegion, Way
from firstpour.writing.whole import Over, write_whole


class MeasureEntry(Entry):
    """The part as read and repaired."""

    faces: int
    watertight: bool
    bodies: int
    volume_mm3: float
    area_mm2: float
    size_mm: Vector
    thinnest_wall_mm: float | None = Field(description="An estimate; null where no wall was found.")
    thinnest_wall_pitch_mm: float | None = Field(description="Walls thinner than this are not resolved.")
    findings: list[FindingEntry]


class RegionEntry(Entry):
    """One connected void that blocks the draw."""

    volume_mm3: float
    depth_mm: float | None = Field(description="How far silicone must give way sideways; null for a closed void.")
    way: Way = Field(description="How its silicone comes out.")
    half: Half = Field(description="The half that fills it: the one that stretches less.")
    stretch_ratio: float | None = Field(description="Longest fibre of silicone; null where it cannot come out.")
    squeeze_ratio: float = Field(description="How much narrower a plug becomes in its neck.")
    locked_loops: int = Field(description="Rings of silicone through the part.")
    faces: int
    centre_mm: Vector


class DrawEntry(Entry):
    """One draw direction; area, depth and regions are null where it was only ranked."""

    direction: Vector
    undercut_mm3: float = Field(description="Volume of the void that blocks the draw.")
    undercut_mm2: float | None = Field(description="Area of the faces reached from neither side.")
    undercut_depth_mm: float | None = Field(description="How far silicone must give way sideways.")
    stretch_ratio: float = Field(description="The most any undercut stretches the silicone; locked ones apart.")
    squeeze_ratio: float = Field(description="The most that a plug is squeezed in a neck.")
    locked_loops: int = Field(description="Rings of silicone through the part, and voids shut in.")
    seam_on_show_mm: float
    seam_mm: float = Field(description="Length of seam, an estimate from the edges where faces turn over.")
    seam_rise_mm: float = Field(description="How far the seam rises and falls along the draw.")
    bore_seam_mm: float = Field(description="Seam along the walls of bores that the draw splits.")
    height_mm: float
    silicone_ml: float = Field(description="Silicone of the smallest box around the part.")
    origin: DrawOrigin
    reason: str = Field(description="Why the direction was tried.")
    pitch_mm: float = Field(description="Undercuts smaller than this are not resolved.")
    regions: list[RegionEntry] | None


class DirectionsEntry(Entry):
    """Draw directions, the best first and in full, the rest as far as the ranking needs; all for two halves.

    The first agrees with `chosen_draw`, save where that opens to one side only (an open face) or is turned over.
    """

    directions: list[DrawEntry]


class ChannelEntry(Entry):
    """A gate or a vent."""

    use: ChannelUse
    path_mm: list[Vector]
    radius_start_mm: float
    radius_end_mm: float
    sink_mm: float = Field(description="How far its flat start lies inside the part.")
    feet_mm: list[Vector] = Field(description="Where a fan opens along the part; none where the channel is round.")
    foot_radius_mm: float = Field(description="Half the width of the fan's slot; 0 where the channel is round.")


class PieceEntry(Entry):
    """One piece and the file that holds it; `file` is relative to plan.json."""

    name: str
    role: Role
    file: str
    volume_mm3: float
    watertight: bool
    bodies: int
    faces: int
    size_mm: Vector
    in_mould: InMould = Field(
        description="Turn and shift that bring the file's points to where the piece sits, in the part's coordinates."
    )


class BoardsEntry(Entry):
    """Two stiff boards across the draw, and the straps around them."""

    size_mm: Vector = Field(description="Length, width and thickness of each.")
    straps: int


class BasinEntry(Entry):
    """A trough along the mouths of all gates, from which all cavities are filled at once."""

    gates: int
    wide_mm: float
    deep_mm: float
    volume_ml: float = Field(description="What it holds: cast full each time, and waste.")


class MouldEntry(Entry):
    """One mould: its pieces and quantities."""

    kind: MouldKind
    draw: Vector
    pieces: list[PieceEntry]
    print_file: str | None = Field(description="All that is printed in one 3MF; null where nothing is.")
    cavities: int = Field(description="Copies that one filling gives; each has a gate of its own.")
    basin: BasinEntry | None = Field(default=None, description="Null: each gate is poured by itself.")
    channels: list[ChannelEntry]
    seam_mm: float = Field(description="Length of the parting line on the part.")
    silicone_ml: float
    casting_ml: float = Field(description="For one copy, with gate and vents.")
    print_ml: float
    scale: float = Field(description="The allowance: the master is the part times this.")
    findings: list[FindingEntry]
    boards: BoardsEntry | None = Field(description="What holds the closed mould shut; null for an open-face mould.")
    poses: list[PoseEntry] = Field(description="How each silicone is poured, in the order of the work.")
    cut_mm: float | None = Field(description="Height over the foot of the groove to cut a block open along.")
    spares: list[SpareEntry] = Field(
        default_factory=list, description="What each silicone could do without; empty for a bedding mould."
    )


class ElapsedEntry(Entry):
    """Minutes from the first print on, if hands and printers never keep the part waiting; null: no material."""

    prints_min: float
    mould_min: float | None = Field(description="The mould is ready for its first cast.")
    first_copy_min: float | None = Field(description="The first proof of the mould.")
    all_copies_min: float | None
    order: list[str] = Field(description="The work in its order.")


class PartEntry(Entry):
    """One part of the job, through every stage so far."""

    name: str
    source: str | None = Field(description="The file it was read from; null for a sample part.")
    copies: int
    measure: MeasureEntry
    draw: DirectionsEntry
    chosen_draw: DrawEntry
    fill: PlannedFillEntry | None = Field(description="Pour, gate, vents and air; null for an open-face mould.")
    flow: FlowEntry | None = Field(description="The flow through the gate; null where no material is known.")
    mould: MouldEntry
    cavities: list[CavityRowEntry] = Field(
        description="What each number of cavities would take; empty where one is made."
    )
    together: list[MemberEntry] = Field(
        default_factory=list,
        description="Different parts that lie together in its mould, a copy being a set of them; empty for one part.",
    )
    around: str | None = Field(default=None, description="The part around whose copies it is cast; null for none.")
    inserts: list[InsertEntry] = Field(description="What is set into every cavity before the cast.")
    pours: list[MouldPourEntry] = Field(description="Every pour, of silicone and of the cast, in their order.")
    prints: list[PiecePrintEntry] = Field(description="Every piece that is printed.")
    surface: SurfaceEntry = Field(description="The part's own surface as printed; the silicone copies it.")
    master: MasterEntry | None = Field(description="The master printed by itself; null where trays are printed.")
    allowance: AllowanceEntry
    materials: PartChoiceEntry | None = Field(description="What the shelf chose; null where no hardness was given.")
    elapsed: ElapsedEntry
    route: TakenEntry | None = Field(description="The route by preference; null where the job states none.")
    pictures: list[str]

    @property
    def wanted(self) -> int:
        """How many copies are wanted in all, those of a set each by itself."""
        return sum(one.copies for one in self.together) or self.copies


class JobEntry(Entry):
    """What was asked for."""

    name: str
    due: date | None
    printer_mm: Vector


class TotalsEntry(Entry):
    """Sums over the parts: one mould of each, all copies of each."""

    silicone_ml: float
    casting_ml: float = Field(
        description="In the copies wanted; spoiled shots and what stays in cups come on top (`to_have`)."
    )
    print_ml: float = Field(
        description="What printers use with supports: pieces of moulds, and prints that are copies, spoiled ones too."
    )


class PlanEntry(Entry):
    """The whole of plan.json."""

    model_config = ConfigDict(extra="forbid", frozen=True, title="plan.json")

    format: Literal["firstpour-plan"] = PLAN_FORMAT
    version: Literal[1] = 1
    made_by: str = f"firstpour {__version__}"
    job: JobEntry
    parts: list[PartEntry] = Field(description="What is cast.")
    printed: list[PrintedPartEntry] = Field(description="What is printed directly.")
    totals: TotalsEntry
    schedule: ScheduleEntry | None = Field(
        default=None,
        description="What is done on which day; null where materials or hours are missing, or the plan is older.",
    )
    to_have: list[StockLineEntry] = Field(description="Each material of the whole job against the shelf.")
    to_lay_out: list[SupplyEntry] = Field(description="Gloves, cups, sticks, masks and tools for the whole job.")
    learned: LearnedEntry = Field(
        default_factory=LearnedEntry,
        description="What was seen in this workshop before, as the plan reckons with it; empty in older plans.",
    )
    findings: list[FindingEntry] = Field(description="All findings of all stages, the worst first.")
    files: list[str] = Field(description="Every file that belongs to the plan, relative to plan.json.")


def measure_entry(measures: Measures) -> MeasureEntry:
    """The measures of a part."""
    return MeasureEntry(
        faces=measures.faces,
        watertight=measures.watertight,
        bodies=measures.bodies,
        volume_mm3=measures.volume_mm3,
        area_mm2=measures.area_mm2,
        size_mm=vector(measures.size_mm),
        thinnest_wall_mm=measures.thinnest_wall_mm,
        thinnest_wall_pitch_mm=measures.thinnest_wall_pitch_mm,
        findings=finding_entries(measures.findings),
    )


def draw_entry(draw: RankedDraw) -> DrawEntry:
    """One draw direction: a row of the ranking, or the draw that is taken."""
    taken = draw if isinstance(draw, Draw) else None
    return DrawEntry(
        direction=vector(draw.direction),
        undercut_mm3=draw.undercut_mm3,
        undercut_mm2=None if taken is None else taken.undercut_mm2,
        undercut_depth_mm=None if taken is None else taken.undercut_depth_mm,
        stretch_ratio=draw.stretch_ratio,
        squeeze_ratio=draw.squeeze_ratio,
        locked_loops=draw.locked_loops,
        seam_mm=draw.seam_mm,
        seam_rise_mm=draw.seam_rise_mm,
        bore_seam_mm=draw.bore_seam_mm,
        silicone_ml=draw.silicone_ml,
        origin=draw.origin,
        reason=draw.reason,
        seam_on_show_mm=draw.seam_on_show_mm,
        height_mm=draw.height_mm,
        pitch_mm=draw.pitch_mm,
        regions=None if taken is None else [_region_entry(region) for region in taken.regions],
    )


def _region_entry(region: UndercutRegion) -> RegionEntry:
    return RegionEntry(
        volume_mm3=region.volume_mm3,
        depth_mm=region.depth_mm,
        way=region.stretch.way,
        half=region.stretch.half,
        stretch_ratio=region.stretch.stretch_ratio,
        squeeze_ratio=region.stretch.squeeze_ratio,
        locked_loops=region.stretch.loops,
        faces=len(region.faces),
        centre_mm=vector(region.centre_mm),
    )


def mould_entry(mould: Mould, pieces: Sequence[WrittenPiece], *, print_file: str | None) -> MouldEntry:
    """A mould whose pieces were written."""
    return MouldEntry(
        kind=mould.kind,
        draw=vector(mould.draw.direction),
        pieces=[_piece_entry(piece) for piece in pieces],
        print_file=print_file,
        cavities=mould.cavities,
        basin=None if mould.basin is None else BasinEntry.model_validate(mould.basin),
        channels=[_channel_entry(channel, scale=mould.scale) for channel in mould.channels],
        seam_mm=sum(loop_length_mm(loop / mould.scale) for loop in mould.seam_mm),
        silicone_ml=mould.silicone_ml,
        casting_ml=mould.casting_ml,
        print_ml=mould.print_ml,
        scale=mould.scale,
        findings=finding_entries(mould.findings),
        boards=None
        if mould.boards is None
        else BoardsEntry(size_mm=mould.boards.size_mm, straps=mould.boards.straps),
        poses=[pose_entry(pose) for pose in mould.poses],
        cut_mm=mould.cut_mm,
        spares=[spare_entry(one) for one in mould.spares],
    )


def _piece_entry(piece: WrittenPiece) -> PieceEntry:
    return PieceEntry(
        name=piece.name,
        role=piece.role,
        file=piece.file.as_posix(),
        volume_mm3=piece.volume_mm3,
        watertight=piece.watertight,
        bodies=piece.bodies,
        faces=piece.faces,
        size_mm=piece.size_mm,
        in_mould=way(piece.in_mould),
    )


def _channel_entry(channel: Channel, *, scale: float) -> ChannelEntry:
    return ChannelEntry(
        use=channel.use,
        path_mm=[place(point / scale) for point in channel.path_mm],
        radius_start_mm=channel.radius_start_mm,
        radius_end_mm=channel.radius_end_mm,
        sink_mm=channel.radius_start_mm if channel.sink_mm is None else channel.sink_mm,
        feet_mm=[place(foot / scale) for foot in channel.feet_mm],
        foot_radius_mm=channel.foot_radius_mm,
    )


def write_plan(folder: Path, plan: PlanEntry) -> None:
    """Write plan.json into `folder`."""
    content = plan.model_dump_json(indent=2) + "\n"
    write_whole(folder / PLAN_FILE, content.encode(), over=Over.NOTHING)


def schema_text() -> str:
    """The JSON Schema of plan.json, as published in docs/plan.schema.json."""
    schema = PlanEntry.model_json_schema(mode="serialization")
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(schema, indent=2) + "\n"
