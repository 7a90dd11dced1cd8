"""What the shelf must know of a part, against plain arithmetic of a cube in its block."""

from datetime import date
from types import SimpleNamespace as Some

import manifold3d
import pytest

from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Role
from firstpour.parting.values import MouldKind
from firstpour.plan.needs import minutes_left, need_of, sized_by_block, sized_by_mould
from firstpour.printing.printers import Process
from mould_shapes import Z, as_part

SIDE_MM, WALL_MM = 40.0, 10.0


def looked(kind=MouldKind.TRAYS):
    """A cube of 64 ml, as the first look gives it."""
    part = as_part("cube", manifold3d.Manifold.cube((SIDE_MM,) * 3, True))
    measures = Some(
        volume_mm3=SIDE_MM**3, area_mm2=6 * SIDE_MM**2, size_mm=(30.0, 20.0, SIDE_MM), thinnest_wall_mm=SIDE_MM
    )
    return Some(part=part, draw=Some(direction=Z, stretch_ratio=0.3), measures=measures, kind=kind)


SETTINGS = MouldSettings(wall_mm=WALL_MM)
SILICONE_ML = ((SIDE_MM + 2 * WALL_MM) ** 3 - SIDE_MM**3) / 1000.0


@pytest.mark.parametrize("kind", [MouldKind.TRAYS, MouldKind.BEDDING])
def test_two_halves_share_the_block_less_the_part(kind):
    sized = sized_by_block(looked(kind), SETTINGS)
    assert sized.pieces_ml == pytest.approx({"silicone-upper": SILICONE_ML / 2, "silicone-lower": SILICONE_ML / 2})


def test_a_block_is_poured_at_once_and_a_shot_takes_a_twentieth_more_than_the_part():
    sized = sized_by_block(looked(MouldKind.BLOCK), SETTINGS)
    assert sized.pieces_ml == pytest.approx({"silicone": SILICONE_ML})
    assert sized.casting_ml == pytest.approx(64.0 * 1.05)
    assert sized.stretch_ratio == 0.3


def test_by_its_block_a_mould_has_one_cavity_and_no_basin():
    sized = sized_by_block(looked(), SETTINGS)
    assert (sized.cavities, sized.basin) == (1, False)


@pytest.mark.parametrize(("hardness", "told"), [("A 20", "A 20"), (None, "")])
def test_the_shelf_is_told_the_hardness_asked_for_and_what_was_seen_if_anything(hardness, told):
    asked, sized = PartRequest(name="cube", hardness=hardness), sized_by_block(looked(), SETTINGS)
    need = need_of(looked(), asked, sized)
    assert (need.hardness, need.seen_good, need.seen_shots) == (told, 0, 0)
    seen = need_of(looked(), asked, sized, seen=Some(good=3.5, shots=5.0))
    assert (seen.seen_good, seen.seen_shots) == (3.5, 5.0)


def test_the_mould_tells_its_own_silicone_in_ml_and_nothing_else():
    pieces = [Some(name="silicone", role=Role.SILICONE, volume_mm3=5000.0)]
    pieces.append(Some(name="box", role=Role.BOX, volume_mm3=9000.0))
    sized = sized_by_mould(
        Some(kind=MouldKind.BLOCK, pieces=pieces, casting_ml=7.0, stretch_ratio=0.1, cavities=1, basin=None)
    )
    assert sized.pieces_ml == {"silicone": 5.0}
    assert (sized.casting_ml, sized.stretch_ratio) == (7.0, 0.1)


@pytest.mark.parametrize(
    ("due", "left_min"), [(date(2026, 3, 3), 1440.0), (date(2026, 3, 9), 10080.0), (date(2026, 3, 2), 0.0)]
)
def test_a_due_date_leaves_whole_days_and_never_less_than_none(due, left_min):
    assert minutes_left(due, today=date(2026, 3, 2)) == left_min
    assert minutes_left(date(2026, 2, 1), today=date(2026, 3, 2)) == 0.0
    assert minutes_left(None, today=date(2026, 3, 2)) is None


def test_a_part_is_as_thick_as_a_plate_of_its_volume_and_area_and_reaches_half_its_length():
    need = need_of(looked(), PartRequest(name="cube"), sized_by_block(looked(), SETTINGS))
    assert need.section_mm == pytest.approx(SIDE_MM / 3)
    assert need.reach_mm == pytest.approx(SIDE_MM / 2)


@pytest.mark.parametrize(("kind", "pours"), [(MouldKind.BEDDING, 2), (MouldKind.TRAYS, 1), (MouldKind.BLOCK, 1)])
def test_only_halves_poured_against_each_other_wait_for_each_other(kind, pours):
    need = need_of(looked(kind), PartRequest(name="cube"), sized_by_block(looked(kind), SETTINGS))
    assert need.serial_pours == pours


def test_the_master_is_that_of_the_print_once_it_is_known_else_that_asked_for():
    asked = PartRequest(name="cube", process=Process.VAT)
    sized = sized_by_block(looked(), SETTINGS)
    assert need_of(looked(), asked, sized).master is Process.VAT
    assert need_of(looked(), asked, sized, master=Process.FILAMENT).master is Process.FILAMENT
