"""The name of a stage's result: another for every input that the result depends on, the same for all else."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from files_shapes import knob_part
from firstpour.cavities.values import MOST
from firstpour.errors import BadRequest, UnreadablePart
from firstpour.files.stl import stl_bytes
from firstpour.inserts.values import Insert, InsertShape
from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.values import MouldKind
from firstpour.parting.draw import rank_draws
from firstpour.plan.cavity_room import Room
from firstpour.plan.digest import digest_of
from firstpour.plan.kept import open_kept
from firstpour.plan.look import look_at, part_of
from firstpour.plan.tasks import Task, done, look_task, work_out_task
from firstpour.plan.values import FailedPart
from firstpour.printing.printers import TYPICAL_PRINTERS, Process
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit

SETTINGS = MouldSettings()


@pytest.fixture
def asked(tmp_path):
    path = tmp_path / "knob.stl"
    path.write_bytes(stl_bytes(knob_part().mesh))
    return PartRequest(name="knob", file=path)


def look_name(request, settings=SETTINGS):
    return look_task(request, settings).name


def test_a_look_is_named_by_the_content_of_the_file_not_by_its_place(asked, tmp_path):
    elsewhere = tmp_path / "other.STL"
    elsewhere.write_bytes(asked.file.read_bytes())
    assert look_name(replace(asked, file=elsewhere, copies=9)) == look_name(asked)
    elsewhere.write_bytes(asked.file.read_bytes() + b" ")
    other_format = tmp_path / "knob.obj"
    other_format.write_bytes(asked.file.read_bytes())
    others = [
        replace(asked, file=elsewhere), replace(asked, file=other_format), replace(asked, name="grip"),
        replace(asked, unit=LengthUnit.IN), replace(asked, draw=(0.0, 0.0, 1.0)),
        replace(asked, kind=MouldKind.TRAYS), replace(asked, file=None, sample=Sample.LIMPET),
        replace(asked, file=None, sample=Sample.SEA_STAR),
    ]  # fmt: skip
    names = [look_name(one) for one in (asked, *others)]
    names.append(look_name(asked, replace(SETTINGS, wall_mm=SETTINGS.wall_mm + 1.0)))
    assert len(set(names)) == len(names)


def test_a_file_that_cannot_be_opened_is_told_with_its_name(asked):
    with pytest.raises(UnreadablePart, match=r"gone\.stl cannot be read"):
        look_task(replace(asked, file=Path("gone.stl")), SETTINGS)


def worked_name(request, looked_name="look-1", room=4, mix=None, basin=False):
    materials, room = MouldMaterials(), Room(cavities=room, basin=basin)
    return work_out_task(None, looked_name, request, SETTINGS, materials, TYPICAL_PRINTERS, mix, room).name


def test_the_room_for_cavities_counts_only_where_as_many_as_fit_are_asked_for(asked):
    assert worked_name(asked, room=4) == worked_name(asked, room=7)
    many = replace(asked, cavities=MOST)
    assert worked_name(many, room=4) != worked_name(many, room=7)
    assert worked_name(asked, basin=True) != worked_name(asked)


def test_what_the_mould_depends_on_gives_another_name_and_copies_do_not(asked):
    assert worked_name(replace(asked, copies=9)) == worked_name(asked)
    others = [
        replace(asked, up=(1.0, 0.0, 0.0)), replace(asked, gates_mm=((0.0, 0.0, 1.0),)),
        replace(asked, vents_mm=((0.0, 0.0, 1.0),)), replace(asked, process=Process.VAT),
        replace(asked, cavities=2), replace(asked, basin=True),
    ]  # fmt: skip
    names = [worked_name(one) for one in (asked, *others)] + [worked_name(asked, looked_name="look-2")]
    assert len(set(names)) == len(names)


def test_a_mould_is_named_by_the_content_of_the_meshes_that_are_set_in(asked, tmp_path):
    staple, magnet = tmp_path / "staple.stl", Insert(shape=InsertShape.MAGNET, diameter_mm=6, length_mm=3)
    staple.write_bytes(b"one")
    both = replace(asked, inserts=(Insert(shape=InsertShape.MESH, file=staple), magnet))
    before = worked_name(both)
    staple.write_bytes(b"other")
    assert len({before, worked_name(both), worked_name(replace(asked, inserts=(magnet,)))}) == 3


def test_a_task_done_is_kept_and_one_that_fails_is_told_and_not_kept(tmp_path):
    assert done(Task(part="knob", name="sum", make=lambda a, b: a + b, given=(2, 3)), tmp_path) == 5
    assert open_kept(tmp_path).get("sum") == 5

    def fail():
        raise BadRequest("no such thing", remedy="ask for another")

    failed = done(Task(part="knob", name="bad", make=fail, given=()), tmp_path)
    assert isinstance(failed, FailedPart)
    assert (failed.name, failed.problem) == ("knob", "no such thing")
    assert open_kept(tmp_path).get("bad") is None


def test_the_draw_taken_stands_first_among_the_ranked_and_the_rest_follow_as_ranked(asked):
    looked = look_at(asked, SETTINGS)
    ranked = rank_draws(part_of(asked))
    assert looked.draws[0] is looked.draw
    assert [tuple(one.direction) for one in looked.draws] == [tuple(one.direction) for one in ranked]


def test_the_kind_asked_for_is_taken(asked):
    upright = replace(asked, draw=(0.0, 0.0, 1.0))
    kinds = [look_at(replace(upright, kind=kind), SETTINGS).kind for kind in (MouldKind.BEDDING, MouldKind.BLOCK)]
    assert kinds == [MouldKind.BEDDING, MouldKind.BLOCK]


def test_a_digest_has_32_digits_and_sets_and_numbers_count_by_content():
    assert len(digest_of("a")) == 32
    assert digest_of({"b", "a"}) == digest_of(frozenset({"a", "b"}))
    assert digest_of(np.float64(1.5)) == digest_of(1.5)
    assert digest_of(np.int64(3)) != digest_of(np.int64(4))
    assert digest_of(b"ab", b"c") != digest_of(b"a", b"bc")
    with pytest.raises(TypeError, match="no content"):
        digest_of(PartRequest)
