"""What is kept from one plan to the next: only what depends on a change is worked out again, to the same bytes."""

import pickle
import sqlite3
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from pathlib import Path

import diskcache
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from files_shapes import knob_part
from firstpour.files.catalogue import load_catalogue
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job, PartRequest
from firstpour.plan import crew, make, tasks
from firstpour.plan.crew import Alone, Beside
from firstpour.plan.digest import digest_of
from firstpour.plan.kept import KeptOnDisk, NothingKept, kept_folder, open_kept, stage_name
from firstpour.printing.printers import Process
from firstpour.results import plan_into
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.equipment import Equipment, Room
from firstpour.workshop.workshop import Workshop

TODAY = date(2027, 3, 1)
SHOP = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)


@dataclass(frozen=True)
class Box:
    width_mm: float
    sides: np.ndarray


class Colour(StrEnum):
    RED = "red"
    CRIMSON = "crimson"


def test_equal_content_has_one_digest_and_other_content_another():
    def box(width_mm):
        return Box(width_mm=width_mm, sides=np.arange(6.0).reshape(2, 3))

    assert digest_of(box(1.0)) == digest_of(box(1.0))
    different = [
        box(1.0), box(1.0 + 1e-15), replace(box(1.0), sides=np.arange(6.0).reshape(3, 2)),
        replace(box(1.0), sides=np.arange(6)), (1.0, 2.0), (1.0, (2.0,)), 1, 1.0, True, "1", b"1", None, Colour.RED,
        Colour.CRIMSON, {"a": 1}, {"a": 2}, Path("1"), frozenset({"a"}), date(2027, 1, 1),
    ]  # fmt: skip
    assert len({digest_of(value) for value in different}) == len(different)
    assert digest_of({"a": 1, "b": 2}) == digest_of({"b": 2, "a": 1})


@given(st.lists(st.text(max_size=4), max_size=4), st.lists(st.text(max_size=4), max_size=4))
def test_words_that_are_cut_otherwise_have_another_digest(one, other):
    assert (digest_of(*one) == digest_of(*other)) == (one == other)


def test_a_value_without_content_has_no_digest():
    with pytest.raises(TypeError, match="no content"):
        digest_of(lambda: None)


def test_what_is_kept_comes_back_and_is_bounded(tmp_path):
    store = open_kept(tmp_path)
    assert isinstance(store, KeptOnDisk)
    assert store.get(stage_name("look", 1)) is None
    store.put(stage_name("look", 1), np.arange(3))
    np.testing.assert_array_equal(store.get(stage_name("look", 1)), np.arange(3))
    assert store.get(stage_name("look", 2)) is None
    store.close()


def test_two_gigabytes_are_kept_at_the_most(tmp_path):
    """2³¹ bytes, as the folder itself tells."""
    open_kept(tmp_path).close()
    with diskcache.Cache(str(tmp_path)) as again:
        assert again.size_limit == 2_147_483_648
        assert again.eviction_policy == "least-recently-used"


def test_a_kept_result_that_cannot_be_read_counts_as_not_kept(tmp_path, monkeypatch):
    store = open_kept(tmp_path)
    store.put("a", Box(width_mm=1.0, sides=np.arange(3)))
    monkeypatch.setattr(pickle, "load", lambda _: (_ for _ in ()).throw(pickle.UnpicklingError("torn")))
    monkeypatch.setattr(pickle, "loads", lambda _: (_ for _ in ()).throw(pickle.UnpicklingError("torn")))
    assert store.get("a") is None
    store.close()


def test_a_folder_that_cannot_be_used_keeps_nothing(tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    assert isinstance(open_kept(tmp_path / "file" / "below"), NothingKept)
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "cache.db").write_bytes(b"this is no database" * 100)
    assert isinstance(open_kept(broken), NothingKept)
    with pytest.raises(sqlite3.DatabaseError):
        sqlite3.connect(broken / "cache.db").execute("select 1 from nothing")


def test_the_folder_is_the_users_cache_unless_named_otherwise(monkeypatch, tmp_path):
    monkeypatch.setenv("FIRSTPOUR_KEPT", "")
    assert kept_folder() is None
    monkeypatch.setenv("FIRSTPOUR_KEPT", str(tmp_path))
    assert kept_folder() == tmp_path
    monkeypatch.delenv("FIRSTPOUR_KEPT")
    assert kept_folder().name == "kept"


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    path = tmp_path_factory.mktemp("parts") / "knob.stl"
    path.write_bytes(stl_bytes(knob_part().mesh))
    left = PartRequest(
        name="left", file=path, draw=(0.0, 0.0, 1.0), up=(0.0, 0.0, 1.0), process=Process.FILAMENT, hardness="rigid"
    )
    return Job(name="knobs", parts=(left, replace(left, name="right")))


def planned(job, out, kept, **given):
    plan_into(job, out, progress=lambda *_: None, workshop=SHOP, kept=kept, **given)
    return {file.relative_to(out).as_posix(): file.read_bytes() for file in sorted(out.rglob("*")) if file.is_file()}


@pytest.fixture(scope="module")
def fresh(job, tmp_path_factory):
    """The plan's files worked out anew, and the folder in which its stages were kept."""
    kept = tmp_path_factory.mktemp("kept")
    return planned(job, tmp_path_factory.mktemp("fresh") / "out", kept), kept


def no_work(*_, **__):
    raise AssertionError("worked out again")


def test_a_second_plan_works_nothing_out_and_is_the_same_to_the_byte(job, fresh, tmp_path, monkeypatch):
    files, kept = fresh
    monkeypatch.setattr(make, "done", no_work)
    assert planned(job, tmp_path / "out", kept) == files


def test_more_copies_or_another_room_touch_no_geometry_and_equal_a_fresh_plan(job, fresh, tmp_path, monkeypatch):
    _, kept = fresh
    wished = replace(
        job,
        equipment=Equipment(room=Room(temperature_c=20.0)),
        parts=tuple(replace(one, copies=7) for one in job.parts),
    )
    anew = planned(wished, tmp_path / "anew", None)
    monkeypatch.setattr(make, "done", no_work)
    assert planned(wished, tmp_path / "kept", kept) == anew


def test_a_change_of_one_part_works_out_that_part_alone(job, fresh, tmp_path, monkeypatch):
    _, kept = fresh
    worked = []

    def told(task, folder):
        worked.append((task.part, task.make.__name__))
        return tasks.done(task, folder)

    monkeypatch.setattr(make, "done", told)
    turned = replace(job.parts[1], up=(0.0, 0.0, -1.0))
    planned(replace(job, parts=(job.parts[0], turned)), tmp_path / "out", kept)
    assert worked == [("right", "work_out")]


def test_a_part_whose_file_changed_is_looked_at_again(job, fresh, tmp_path, monkeypatch):
    _, kept = fresh
    worked = []

    def told(task, folder):
        worked.append((task.part, task.make.__name__))
        return tasks.done(task, folder)

    monkeypatch.setattr(make, "done", told)
    other = tmp_path / "knob.stl"
    mesh = knob_part().mesh
    other.write_bytes(stl_bytes(replace(mesh, vertices_mm=1.01 * mesh.vertices_mm)))
    planned(replace(job, parts=(replace(job.parts[0], file=other), job.parts[1])), tmp_path / "out", kept)
    assert worked == [("left", "look_at"), ("left", "work_out")]


def test_processes_beside_each_other_give_the_same_bytes(job, fresh, tmp_path):
    files, _ = fresh
    with Beside(2) as two:
        assert planned(job, tmp_path / "out", None, crew=two) == files


def test_a_crew_tells_every_result_with_its_number():
    with Beside(2) as two:
        for one in (Alone(), two):
            assert sorted(one.run(divmod, [(7, 2), (9, 4), (1, 1)])) == [(0, (3, 1)), (1, (2, 1)), (2, (1, 0))]


def test_a_process_that_is_ended_from_outside_is_told_in_words():
    with pytest.raises(crew.OutOfMemory, match="ended from outside") as caught, Beside(2) as two:
        list(two.run(__import__("os")._exit, [(1,), (1,)]))
    assert "one part at a time" in caught.value.remedy
