"""Every pour of a mould as entries of JSON."""

from pydantic import Field

from firstpour.files.entry import Entry, Vector, place, vector
from firstpour.mould.pours import Carrier, MouldPour
from firstpour.mould.values import Pose, Spare
from firstpour.units import ml_from_mm3


class PoseEntry(Entry):
    """How the mould stands while one silicone is poured."""

    pours: str = Field(description="Name of the silicone piece.")
    up: Vector = Field(description="Which way is up, in the part's coordinates.")
    around: list[str] = Field(description="Names of the pieces that stand around it.")
    level_mm: float = Field(description="Level to pour to, over the lowest of them; a box slid over them aside.")
    volume_mm3: float
    openings_mm: list[Vector] = Field(
        default_factory=list,
        description="Where the holes of a jacket over it begin, the first to pour through; empty where none is.",
    )


class SpareEntry(Entry):
    """What a silicone could do without, or does without under its jacket."""

    silicone: str = Field(description="Name of the silicone piece.")
    jacket_ml: float = Field(description="Silicone that a jacket over it spares.")
    cubes: int = Field(description="Cubes of cured silicone that would find room in it instead, clear of the wall.")
    cube_mm: float
    cubes_ml: float = Field(description="Fresh silicone whose place they take.")


class MouldPourEntry(Entry):
    """One pour, of silicone or of the cast. Places are in the part's own coordinates."""

    pours: str = Field(description="Name of the silicone piece, or `copy` for the cast.")
    up: Vector = Field(description="Which way is up.")
    after: list[str] = Field(description="What must have cured before.")
    turned_over: list[str] = Field(description="Which of that stands upside down, seen from its own pour.")
    level_mm: float = Field(description="Level over the lowest piece around it; of the cast the gate's mouth.")
    volume_ml: float
    at_mm: Vector = Field(description="Where the stream goes in: the corner with most room, or the gate.")
    air_mm3: float = Field(description="Air that stays, in pockets larger than a bubble of 4 mm³.")
    air_places: int
    air_at_mm: Vector | None = Field(description="Top of the largest such pocket; null where there is none.")
    tilt_deg: float = Field(description="The lean of the box that leaves the least air; 0 where no lean helps.")
    tilt_up: Vector = Field(description="Which way is up in the box that leans so.")
    air_tilted_mm3: float = Field(description="Air that stays in the box that leans so.")
    carrier: Carrier = Field(description="What holds the part, or its print, in place.")
    lift_n: float = Field(description="Lift on a master printed light that hangs on its rod; 0 where none does.")
    lean_mm: float = Field(description="How far such a master leans, an estimate.")
    bubble_mm: float | None = Field(description="Smaller bubbles stay in the mix; null where nothing is known.")


def pose_entry(pose: Pose) -> PoseEntry:
    """How the mould stands while one silicone is poured."""
    return PoseEntry(
        pours=pose.pours,
        up=vector(pose.up),
        around=list(pose.around),
        level_mm=pose.level_mm,
        volume_mm3=pose.volume_mm3,
        openings_mm=[place(one) for one in pose.openings_mm],
    )


def spare_entry(spare: Spare) -> SpareEntry:
    """What a silicone could do without."""
    return SpareEntry(
        silicone=spare.silicone,
        jacket_ml=spare.jacket_ml,
        cubes=spare.cubes,
        cube_mm=spare.cube_mm,
        cubes_ml=spare.cubes_ml,
    )


def pour_entry(pour: MouldPour) -> MouldPourEntry:
    """One pour of the plan."""
    return MouldPourEntry(
        pours=pour.pose.pours,
        up=vector(pour.pose.up),
        after=list(pour.after),
        turned_over=list(pour.turned_over),
        level_mm=pour.pose.level_mm,
        volume_ml=ml_from_mm3(pour.pose.volume_mm3),
        at_mm=place(pour.at_mm),
        air_mm3=pour.air.volume_mm3,
        air_places=pour.air.places,
        air_at_mm=None if pour.air.at_mm is None else place(pour.air.at_mm),
        tilt_deg=pour.tilt_deg,
        tilt_up=vector(pour.tilt_up),
        air_tilted_mm3=pour.tilted_air.volume_mm3,
        carrier=pour.carrier,
        lift_n=pour.lift_n,
        lean_mm=pour.lean_mm,
        bubble_mm=pour.bubble_mm,
    )
