"""All checks of a written mould, each with how it is named in the table."""

from collections.abc import Callable
from dataclasses import dataclass

from families import check_channels, check_opening, check_pieces, check_walls
from families.written import Fault, WrittenMould

CHECKS: tuple[Callable[[WrittenMould], list[Fault]], ...] = (
    check_pieces.balanced,
    check_pieces.open_on_top,
    check_pieces.no_closed_ring,
    check_opening.lifts_off_part,
    check_opening.lifts_off_sprue,
    check_opening.leaves_tray,
    check_opening.master_goes_in,
    check_walls.no_fins,
    check_walls.stated_wall,
    check_channels.clear_of_part,
    check_channels.vented,
    check_channels.open_to_outside,
    check_channels.air_in_silicone,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What the checks held against a mould, and the air that stays in the cast by a count of our own."""

    faults: tuple[Fault, ...]
    air_mm3: float | None


def check(mould: WrittenMould) -> Checked:
    """Run every check; a mould whose files are no closed solids gets no further than that."""
    faults = check_pieces.measured(mould)
    if check_pieces.unclosed(mould):
        return Checked(faults=tuple(faults), air_mm3=None)
    for one in CHECKS:
        faults += one(mould)
    air_mm3, airy = check_channels.air_in_cast(mould)
    return Checked(faults=(*faults, *airy), air_mm3=air_mm3)
