"""The straight way: what a plan keeps, and what it says of its parts."""

import numpy as np
import pytest

from files_shapes import knob_part
from firstpour.errors import UnreadablePart
from firstpour.files.job import Job, PartRequest
from firstpour.files.stl import stl_bytes
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import ChannelUse
from firstpour.part.marks import MarkRule
from firstpour.part.part import FaceMark
from firstpour.part.samples import Sample
from firstpour.plan import make_plan
from firstpour.plan.part_stages import fixed_channels, part_of, ranked
from firstpour.values import mesh_volume_mm3


@pytest.fixture(scope="module")
def knob_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("parts") / "knob.stl"
    path.write_bytes(stl_bytes(knob_part().mesh))
    return path


@pytest.fixture(scope="module")
def planned(knob_file):
    """A plan of two parts, with what it told on the way."""
    told = []
    parts = tuple(PartRequest(name=name, file=knob_file, draw=(0.0, 0.0, 1.0)) for name in ("left", "right"))
    return make_plan(Job(name="knobs", parts=parts), progress=lambda *words: told.append(words)), told


def test_each_part_keeps_what_every_stage_found(planned):
    plan, _ = planned
    assert [one.part.name for one in plan.parts] == ["left", "right"]
    for one in plan.parts:
        assert one.measures.volume_mm3 == pytest.approx(mesh_volume_mm3(one.part.mesh))
        assert one.mould.draw.reach is not None
        assert one.mould.casting_ml >= one.measures.volume_mm3 / 1000.0


def test_every_finding_names_its_part_once(planned):
    plan, _ = planned
    for one in plan.parts:
        assert all(finding.where is not None and finding.where.startswith(one.part.name) for finding in one.findings)
        assert len(set(one.findings)) == len(one.findings)
    assert len(plan.findings) == sum(len(one.findings) for one in plan.parts)


def test_progress_only_goes_on(planned):
    _, told = planned
    done = [step for step, _, _ in told]
    assert done == sorted(done)
    assert {total for _, total, _ in told} == {8}


def test_a_problem_names_the_part_it_is_in(knob_file, tmp_path):
    (tmp_path / "bad.stl").write_text("hello", encoding="utf-8")
    good = PartRequest(name="good", file=knob_file, draw=(0.0, 0.0, 1.0))
    bad = PartRequest(name="bad", file=tmp_path / "bad.stl")
    with pytest.raises(UnreadablePart) as caught:
        make_plan(Job(name="two", parts=(bad, good)), progress=lambda *_: None)
    assert caught.value.problem.startswith("bad: ")
    assert caught.value.remedy


def test_a_fixed_draw_is_taken_alone_and_in_full(knob_file):
    part = part_of(PartRequest(name="knob", file=knob_file))
    (only,) = ranked(part, PartRequest(name="knob", file=knob_file, draw=(0.0, 0.0, -3.0)))
    np.testing.assert_allclose(only.direction, [0.0, 0.0, -1.0])
    assert only.regions is not None


def test_marks_of_the_job_reach_the_part(knob_file):
    rule = MarkRule(mark=FaceMark.HIDDEN, facing=(0.0, 0.0, -1.0), within_deg=60.0)
    part = part_of(PartRequest(name="knob", file=knob_file, marks=(rule,)))
    assert 0 < (part.marks == FaceMark.HIDDEN).sum() < len(part.marks)


def test_a_sample_takes_the_name_of_the_job():
    assert part_of(PartRequest(name="big shell", sample=Sample.LIMPET)).name == "big shell"


def test_fixed_gates_and_vents_lead_straight_along_the_draw_out_of_the_block(knob_file):
    request = PartRequest(name="knob", file=knob_file, gates_mm=((0.0, 0.0, 15.0),), vents_mm=((18.0, 0.0, 6.0),))
    part, settings = part_of(request), MouldSettings()
    (draw,) = ranked(part, PartRequest(name="knob", draw=(0.0, 0.0, 1.0)))
    channels = fixed_channels(part, draw, request, settings)
    assert channels is not None
    assert [channel.use for channel in channels] == [ChannelUse.GATE, ChannelUse.VENT]
    for channel, at in zip(channels, (*request.gates_mm, *request.vents_mm), strict=True):
        np.testing.assert_allclose(channel.path_mm[0], at)
        along = channel.path_mm[-1] - channel.path_mm[0]
        np.testing.assert_allclose(along / np.linalg.norm(along), [0.0, 0.0, 1.0], atol=1e-12)
        assert channel.path_mm[-1, 2] > 15.0 + settings.wall_mm
    assert fixed_channels(part, draw, PartRequest(name="knob"), settings) is None
