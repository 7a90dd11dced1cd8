"""The straight way: what a plan keeps, and what it says of its parts."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from files_shapes import knob_part
from firstpour.errors import UnknownMaterial, UnreadablePart, WorkshopError
from firstpour.files.catalogue import load_catalogue
from firstpour.files.stl import stl_bytes
from firstpour.fill.values import ChannelUse, PlaceKind
from firstpour.formulas.shrinkage import scale_for_chain
from firstpour.job.job import Job, PartRequest
from firstpour.materials.figures import FigureName
from firstpour.mixing.pour import PourStepName
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.values import Role
from firstpour.part.marks import MarkRule
from firstpour.part.part import FaceMark
from firstpour.plan import make_plan
from firstpour.plan.look import look_at, part_of
from firstpour.plan.poured import poured_of
from firstpour.plan.values import each_once
from firstpour.printing.printers import Process
from firstpour.samples.samples import Sample
from firstpour.stock.demo_stock import demo_stock
from firstpour.values import Finding, Severity, mesh_bounds_mm, mesh_volume_mm3
from firstpour.workshop.equipment import Equipment, Room
from firstpour.workshop.workshop import Workshop


@pytest.fixture(scope="module")
def knob_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("parts") / "knob.stl"
    path.write_bytes(stl_bytes(knob_part().mesh))
    return path


@pytest.fixture(scope="module")
def planned(knob_file):
    """A plan of two parts, with what it told on the way."""
    told = []
    left = PartRequest(
        name="left", file=knob_file, draw=(0.0, 0.0, 1.0), up=(0.0, 0.0, 1.0), process=Process.FILAMENT
    )
    parts = (left, replace(left, name="right"))
    return make_plan(Job(name="knobs", parts=parts), progress=lambda *words: told.append(words)), told


def test_each_part_keeps_what_every_stage_found(planned):
    plan, _ = planned
    assert [one.part.name for one in plan.parts] == ["left", "right"]
    for one in plan.parts:
        assert one.measures.volume_mm3 == pytest.approx(mesh_volume_mm3(one.part.mesh))
        assert one.mould.casting_ml >= one.measures.volume_mm3 / 1000.0


def test_every_finding_names_its_part_once(planned):
    plan, _ = planned
    for one in plan.parts:
        assert all(finding.where is not None and finding.where.startswith(one.part.name) for finding in one.findings)
        assert len(set(one.findings)) == len(one.findings)
    said = {(finding.code, finding.what) for one in plan.parts for finding in one.findings}
    assert {(finding.code, finding.what) for finding in plan.findings} == said


def test_progress_only_goes_on(planned):
    _, told = planned
    done = [step for step, _, _ in told]
    assert done == sorted(done)
    assert {total for _, total, _ in told} == {6}


def test_a_part_that_fails_is_told_with_its_name_and_the_rest_is_planned(knob_file, tmp_path):
    (tmp_path / "bad.stl").write_text("hello", encoding="utf-8")
    good = PartRequest(name="good", file=knob_file, draw=(0.0, 0.0, 1.0), process=Process.FILAMENT)
    bad = PartRequest(name="bad", file=tmp_path / "bad.stl")
    gone = PartRequest(name="gone", file=tmp_path / "gone.stl")
    plan = make_plan(Job(name="three", parts=(bad, good, gone)), progress=lambda *_: None)
    assert [one.request.name for one in plan.parts] == ["good"]
    assert [one.name for one in plan.failed] == ["bad", "gone"]
    told = [finding for finding in plan.findings if finding.code == "part-not-planned"]
    assert [finding.where for finding in told] == ["bad", "gone"]
    assert {finding.severity for finding in told} == {Severity.ERROR}
    assert all(finding.remedy for finding in told)


def test_a_job_of_which_no_part_can_be_planned_is_refused_with_every_part_named(tmp_path):
    (tmp_path / "bad.stl").write_text("hello", encoding="utf-8")
    bad = PartRequest(name="bad", file=tmp_path / "bad.stl")
    with pytest.raises(WorkshopError) as caught:
        make_plan(Job(name="one", parts=(bad,)), progress=lambda *_: None)
    assert (caught.value.code, bool(caught.value.remedy)) == (UnreadablePart.code, True)
    with pytest.raises(WorkshopError, match=r"bad: .*; worse: "):
        make_plan(Job(name="two", parts=(bad, replace(bad, name="worse"))), progress=lambda *_: None)


def test_a_fixed_draw_is_taken_alone_and_in_full(knob_file):
    looked = look_at(PartRequest(name="knob", file=knob_file, draw=(0.0, 0.0, -3.0)), MouldSettings())
    (only,) = looked.draws
    np.testing.assert_allclose(only.direction, [0.0, 0.0, -1.0])
    assert only.regions is not None
    assert looked.draw is only


def test_marks_of_the_job_reach_the_part(knob_file):
    rule = MarkRule(mark=FaceMark.HIDDEN, facing=(0.0, 0.0, -1.0), within_deg=60.0)
    part = part_of(PartRequest(name="knob", file=knob_file, marks=(rule,)))
    assert 0 < (part.marks == FaceMark.HIDDEN).sum() < len(part.marks)


def test_a_sample_takes_the_name_of_the_job():
    assert part_of(PartRequest(name="big shell", sample=Sample.LIMPET)).name == "big shell"


def test_gates_and_vents_that_the_maker_fixed_start_there_and_lead_out_of_the_block(knob_file):
    request = PartRequest(
        name="knob", file=knob_file, draw=(0.0, 0.0, 1.0), up=(0.0, 0.0, 1.0),
        gates_mm=((0.0, 0.0, 15.0),), vents_mm=((18.0, 0.0, 6.0),), process=Process.FILAMENT,
    )  # fmt: skip
    (one,) = make_plan(Job(name="knob", parts=(request,)), progress=lambda *_: None).parts
    assert one.fill is not None
    assert one.fill.pours == ()
    assert [channel.use for channel in one.mould.channels[:2]] == [ChannelUse.GATE, ChannelUse.VENT]
    for channel, at in zip(one.mould.channels[:2], (*request.gates_mm, *request.vents_mm), strict=True):
        np.testing.assert_allclose(channel.path_mm[0], np.array(at) * one.mould.scale, atol=0.6)
    block = np.array([mesh_bounds_mm(piece.mesh) for piece in one.mould.pieces if piece.role is Role.SILICONE])
    low, high = block[:, 0].min(axis=0), block[:, 1].max(axis=0)
    for channel in one.mould.channels:
        assert ((channel.path_mm[-1] < low) | (channel.path_mm[-1] > high)).any()


def test_the_mould_is_poured_with_the_fewest_marks_and_no_air_on_show():
    request = PartRequest(name="star", sample=Sample.SEA_STAR)
    (one,) = make_plan(Job(name="star", parts=(request,)), progress=lambda *_: None).parts
    assert one.fill is not None
    assert one.fill.plan.vented.trapped_show_mm3 <= 0.1
    assert one.fill.plan.gate is not None
    assert one.fill.plan.gate.place is PlaceKind.HIDDEN


@pytest.fixture(scope="module")
def worked_out(knob_file):
    """One part with its materials, from the demo's shelf."""
    today = date(2026, 11, 25)
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=today), today=today)
    request = PartRequest(name="knob", file=knob_file, hardness="rigid", copies=3, draw=(0.0, 0.0, 1.0))
    job = Job(name="knob", parts=(request,), equipment=Equipment(room=Room(temperature_c=21.0)))
    return make_plan(job, progress=lambda *_: None, workshop=workshop)


def test_materials_are_chosen_for_the_volumes_of_the_mould(worked_out):
    (one,) = worked_out.parts
    choice = one.choice
    assert choice is not None
    assert choice.silicone is not None
    assert choice.casting is not None
    poured_ml = {mix.what: mix.mix.volume_ml for mix in choice.silicone.mixes}
    for piece in one.mould.pieces:
        if piece.role is Role.SILICONE:
            assert poured_ml[piece.name] == pytest.approx(piece.volume_mm3 / 1000.0)
    assert {pour.fit.temperature_c for pour in choice.casting.pours} == {18.0, 21.0, 23.0, 28.0}


def test_the_flow_is_that_of_the_chosen_material_through_the_chosen_gate(worked_out):
    (one,) = worked_out.parts
    flow = one.flow
    assert flow.volume_ml == pytest.approx(one.measures.volume_mm3 / 1000.0)
    assert flow.fits == (flow.fill_s is not None and flow.fill_s <= flow.time_left_s)
    assert flow.time_left_s < 60.0 * one.choice.casting.pours[0].fit.times.pot_life_high_min


def test_findings_that_say_the_same_of_several_parts_are_said_once_with_all_places():
    same = [Finding(severity=Severity.INFO, code="a", what="w", remedy="r", where=where) for where in ("x", "y", "x")]
    other = Finding(severity=Severity.INFO, code="b", what="w", remedy="r")
    assert each_once([*same, other]) == [replace(same[0], where="x; y"), other]


def test_the_mould_is_scaled_by_the_shrinkages_of_the_materials_chosen(worked_out):
    (one,) = worked_out.parts
    shrinkages = [
        chosen.material.figures[FigureName.SHRINKAGE].value for chosen in (one.choice.silicone, one.choice.casting)
    ]
    assert one.mould.scale == pytest.approx(scale_for_chain(shrinkages))
    assert one.printing.allowance.scale == pytest.approx([one.mould.scale] * 3)
    assert "typical-shrinkage" not in {finding.code for finding in worked_out.findings}


def test_the_clock_of_the_pour_takes_the_minutes_of_the_gate(worked_out):
    (one,) = worked_out.parts
    for pour in one.choice.casting.pours:
        (poured,) = (step for step in pour.fit.steps if step.name is PourStepName.POUR)
        assert poured.time.mean_min >= one.flow.fill_s / 60.0


@pytest.mark.parametrize("key", ["silicone", "casting", "paint"])
def test_a_material_that_nobody_knows_is_told_before_any_work_begins(knob_file, key):
    told = []
    named = PartRequest(name="knob", file=knob_file, **{key: "no-such"})
    workshop = Workshop(catalogue=load_catalogue(None), stock=(), today=date(2027, 3, 1))
    with pytest.raises(UnknownMaterial, match="no-such") as refused:
        make_plan(Job(name="knobs", parts=(named,)), progress=lambda *words: told.append(words), workshop=workshop)
    assert refused.value.problem.startswith("knob: ")
    assert told == []


def test_a_part_may_give_its_own_shrinkage_and_what_is_not_known_is_told():
    own = poured_of(PartRequest(name="a", casting_shrinkage_ratio=0.001), None, None, None)
    assert (own.materials.silicone_shrinkage_ratio, own.materials.casting_shrinkage_ratio) == (0.001, 0.001)
    (said,) = own.findings
    assert (said.code, "casting material" in said.what) == ("typical-shrinkage", False)
    assert said.remedy.endswith("or give its silicone_shrinkage_ratio")
    given = PartRequest(name="a", casting_shrinkage_ratio=0.001, silicone_shrinkage_ratio=0.002)
    assert poured_of(given, None, None, None).findings == ()
    assert poured_of(PartRequest(name="b"), None, None, None).materials == MouldMaterials()
