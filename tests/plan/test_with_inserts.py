"""Inserts on the way to the mould: who holds them, what is laid in, what the sheet says."""

import manifold3d
import pytest

from firstpour.choosing.need import PartNeed
from firstpour.choosing.setting_in import insert_steps, insert_supplies
from firstpour.errors import BadRequest
from firstpour.files.stl import stl_bytes
from firstpour.inserts.values import Insert, InsertShape
from firstpour.job.job import PartRequest
from firstpour.materials.steps import step
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.values import Role
from firstpour.parting.values import MouldKind
from firstpour.plan.look import look_at
from firstpour.plan.work_out import work_out
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.surface.solids import from_solid

SETTINGS = MouldSettings()
NUT = Insert(shape=InsertShape.NUT, at_mm=(0, 0, 1.6), across_flats_mm=7, length_mm=3.2, bore_mm=4)
ROD = Insert(shape=InsertShape.ROD, at_mm=(0, 0, 5), diameter_mm=4, length_mm=10)
MAGNET = Insert(shape=InsertShape.MAGNET, at_mm=(8, 0, 9.5), diameter_mm=6, length_mm=3)


@pytest.fixture(scope="module")
def button(tmp_path_factory):
    """A round button with a slanted wall, on z = 0."""
    solid = manifold3d.Manifold.cylinder(10.0, 20.0, 17.0, 72)
    file = tmp_path_factory.mktemp("button") / "button.stl"
    file.write_bytes(stl_bytes(from_solid(solid)))
    return file


def worked(file, kind, *inserts):
    request = PartRequest(name="button", file=file, draw=(0, 0, 1), kind=kind, inserts=inserts)
    materials = MouldMaterials(silicone_shrinkage_ratio=0.0, casting_shrinkage_ratio=0.0)
    return work_out(look_at(request, SETTINGS), request, SETTINGS, materials, TYPICAL_PRINTERS)


def test_in_trays_a_nut_is_held_by_the_lower_half_and_comes_off_the_shot(button):
    plain, made = worked(button, MouldKind.TRAYS), worked(button, MouldKind.TRAYS, NUT)
    pieces = {piece.name: piece.volume_mm3 for piece in made.mould.pieces if piece.role is Role.SILICONE}
    before = {piece.name: piece.volume_mm3 for piece in plain.mould.pieces if piece.role is Role.SILICONE}
    assert made.inserts[0].sides == (-1,)
    assert sum(pieces.values()) - sum(before.values()) == pytest.approx(2.0**2 * 3.14 * 3.2, rel=0.01)
    taken_mm3 = 3**0.5 / 2 * 7.0**2 * 3.2
    assert 1000 * (plain.mould.casting_ml - made.mould.casting_ml) == pytest.approx(taken_mm3, rel=0.1)
    assert "insert-stays" in {finding.code for finding in made.mould.findings}


def test_an_open_face_mould_holds_only_at_its_own_side(button):
    assert worked(button, MouldKind.OPEN_FACE, MAGNET).inserts[0].sides == (1,)
    with pytest.raises(BadRequest, match="open back"):
        worked(button, MouldKind.OPEN_FACE, NUT)


def test_a_block_holds_none(button):
    with pytest.raises(BadRequest, match="kind block holds no insert"):
        worked(button, MouldKind.BLOCK, ROD)


def test_an_insert_that_silicone_would_close_over_is_refused(button, tmp_path):
    """A staple that stands out of the top: a ring of silicone would run through it."""
    arch = manifold3d.Manifold.cube((16, 3, 12), True) - manifold3d.Manifold.cube((10, 9, 8), True)
    file = tmp_path / "staple.stl"
    file.write_bytes(stl_bytes(from_solid(arch)))
    staple = Insert(shape=InsertShape.MESH, file=file, at_mm=(0, 0, 10))
    with pytest.raises(BadRequest, match=r"staple\.stl cannot be laid into the mould"):
        worked(button, MouldKind.TRAYS, staple)


def need(*inserts, **more):
    return PartNeed(
        name="wheel", pieces_ml={"silicone-upper": 40.0}, casting_ml=20.0, copies=8, hardness="rigid",
        inserts=inserts, **more,
    )  # fmt: skip


def test_setting_in_takes_its_minutes_a_mould_and_pulling_a_copy():
    lay, pull = insert_steps(need(NUT, ROD, ROD, cavities=2))
    assert (lay.before, lay.step.hands_min) == ("casting", 6 * step("set-inserts").hands_min)
    assert (pull.step.id, pull.step.hands_min) == ("pull-rods", 2 * step("pull-rods").hands_min)
    assert [one.step.id for one in insert_steps(need(NUT))] == ["set-inserts"]
    assert insert_steps(need()) == ()


def test_what_stays_is_laid_in_a_shot_and_rods_for_one_round():
    laid = {one.name: one.count for one in insert_supplies([need(NUT, ROD, ROD, moulds=2, cavities=2)])}
    assert laid == {"nut of 7 mm across flats × 3.2 mm for wheel": 10, "rod of 4 × 10 mm for wheel": 8}
