"""The folder of results: whole or not at all, and nothing of anyone else's lost."""

import json
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from firstpour.errors import CannotWrite
from firstpour.files import results
from firstpour.files.results import PLAN_FORMAT, files_of_earlier_plan, results_folder
from firstpour.writing.beside import clear_left_overs


def fill(folder: Path, *names: str, text: str = "new") -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    plan = {"format": PLAN_FORMAT, "files": list(names)}
    (folder / "plan.json").write_text(json.dumps(plan), encoding="utf-8")


def fill_and_fail(out: Path, error: BaseException) -> None:
    with results_folder(out) as folder:
        fill(folder, "x.stl", "y.stl")
        raise error


def names_in(folder: Path) -> list[str]:
    return sorted(file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file())


def test_results_appear_when_they_are_whole(tmp_path):
    out = tmp_path / "a" / "b"
    with results_folder(out) as folder:
        fill(folder, "pieces/x.stl")
        assert not out.exists()
    assert names_in(out) == ["pieces/x.stl", "plan.json"]
    assert [entry.name for entry in out.parent.iterdir()] == ["b"]


def test_a_failure_leaves_nothing_behind(tmp_path):
    out = tmp_path / "a" / "b"
    with pytest.raises(ZeroDivisionError):
        fill_and_fail(out, ZeroDivisionError())
    assert list(tmp_path.iterdir()) == []


def test_a_failure_leaves_the_earlier_results_as_they_were(tmp_path):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "x.stl", text="old")
    with pytest.raises(KeyboardInterrupt):
        fill_and_fail(out, KeyboardInterrupt())
    assert names_in(out) == ["plan.json", "x.stl"]
    assert (out / "x.stl").read_text(encoding="utf-8") == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


def test_earlier_results_are_replaced_and_foreign_files_kept(tmp_path):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "x.stl", "gone.stl", text="old")
    (out / "notes").mkdir()
    (out / "notes" / "mine.txt").write_text("mine", encoding="utf-8")
    with results_folder(out) as folder:
        fill(folder, "x.stl")
    assert names_in(out) == ["notes/mine.txt", "plan.json", "x.stl"]
    assert (out / "x.stl").read_text(encoding="utf-8") == "new"
    assert (out / "notes" / "mine.txt").read_text(encoding="utf-8") == "mine"


def test_a_foreign_file_in_the_way_is_not_written_over(tmp_path):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "x.stl", text="old")
    (out / "y.stl").write_text("mine", encoding="utf-8")
    with pytest.raises(CannotWrite, match=r"y\.stl"), results_folder(out) as folder:
        fill(folder, "x.stl", "y.stl")
    assert (out / "y.stl").read_text(encoding="utf-8") == "mine"
    assert (out / "x.stl").read_text(encoding="utf-8") == "old"


@pytest.mark.parametrize(
    "content", ["{}", "[]", "not json", '{"format": "other", "files": []}', f'{{"format": "{PLAN_FORMAT}"}}']
)
def test_a_folder_with_somebody_elses_plan_is_refused(content, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").write_text(content, encoding="utf-8")
    assert files_of_earlier_plan(out) is None
    with pytest.raises(CannotWrite, match="something other than results"), results_folder(out):
        pytest.fail("the block must not run")
    assert (out / "plan.json").read_text(encoding="utf-8") == content


def test_a_file_or_a_link_in_the_way_is_refused(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path)
    for name in ("file", "link"):
        with pytest.raises(CannotWrite, match="not a folder"), results_folder(tmp_path / name):
            pytest.fail("the block must not run")


def test_the_folder_one_works_in_is_refused(tmp_path, monkeypatch):
    (tmp_path / "in").mkdir()
    monkeypatch.chdir(tmp_path / "in")
    for name in (".", ".."):
        with pytest.raises(CannotWrite, match="where you are working"), results_folder(Path(name)):
            pytest.fail("the block must not run")


def test_an_empty_folder_is_taken(tmp_path):
    (tmp_path / "out").mkdir()
    with results_folder(tmp_path / "out") as folder:
        fill(folder, "x.stl")
    assert names_in(tmp_path / "out") == ["plan.json", "x.stl"]


def test_a_folder_below_a_file_cannot_be_made(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(CannotWrite) as caught, results_folder(tmp_path / "file" / "out"):
        pytest.fail("the block must not run")
    assert "for the results" in caught.value.remedy


def test_a_folder_without_leave_to_write_is_told(tmp_path, monkeypatch):
    # Root may write anywhere, so the refusal of the system is played.
    (tmp_path / "locked").mkdir()

    def refuse(self: Path, *_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(CannotWrite, match="Permission denied"), results_folder(tmp_path / "locked" / "out"):
        pytest.fail("the block must not run")
    assert list((tmp_path / "locked").iterdir()) == []


def test_a_full_disk_is_told_and_leaves_nothing(tmp_path):
    out = tmp_path / "out"
    with pytest.raises(CannotWrite, match="No space left"):
        fill_and_fail(out, OSError(28, "No space left on device"))
    assert list(tmp_path.iterdir()) == []


def test_links_and_empty_folders_of_the_maker_outlive_new_results(tmp_path):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "pieces/x.stl", text="old")
    (out / "empty" / "deep").mkdir(parents=True)
    (out / "to-notes").symlink_to(tmp_path)
    (out / "to-nothing").symlink_to("gone")
    (out / "pieces" / "mine.txt").write_text("mine", encoding="utf-8")
    before = (out / "pieces" / "mine.txt").stat().st_ino
    with results_folder(out) as folder:
        fill(folder, "pieces/x.stl")
    assert (out / "empty" / "deep").is_dir()
    assert (out / "to-notes").readlink() == tmp_path
    assert (out / "to-nothing").readlink() == Path("gone")
    assert (out / "pieces" / "mine.txt").stat().st_ino == before
    assert (out / "pieces" / "x.stl").read_text(encoding="utf-8") == "new"


def test_an_emptied_folder_of_earlier_results_is_no_obstacle(tmp_path):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "pieces/x.stl", text="old")
    (out / "pieces" / "x.stl").unlink()
    with results_folder(out) as folder:
        fill(folder, "pieces/x.stl")
    assert names_in(out) == ["pieces/x.stl", "plan.json"]


@pytest.mark.parametrize("error", [KeyboardInterrupt(), OSError(28, "No space left on device"), MemoryError()])
@pytest.mark.parametrize("failing", ["symlink_to", "rename", "mkdir"])
def test_whatever_fails_in_the_swap_the_old_folder_stands_as_it_was(failing, error, tmp_path, monkeypatch):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "x.stl", text="old")
    (out / "mine").mkdir()
    (out / "link").symlink_to("mine")
    does = getattr(Path, failing)

    def fails(self: Path, *given: object, **named: object) -> object:
        if self.name.startswith(".out.firstpour-partial") or ".out.firstpour-partial" in str(self.parent):
            raise error
        return does(self, *given, **named)

    def make_new_results() -> None:
        with results_folder(out) as folder:
            fill(folder, "x.stl")
            monkeypatch.setattr(Path, failing, fails)

    with pytest.raises((type(error), CannotWrite)):
        make_new_results()
    monkeypatch.undo()
    assert names_in(out) == ["plan.json", "x.stl"]
    assert (out / "x.stl").read_text(encoding="utf-8") == "old"
    assert (out / "mine").is_dir()
    assert (out / "link").is_symlink()
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


SWAP_FOREVER = """
import json, sys
from pathlib import Path
from firstpour.files.results import PLAN_FORMAT, results_folder
for turn in range(10**9):
    with results_folder(Path(sys.argv[1])) as folder:
        for name in ("x.stl", "y.stl"):
            (folder / name).write_text(str(turn))
        plan = {"format": PLAN_FORMAT, "files": ["x.stl", "y.stl"]}
        (folder / "plan.json").write_text(json.dumps(plan))
    print(turn, flush=True)
"""


@pytest.mark.parametrize("way", [signal.SIGKILL, signal.SIGINT, signal.SIGTERM])
def test_killed_at_any_moment_the_results_are_old_or_new_and_the_makers_own_are_there(way, tmp_path):
    out, chance = tmp_path / "out", random.Random(3)
    with results_folder(out) as folder:
        fill(folder, "x.stl", "y.stl", text="0")
    (out / "mine.txt").write_text("mine", encoding="utf-8")
    (out / "empty").mkdir()
    for _ in range(5):
        words = [sys.executable, "-c", SWAP_FOREVER, str(out)]
        with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as process:
            assert process.stdout is not None
            process.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.02))
            process.send_signal(way)
        clear_left_overs(out)
        assert [entry.name for entry in tmp_path.iterdir()] == ["out"]
        assert names_in(out) == ["mine.txt", "plan.json", "x.stl", "y.stl"]
        assert (out / "x.stl").read_text() == (out / "y.stl").read_text()
        assert (out / "empty").is_dir()


def test_a_live_writers_folder_is_left_alone_and_a_dead_ones_cleared(tmp_path):
    out = tmp_path / "out"
    dead = tmp_path / ".out.firstpour-partial-0badcafe"
    dead.mkdir()
    (dead / "x.stl").write_text("half", encoding="utf-8")
    other = tmp_path / ".out.partial-123"
    other.mkdir()
    with results_folder(out) as folder:
        assert not dead.exists()
        with results_folder(out) as second:
            assert folder.is_dir()
            fill(second, "y.stl")
        fill(folder, "x.stl")
    assert names_in(out) == ["plan.json", "x.stl"]
    assert sorted(entry.name for entry in tmp_path.iterdir()) == [".out.partial-123", "out"]


def test_the_old_folder_comes_back_where_its_writer_died_before_the_new_one_came(tmp_path):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "x.stl", text="old")
    out.rename(tmp_path / ".out.firstpour-replaced-0badcafe")
    with pytest.raises(ZeroDivisionError):
        fill_and_fail(out, ZeroDivisionError())
    assert (out / "x.stl").read_text(encoding="utf-8") == "old"


def test_a_file_saved_while_the_swap_goes_on_is_not_lost(tmp_path, monkeypatch):
    out = tmp_path / "out"
    with results_folder(out) as folder:
        fill(folder, "x.stl", text="old")
    put, put_as_well = [], results._put_as_well

    def put_and_save(old: Path, new: Path) -> None:
        put_as_well(old, new)
        if not put:
            put.append(new)
            (out / "late.txt").write_text("late", encoding="utf-8")

    (out / "early.txt").write_text("early", encoding="utf-8")
    monkeypatch.setattr(results, "_put_as_well", put_and_save)
    with results_folder(out) as folder:
        fill(folder, "x.stl")
    assert names_in(out) == ["early.txt", "late.txt", "plan.json", "x.stl"]
