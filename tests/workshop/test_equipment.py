"""What there is to work with, and what the plan takes from it."""

from dataclasses import replace

import pytest

from firstpour.errors import BadJob, BadRequest
from firstpour.mixing.mix import degas_lots, room_ratio
from firstpour.mixing.pour_steps import Pour, PourStepName, pour_steps
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER, Process
from firstpour.workshop.equipment import (
    Bench,
    Equipment,
    PressurePot,
    Room,
    VacuumChamber,
    pieces_printer,
    printers_for,
)
from shelf_samples import shipped

SILICONE = "addition-silicone-a25-middling"


def steps_with(equipment: Equipment) -> list[PourStepName]:
    pour = Pour(material=shipped().get(SILICONE), volume_ml=200, kit=equipment.kit)
    return [step.name for step in pour_steps(pour, temperature_c=23)]


def test_without_vacuum_nothing_is_degassed() -> None:
    assert PourStepName.DEGAS in steps_with(Equipment())
    assert PourStepName.DEGAS not in steps_with(Equipment(vacuum=VacuumChamber(available=False)))


def test_the_largest_cup_and_the_chamber_bound_a_mix() -> None:
    kit = Equipment(bench=Bench(containers_ml=(500.0, 250.0)), vacuum=VacuumChamber(size_ml=400.0)).kit
    assert (kit.largest_container_ml, kit.largest_degassed_ml) == (500.0, 400.0)


def test_mould_pieces_go_to_the_roomiest_filament_printer() -> None:
    large = replace(FILAMENT_PRINTER, name="large", size_mm=(300.0, 300.0, 300.0))
    huge = replace(VAT_PRINTER, name="huge", size_mm=(400.0, 400.0, 400.0))
    printers = (FILAMENT_PRINTER, large, huge)
    assert pieces_printer(printers) is large
    assert pieces_printer(printers, Process.VAT) is huge
    assert pieces_printer((VAT_PRINTER, huge)) is huge


def test_a_process_that_no_printer_has_is_told() -> None:
    with pytest.raises(BadJob, match="no vat printer") as refused:
        printers_for((FILAMENT_PRINTER,), Process.VAT)
    assert "enter a printer" in refused.value.remedy


def test_a_pot_is_never_used_above_its_rating() -> None:
    PressurePot(rated_pa=280_000.0, used_pa=280_000.0)
    with pytest.raises(BadRequest, match="above the 2 bar"):
        PressurePot(rated_pa=200_000.0, used_pa=280_000.0)


def test_the_coldest_and_the_warmest_hour_are_looked_at_as_well() -> None:
    room = Room(temperature_c=20.0, by_hour_c=tuple(14.0 + k / 2 for k in range(24)))
    assert Equipment(room=room).other_rooms_c == (14.0, 25.5)
    assert Equipment(room=Room(temperature_c=20.0)).other_rooms_c == (18.0, 23.0, 28.0)


def test_a_small_chamber_takes_a_mix_in_lots_and_the_clock_counts_them() -> None:
    """400 ml rise to four times that (common practice, no source): 1600 ml, two lots under a chamber of 1000 ml."""
    silicone = shipped().get(SILICONE)
    assert room_ratio(silicone, Equipment().kit) == 4
    small = Equipment(vacuum=VacuumChamber(size_ml=1000.0)).kit
    assert [degas_lots(silicone, 400, kit) for kit in (Equipment().kit, small)] == [1, 2]
    minutes = [
        next(step.time.mean_min for step in pour_steps(pour, temperature_c=23) if step.name is PourStepName.DEGAS)
        for pour in (Pour(material=silicone, volume_ml=400, kit=kit) for kit in (Equipment().kit, small))
    ]
    assert minutes[1] == pytest.approx(2 * minutes[0])
    assert degas_lots(silicone, 4000, replace(small, vacuum=False)) == 1
