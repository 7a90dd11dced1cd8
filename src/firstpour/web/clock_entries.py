"""What a pour is, kept beside the plan, and how it stands against the pot life in a room of another temperature."""

from collections.abc import Sequence

from pydantic import Field

from firstpour.choosing.choice import Chosen
from firstpour.files.entry import Entry
from firstpour.files.material_entries import DosedEntry, PlannedPourEntry
from firstpour.materials.additives import Additive
from firstpour.materials.catalogue import Catalogue
from firstpour.mixing.bench_kit import BenchKit
from firstpour.mixing.pour_steps import Pour


class PouredEntry(Entry):
    """One pour of a part, as far as a room changes nothing of it."""

    part: str
    use: str = Field(description="silicone or casting.")
    material: str
    volume_ml: float
    openings: int
    additives: list[DosedEntry]
    pour_min: float | None = Field(description="What the flow through the gates takes; null: a stream by hand.")
    slower: list[str] = Field(description="Materials that would do as well and leave more time.")


class AllPouredEntry(Entry):
    """The pours of a job."""

    pours: list[PouredEntry]


class ClockEntry(Entry):
    """One pour in the room that was asked for."""

    part: str
    use: str = Field(description="silicone or casting.")
    material: str
    pour: PlannedPourEntry


class ClocksEntry(Entry):
    """Every pour of the job in that room, with the materials that the plan has chosen."""

    temperature_c: float
    clocks: list[ClockEntry]


def poured_entries(part: str, chosen: Sequence[tuple[str, Chosen | None]]) -> list[PouredEntry]:
    """The pours of a part, each by what it is for."""
    return [_poured(part, use, one) for use, one in chosen if one is not None]


def _poured(part: str, use: str, chosen: Chosen) -> PouredEntry:
    pour = chosen.pour
    return PouredEntry(
        part=part,
        use=use,
        material=pour.material.id,
        volume_ml=pour.volume_ml,
        openings=pour.openings,
        additives=[DosedEntry(material=one.material.id, dose_ratio=one.dose_ratio) for one in pour.additives],
        pour_min=pour.pour_min,
        slower=[one.id for one in chosen.slower],
    )


def pour_from(entry: PouredEntry, catalogue: Catalogue, kit: BenchKit) -> Pour:
    """The pour itself, with the materials as the shelf knows them now.

    Raises
    ------
    UnknownMaterial
        If one of them is no longer known.
    """
    return Pour(
        material=catalogue.get(entry.material),
        volume_ml=entry.volume_ml,
        openings=entry.openings,
        additives=tuple(
            Additive(material=catalogue.get(one.material), dose_ratio=one.dose_ratio) for one in entry.additives
        ),
        kit=kit,
        pour_min=entry.pour_min,
    )
