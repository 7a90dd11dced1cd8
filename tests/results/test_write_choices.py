"""What is written and kept, what is written again, and in which measure: parts, pictures and orders are stand-ins."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace as Some

import numpy as np
import pytest

from firstpour.errors import BadRequest
from firstpour.files.stl import read_stl
from firstpour.job.job import Job, PartRequest
from firstpour.mould.values import Role
from firstpour.plan.crew import Alone
from firstpour.plan.values import Plan, PrintedPart
from firstpour.results import order as order_module
from firstpour.results import write
from firstpour.results import write_printed as printed_module
from firstpour.results.order import Order, order_of, with_its_rounds
from firstpour.results.write import SavedPart, save_part, write_results
from firstpour.results.write_printed import write_printed
from firstpour.values import Finding, Severity
from firstpour.workshop.workshop import Workshop
from mould_shapes import as_part, cube
from shelf_samples import TODAY, shipped
from stand_in_plans import part_plan

SHELF = Workshop(catalogue=shipped(), stock=(), today=TODAY)
CUBE = as_part("cube", cube())


def job(*parts):
    return Job(name="pool", parts=tuple(PartRequest(name=name) for name in parts))


def quiet(*_):
    """Tell nothing."""


# --- pieces and pictures -------------------------------------------------------------------------------


class Shown:
    """Stands for what writes pieces and draws pictures, and keeps what it was given."""

    def __init__(self, monkeypatch):
        self.given = {}
        for name in ("part_picture", "mould_picture", "pieces_picture", "master_picture"):
            monkeypatch.setattr(write, name, self.picture(name))
        monkeypatch.setattr(write, "save_png", lambda sheet, file: file.write_text(sheet))
        monkeypatch.setattr(write, "save_fill", self.fill)
        monkeypatch.setattr(write, "write_pieces", self.pieces)

    def picture(self, name):
        def draw(*given, **more):
            self.given[name] = (given, more)
            return name

        return draw

    def fill(self, filled, folder, *, name, title, around):
        self.given["fill"] = (filled, title, around)
        (folder / f"{name}-fill.gif").write_text("rising")
        return [folder / f"{name}-fill.gif"]

    def pieces(self, folder, pieces, *, below):
        (folder / below).mkdir(parents=True)
        files = [below / f"{piece.name}.stl" for piece in pieces]
        for file in (*files, below / write.ALL_IN_ONE):
            (folder / file).write_text("facets")
        return tuple(Some(name=piece.name, file=file) for piece, file in zip(pieces, files, strict=True))


def piece(name, role, *corners_mm):
    return Some(name=name, role=role, mesh=Some(vertices_mm=np.array(corners_mm, dtype=float).reshape(-1, 3)))


SILICONE = (piece("upper", Role.SILICONE, (8, 0, 0), (0, 8, 0)), piece("lower", Role.SILICONE, (0, 0, -8)))
TRAY = piece("tray", Role.TRAY, (99, 99, 99))


def moulded(*pieces, fill=True, master=True):
    """A part whose mould is made twice as large as the part."""
    mould = Some(scale=2.0, seam_mm=[np.array([[10.0, 0.0, 0.0], [0.0, 10.0, 0.0]])], pieces=pieces, draw="draw")
    filled = Some(plan=Some(vented="vented", channels=("gate",))) if fill else None
    return part_plan(
        PartRequest(name="cube"),
        part=CUBE,
        mould=mould,
        fill=filled,
        printing=Some(master="master" if master else None),
    )


def saved_of(monkeypatch, folder, *pieces, **more):
    shown = Shown(monkeypatch)
    return shown.given, save_part(moulded(*pieces, **more), folder, "cube", "kept", None)


def test_pictures_show_the_part_in_its_own_measure_and_the_copy_in_that_of_the_mould(monkeypatch, tmp_path):
    given, _ = saved_of(monkeypatch, tmp_path, *SILICONE, TRAY)
    (seam,) = given["part_picture"][1]["seam_mm"]
    assert seam.tolist() == [[5.0, 0.0, 0.0], [0.0, 5.0, 0.0]]
    copy = given["mould_picture"][1]["copy"]
    assert np.ptp(copy.vertices_mm, axis=0) == pytest.approx([40.0] * 3)
    assert given["pieces_picture"][0][0] == (TRAY,)
    filled, title, around = given["fill"]
    assert (filled, title, around.channels) == ("vented", "cube: the fill", ("gate",))
    assert around.outside_mm.tolist() == [[4.0, 0.0, 0.0], [0.0, 4.0, 0.0], [0.0, 0.0, -4.0]]


@pytest.mark.parametrize(
    ("pieces", "more", "left_out"),
    [
        ((*SILICONE, TRAY), {}, set()),
        (SILICONE, {}, {"cube-to-print.png"}),
        ((*SILICONE, TRAY), {"fill": False}, {"cube-fill.gif"}),
        ((*SILICONE, TRAY), {"master": False}, {"cube-master.png"}),
    ],
)
def test_there_is_a_picture_of_all_that_there_is_and_of_nothing_else(monkeypatch, tmp_path, pieces, more, left_out):
    _, saved = saved_of(monkeypatch, tmp_path, *pieces, **more)
    names = {"draw.png", "mould.png", "to-print.png", "master.png", "fill.gif"}
    assert set(saved.pictures) == {f"pictures/cube-{name}" for name in names} - {
        f"pictures/{one}" for one in left_out
    }
    assert all((tmp_path / picture).is_file() for picture in saved.pictures)
    assert (saved.print_file is None) is (TRAY not in pieces)
    assert saved.print_file in (None, f"pieces/cube/{write.ALL_IN_ONE}")


def test_a_second_part_is_written_beside_the_first(monkeypatch, tmp_path):
    Shown(monkeypatch)
    for stem in ("cube", "cube-2"):
        save_part(moulded(*SILICONE, TRAY), tmp_path, stem, "kept", None)
    assert {one.name for one in (tmp_path / "pieces").iterdir()} == {"cube", "cube-2"}


# --- a whole plan --------------------------------------------------------------------------------------


class Whole:
    """Stands for all that is written of parts and orders."""

    def __init__(self, monkeypatch):
        self.saved, self.ordered, self.told = [], [], []
        monkeypatch.setattr(write, "save_part", self.save)
        monkeypatch.setattr(write, "_part_entry", lambda one, saved: (one.request.name, saved))
        monkeypatch.setattr(write, "_plan_entry", lambda plan, order, entries, copies, *, files: (entries, files))
        monkeypatch.setattr(write, "order_files", self.order)
        monkeypatch.setattr(write, "write_plan", lambda folder, entry: None)

    def save(self, one, folder, stem, name, kept):
        self.saved.append((one.request.name, one.choice))
        saved = SavedPart(pieces=(), print_file=None, pictures=(f"pictures/deep/{stem}.png",))
        contents = {file: stem.encode() for file in saved.pictures}
        write.open_kept(kept).put(name, (saved, contents))
        return write._put_back((saved, contents), folder)

    def order(self, made, *, name, today):
        self.ordered.append((name, today))
        return {"calendar.ics": b"days", "order.svg": b"bars"}

    def write(self, folder, *parts, made=None, today=TODAY, kept=None):
        folder.mkdir()
        planned = [part_plan(PartRequest(name=name), choice="chosen", worked_name=worked) for name, worked in parts]
        plan = Plan(job=job(*(name for name, _ in parts), "failed"), parts=tuple(planned))
        self.told = []
        return write_results(
            plan, Order(made=made), folder,
            today=today, progress=lambda *words: self.told.append(words), crew=Alone(), kept=kept,
        )  # fmt: skip


def test_only_parts_whose_mould_is_another_are_written_anew_and_steps_are_told_as_they_are_done(
    monkeypatch, tmp_path
):
    """Three steps a part; of three asked for one failed before, and its steps are told as done at the end."""
    whole, kept = Whole(monkeypatch), tmp_path / "kept"
    entries, files = whole.write(tmp_path / "anew", ("cube", "a"), ("ring", "b"), kept=kept)
    assert whole.saved == [("cube", None), ("ring", None)]
    assert [(done, total) for done, total, _ in whole.told] == [(7, 9), (8, 9), (9, 9)]
    assert whole.told[0][2] == "cube: pieces and pictures written"
    assert whole.told[-1][2] == "done"
    assert [name for name, _ in entries] == ["cube", "ring"]
    again, _ = whole.write(tmp_path / "again", ("cube", "a"), ("ring", "c"), kept=kept)
    assert whole.saved[2:] == [("ring", None)]
    assert [(done, total) for done, total, _ in whole.told] == [(8, 9), (9, 9)]
    assert again == entries
    for folder in ("anew", "again"):
        for stem in ("cube", "ring"):
            assert (tmp_path / folder / "pictures" / "deep" / f"{stem}.png").read_text() == stem
    assert files[:2] == ["pictures/deep/cube.png", "pictures/deep/ring.png"]


MADE = Some(tasks=("pour", "cure"), due=None, hours="always")


def test_calendar_and_charts_are_written_with_an_order_and_kept_until_it_changes(monkeypatch, tmp_path):
    whole, kept = Whole(monkeypatch), tmp_path / "kept"
    _, files = whole.write(tmp_path / "first", made=MADE, kept=kept)
    assert (tmp_path / "first" / "calendar.ics").read_bytes() == b"days"
    assert files[:2] == ["calendar.ics", "order.svg"]
    whole.write(tmp_path / "second", ("cube", "a"), made=MADE, kept=kept)
    assert (tmp_path / "second" / "order.svg").read_bytes() == b"bars"
    assert whole.ordered == [("pool", TODAY)]
    whole.write(tmp_path / "third", made=MADE, today=date(2028, 1, 1), kept=kept)
    whole.write(tmp_path / "fourth", made=replaced(MADE, tasks=("pour",)), kept=kept)
    assert len(whole.ordered) == 3


def replaced(some, **more):
    return Some(**{**vars(some), **more})


@pytest.mark.parametrize(("made", "today"), [(None, TODAY), (MADE, None), (None, None)])
def test_without_an_order_or_a_day_there_is_no_calendar(monkeypatch, tmp_path, made, today):
    whole = Whole(monkeypatch)
    whole.write(tmp_path / "out", made=made, today=today)
    assert whole.ordered == []
    assert not (tmp_path / "out" / "calendar.ics").exists()


def test_a_part_that_is_printed_directly_is_written_as_it_stands_and_names_its_file(monkeypatch, tmp_path):
    """A cube of 20 that stands on a corner is 20 · √3 high: the space diagonal."""
    monkeypatch.setattr(printed_module, "printed_entry", lambda name, taken, **more: Some(name=name, **more))
    taken = Some(route=Some(recipe=Some(stands=Some(up=(1.0, 1.0, 1.0)))))
    measures = Some(volume_mm3=8000.0, bodies=1)
    one = PrintedPart(request=PartRequest(name="cube"), part=CUBE, measures=measures, taken=taken)
    entry = write_printed(one, tmp_path, "cube")
    assert (entry.name, entry.source, entry.file) == ("cube", None, "pieces/cube/cube.stl")
    high_mm = np.ptp(read_stl(tmp_path / entry.file).reshape(-1, 3), axis=0)[2]
    assert high_mm == pytest.approx(20.0 * np.sqrt(3.0), abs=0.01)
    from_file = replace(one, request=PartRequest(name="cube", file=Path("models/cube.stl")))
    assert write_printed(from_file, tmp_path, "cube-2").source == "cube.stl"


def test_a_part_in_a_common_mould_names_its_file_and_how_often_a_shot_gives_it():
    member = Some(request=PartRequest(name="cube", file=Path("models/cube.stl"), copies=6), count=2)
    one = Some(member=member, part=CUBE, in_mould=())
    entry = write._member_entry(one)
    assert (entry.name, entry.source, entry.copies, entry.a_shot) == ("cube", "cube.stl", 6, 2)
    assert entry.volume_mm3 == pytest.approx(8000.0)
    member.request = PartRequest(name="cube")
    assert write._member_entry(one).source is None


# --- the order of work ---------------------------------------------------------------------------------


def ordered(monkeypatch, *, choice="chosen", printed=(), workshop=SHELF, made=MADE):
    def schedule(plan, **_):
        if made is None:
            raise BadRequest("nobody is ever there", remedy="enter hours")
        return made

    monkeypatch.setattr(order_module, "schedule_plan", schedule)
    parts = (part_plan(PartRequest(name="cube"), choice=choice),) if choice != "no part" else ()
    return order_of(Plan(job=job("cube"), parts=parts, printed=printed), workshop, progress=quiet, kept=None)


@pytest.mark.parametrize(
    ("more", "made"),
    [
        ({}, MADE), ({"choice": None}, None), ({"choice": None, "printed": ("shell",)}, MADE),
        ({"choice": "no part", "printed": ("shell",)}, MADE), ({"workshop": None}, None),
        ({"workshop": None, "printed": ("shell",)}, None),
    ],
)  # fmt: skip
def test_an_order_is_made_for_what_has_its_materials_or_is_printed(monkeypatch, more, made):
    found = ordered(monkeypatch, **more)
    assert found.made is made
    assert found.said == ()


def test_an_order_that_cannot_be_made_is_a_warning_with_its_remedy(monkeypatch):
    found = ordered(monkeypatch, made=None)
    ((said,), made) = found.said, found.made
    assert (made, said.severity, said.code, said.remedy) == (None, Severity.WARNING, "no-order", "enter hours")
    assert "nobody is ever there" in said.what


def test_the_findings_of_an_order_follow_those_that_are_worse(monkeypatch):
    note = Finding(severity=Severity.INFO, code="note", what="w", remedy="r")
    late = replace(note, severity=Severity.WARNING, code="late")
    found = Order(made=Some(findings=(late,)), said=(note,))
    assert found.findings == (note, late)
    assert found.with_those_of(Some(findings=(replace(note, code="first"),))) == (
        late,
        replace(note, code="first"),
        note,
    )
    assert Order(said=(note,)).findings == (note,)


@dataclass(frozen=True)
class Choice:
    """What was chosen for a part, as far as its rounds go."""

    round_copies: tuple


def test_parts_take_the_rounds_of_their_order_and_those_without_one_keep_theirs(monkeypatch):
    names = {"cube": Choice(round_copies=(1, 1)), "ring": Choice(round_copies=(2,)), "bare": None}
    parts = tuple(part_plan(PartRequest(name=name), choice=one) for name, one in names.items())
    plan = Plan(job=job(*names), parts=parts)
    monkeypatch.setattr(order_module, "rounds_in", lambda _: {"cube": (1, 2, 2), "bare": (9,)})
    made = with_its_rounds(plan, Order(made=Some(network="network")))
    assert [one.choice and one.choice.round_copies for one in made.parts] == [(1, 2, 2), (2,), None]
    assert with_its_rounds(plan, Order()) is plan
