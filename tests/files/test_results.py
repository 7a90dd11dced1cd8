"""The folder of results: whole or not at all, and nothing of anyone else's lost."""

import json
from pathlib import Path

import pytest

from firstpour.errors import CannotWrite
from firstpour.files.results import PLAN_FORMAT, files_of_earlier_plan, replace_file, results_folder


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
    assert "--out" in caught.value.remedy


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


def test_one_file_is_replaced_whole(tmp_path):
    replace_file(tmp_path / "a.txt", b"one")
    replace_file(tmp_path / "a.txt", b"two")
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"two"
