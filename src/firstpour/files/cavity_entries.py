"""The table of cavities in plan.json."""

from collections.abc import Sequence

from pydantic import Field

from firstpour.cavities.table import CavityRow
from firstpour.files.entry import Entry, Vector


class CavityRowEntry(Entry):
    """A mould of so many cavities; null where no casting material is known."""

    cavities: int
    block_mm: Vector = Field(description="Length, width and height of the silicone, closed.")
    silicone_ml: float = Field(description="For one mould, reckoned from its block.")
    print_min: float = Field(description="Minutes on printers, by the plastic of its trays.")
    waste_g: float | None = Field(description="What of all mixes is no good copy: gates, vents, cups, spoiled ones.")
    pour_min: float | None = Field(description="Weighing, mixing and pouring of one round.")
    rounds: int | None
    copies_a_day: float | None = Field(description="From all moulds asked for, begun in the hours of the workshop.")
    days: float | None = Field(description="From the first print to the last copy, as the routes reckon.")
    cost: float | None = Field(description="Of all that has a price, for all copies and the mould.")
    in_one_mix: bool | None = Field(description="A single mix fills all cavities before it thickens.")
    in_time: bool | None = Field(description="Null where no date is set.")
    basin: bool = Field(default=False, description="All gates are filled from one basin, at once.")
    made: bool = Field(description="The mould of this plan.")
    best: bool = Field(description="The fewest that meet the date, or those done soonest.")


def cavity_entries(rows: Sequence[CavityRow], best: CavityRow | None) -> list[CavityRowEntry]:
    """The rows of the table."""
    return [
        CavityRowEntry(
            cavities=row.cavities,
            block_mm=row.block_mm,
            silicone_ml=row.silicone_ml,
            print_min=row.print_min,
            waste_g=row.waste_g,
            pour_min=row.pour_min,
            rounds=row.rounds,
            copies_a_day=row.copies_a_day,
            days=row.days,
            cost=row.cost,
            in_one_mix=row.in_one_mix,
            in_time=row.in_time,
            basin=row.basin,
            made=row.made,
            best=row is best,
        )
        for row in rows
    ]
