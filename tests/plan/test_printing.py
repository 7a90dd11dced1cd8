"""What is printed for a mould, on which machine, which way up and in which layers: the choice by hand."""

from dataclasses import replace
from types import SimpleNamespace as Some

import manifold3d
import numpy as np
import pytest

from firstpour.job.job import Member, PartRequest
from firstpour.mould.settings import MouldMaterials
from firstpour.mould.values import Mould, Piece, Role
from firstpour.parting.values import MouldKind
from firstpour.plan import printing
from firstpour.plan.printing import PartPrinting, PiecePrint, plan_printing, stood_as_printed
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER, Process
from firstpour.printing.slices import Footing
from firstpour.surface.solids import from_solid
from firstpour.values import Finding, Severity
from mould_shapes import X, Y, Z, as_part

LARGE = replace(FILAMENT_PRINTER, name="large", size_mm=(400.0, 400.0, 400.0), layer_heights_mm=(0.2, 0.35, 0.28))
PRINTERS = (FILAMENT_PRINTER, VAT_PRINTER, LARGE)
CUBE = as_part("cube", manifold3d.Manifold.cube((20.0, 20.0, 20.0), True))
TURN = np.stack([X, -Z, Y])
"""Stands y upright."""
WAY = Some(direction=Z, layer_mm=0.08, step_mm=0.02, footing=Footing.SUPPORTS)
MASTER = Some(
    chosen=Some(printer=VAT_PRINTER), direction=Some(direction=X, layer_mm=0.05, footing=Footing.SUPPORTS),
    features=("bore",), steps=("sand",), findings=(),
)  # fmt: skip


def finding(code, severity):
    return Finding(severity=severity, code=code, what="seen", remedy="look again")


def piece(role, name=None):
    return Piece(
        name=name or role.value, role=role, volume_mm3=1.0, print_turn=TURN,
        mesh=from_solid(manifold3d.Manifold.cube((5.0, 5.0, 5.0))),
    )  # fmt: skip


@pytest.fixture
def planned(monkeypatch):
    """Plan the prints of a mould of one piece of each role; the master's choice and the prints are stand-ins."""

    def plan(kind, *, step_mm=WAY.step_mm, request=None):
        way = Some(**{**vars(WAY), "step_mm": step_mm})
        monkeypatch.setattr(printing, "fitting_layer_mm", lambda *_, **__: 0.08)
        monkeypatch.setattr(printing, "measure_directions", lambda _, ups, **__: [way, *ups[1:]])
        monkeypatch.setattr(printing, "work_on_print", lambda _, __, supported_mm2, **___: (supported_mm2,))
        monkeypatch.setattr(printing, "choose_master", lambda *_: MASTER)
        monkeypatch.setattr(printing, "work_out_allowance", lambda *_, **words: Some(findings=(), **words))
        told = tuple(finding(severity.value, severity) for severity in Severity)
        monkeypatch.setattr(printing, "plan_print", lambda _, **words: Some(print_min=100.0, findings=told, **words))
        mould = Some(kind=kind, draw=Some(direction=Y), pieces=tuple(piece(role) for role in Role))
        request = request or PartRequest(name="cube")
        return plan_printing(CUBE, mould, request, MouldMaterials(), printers=PRINTERS)

    return plan


def prints(done):
    return {one.role: one.plan for one in done.pieces}


def test_all_but_the_silicone_is_printed_and_the_minutes_add_up(planned):
    done = planned(MouldKind.BEDDING)
    assert set(prints(done)) == set(Role) - {Role.SILICONE}
    assert done.print_min == pytest.approx(400.0)


def test_a_master_printed_by_itself_is_printed_as_it_was_chosen(planned):
    done = planned(MouldKind.BLOCK)
    master = prints(done)[Role.MASTER]
    assert (master.printer, master.layer_mm, master.footing) == (VAT_PRINTER, 0.05, Footing.SUPPORTS)
    np.testing.assert_array_equal(master.direction, X)
    assert (done.master, done.printer, done.features, done.steps) == (MASTER, VAT_PRINTER, ("bore",), ("sand",))


@pytest.mark.parametrize("kind", [MouldKind.BEDDING, MouldKind.BLOCK])
def test_what_silicone_does_not_copy_stands_on_the_plate_of_the_largest_machine_in_its_thickest_layers(planned, kind):
    of_role = prints(planned(kind))
    for role in (Role.TRAY, Role.BEDDING, Role.BOX):
        one = of_role[role]
        assert (one.printer, one.layer_mm, one.footing) == (LARGE, 0.35, Footing.PLATE)
        np.testing.assert_array_equal(one.direction, Y)


@pytest.mark.parametrize("kind", [MouldKind.TRAYS, MouldKind.OPEN_FACE])
def test_trays_that_carry_the_part_are_printed_in_its_layers_and_their_box_is_not(planned, kind):
    done = planned(kind)
    of_role = prints(done)
    layers = {role: of_role[role].layer_mm for role in (Role.TRAY, Role.BEDDING, Role.BOX)}
    assert layers == {Role.TRAY: 0.08, Role.BEDDING: 0.08, Role.BOX: 0.35}
    assert (done.master, done.printer) == (None, LARGE)
    assert done.steps == (0.0,)  # nothing under a tray is held by supports


def test_the_makers_process_counts_for_the_pieces(planned):
    of_role = prints(planned(MouldKind.TRAYS, request=PartRequest(name="cube", process=Process.VAT)))
    assert {one.printer for one in of_role.values()} == {VAT_PRINTER}
    assert of_role[Role.BOX].layer_mm == 0.1


def test_warnings_and_errors_of_other_pieces_are_told_with_their_names_and_hints_are_not(planned):
    said = [(one.code, one.where) for one in planned(MouldKind.BLOCK).findings]
    assert said == [(code, name) for name in ("tray", "bedding", "box") for code in ("warning", "error")]


@pytest.mark.parametrize(("step_mm", "codes"), [(0.029, []), (0.031, ["tray-steps"])])
def test_steps_that_show_in_a_tray_are_told_from_three_hundredths_of_a_millimetre(planned, step_mm, codes):
    done = planned(MouldKind.TRAYS, step_mm=step_mm)
    assert [one.code for one in done.findings if one.where is None] == codes


def test_what_lies_beside_others_is_offered_no_other_kind_of_mould(planned):
    beside = Member(request=PartRequest(name="ball"), count=1)
    for members, offered in (((), True), ((beside, beside), False)):
        done = planned(MouldKind.TRAYS, step_mm=0.1, request=PartRequest(name="cube", members=members))
        (said,) = [one for one in done.findings if one.code == "tray-steps"]
        assert ("bedding" in said.remedy) is offered
        assert said.remedy.startswith("fill, sand and seal the trays")


def test_prints_other_than_the_master_are_cleaned_by_what_is_not_done_to_the_surface_anyway():
    """A tray is washed, cured and sanded; sanding is for surfaces alone, and here the surface is cured with it."""
    work = [Some(id=name) for name in ("wash", "post-cure", "sand")]
    tray, master = (
        PiecePrint(name=role.value, role=role, plan=Some(steps=work)) for role in (Role.TRAY, Role.MASTER)
    )
    done = PartPrinting(
        pieces=(tray, master), steps=(Some(id="post-cure"),),
        surface=WAY, printer=VAT_PRINTER, master=None, features=(), allowance=None, findings=(),
    )  # fmt: skip
    assert [one.id for one in done.cleaning_of(tray)] == ["wash"]
    assert done.cleaning_of(master) == ()
    assert [one.id for one in done.cleaning] == ["wash"]


def test_the_allowance_is_that_of_the_surface_and_of_both_shrinkages(planned):
    asked = planned(MouldKind.BLOCK).allowance
    assert (asked.printer, asked.layer_mm, asked.features) == (VAT_PRINTER, 0.05, ("bore",))
    np.testing.assert_array_equal(asked.direction, X)


def test_only_a_master_printed_by_itself_is_turned_the_way_up_chosen_for_it():
    mould = Mould(
        kind=MouldKind.BLOCK, draw=None, pieces=(piece(Role.MASTER), piece(Role.BOX)), channels=(), seam_mm=(),
        silicone_ml=1.0, casting_ml=1.0, print_ml=1.0, stretch_ratio=0.0, scale=1.0, findings=(),
    )  # fmt: skip
    assert stood_as_printed(mould, Some(master=None)) is mould
    master, box = stood_as_printed(mould, Some(master=MASTER)).pieces
    assert master.print_turn @ X == pytest.approx(Z)
    np.testing.assert_array_equal(box.print_turn, TURN)
