"""One file: whole or not at all, and never over what is not ours."""

import os
import signal
import tempfile
import threading
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import CannotWrite
from firstpour.writing import whole
from firstpour.writing.unbroken import unbroken
from firstpour.writing.whole import Over, may_write, whole_file, write_all_whole, write_whole

OURS, OURS_TOO, FOREIGN = b"\x89PNG Firstpour one", b"\x89PNG firstpour two", b"\x89PNG a photograph"


def names_in(folder: Path) -> list[str]:
    return sorted(entry.name for entry in folder.iterdir())


def test_a_file_of_ours_is_replaced_and_nothing_else_left(tmp_path):
    path = tmp_path / "new" / "a.png"
    write_whole(path, OURS, over=Over.OURS)
    write_whole(path, OURS_TOO, over=Over.OURS)
    assert path.read_bytes() == OURS_TOO
    assert names_in(path.parent) == ["a.png"]


@pytest.mark.parametrize(
    ("there", "new", "over"),
    [
        (FOREIGN, OURS, Over.OURS),
        (FOREIGN, OURS, Over.NOTHING),
        (OURS, OURS_TOO, Over.NOTHING),
        (b"Firstpour, binary STL", OURS, Over.OURS),
        (b"", OURS, Over.OURS),
    ],
)
def test_what_is_not_ours_or_of_another_kind_is_not_written_over(there, new, over, tmp_path):
    (tmp_path / "a.png").write_bytes(there)
    with pytest.raises(CannotWrite, match="there already") as refused:
        write_whole(tmp_path / "a.png", new, over=over)
    assert refused.value.remedy
    assert (tmp_path / "a.png").read_bytes() == there


@pytest.mark.parametrize("over", list(Over))
def test_the_same_again_is_no_harm_and_a_folder_is_no_file(over, tmp_path):
    (tmp_path / "a").write_bytes(FOREIGN)
    write_whole(tmp_path / "a", FOREIGN, over=over)
    with pytest.raises(CannotWrite, match="is a folder"):
        write_whole(tmp_path, OURS, over=over)


def test_before_long_work_it_is_told_what_would_be_refused(tmp_path):
    (tmp_path / "photo.png").write_bytes(FOREIGN)
    may_write(tmp_path / "new.png", over=Over.OURS)
    with pytest.raises(CannotWrite, match="there already"):
        may_write(tmp_path / "photo.png", over=Over.OURS)


def test_of_several_files_none_is_written_if_one_may_not(tmp_path):
    (tmp_path / "b").write_bytes(FOREIGN)
    with pytest.raises(CannotWrite):
        write_all_whole({tmp_path / "a": OURS, tmp_path / "b": OURS}, over=Over.OURS)
    assert names_in(tmp_path) == ["b"]


def test_a_link_stays_a_link_and_the_rights_stay_as_they_were(tmp_path):
    (tmp_path / "real").mkdir()
    target = tmp_path / "real" / "workshop.toml"
    target.write_bytes(b"old")
    target.chmod(0o640)
    (tmp_path / "link.toml").symlink_to(target)
    write_whole(tmp_path / "link.toml", b"new", over=Over.ANYTHING)
    assert (tmp_path / "link.toml").readlink() == target
    assert target.read_bytes() == b"new"
    assert target.stat().st_mode & 0o777 == 0o640


def test_a_new_file_has_the_rights_that_new_files_have(tmp_path):
    (tmp_path / "plain").write_bytes(b"")
    write_whole(tmp_path / "ours", b"", over=Over.NOTHING)
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode


@pytest.mark.parametrize("error", [KeyboardInterrupt(), OSError(28, "No space left on device")])
def test_what_was_there_outlives_a_full_disk_and_ctrl_c(error, tmp_path, monkeypatch):
    (tmp_path / "a").write_bytes(b"old")

    def fails(_: Path) -> None:
        raise error

    monkeypatch.setattr(whole, "settle", fails)
    with pytest.raises((KeyboardInterrupt, CannotWrite)):
        write_whole(tmp_path / "a", b"new", over=Over.ANYTHING)
    assert names_in(tmp_path) == ["a"]
    assert (tmp_path / "a").read_bytes() == b"old"


def test_a_dead_writers_left_over_is_cleared(tmp_path):
    (tmp_path / ".a.firstpour-partial-0badcafe").write_bytes(b"half")
    (tmp_path / ".b.firstpour-partial-0badcafe").write_bytes(b"another file's")
    write_whole(tmp_path / "a", b"new", over=Over.NOTHING)
    assert names_in(tmp_path) == [".b.firstpour-partial-0badcafe", "a"]


def test_two_writers_at_once_leave_one_of_the_two_contents(tmp_path):
    contents = [bytes([65 + k]) * 50_000 for k in range(4)]

    def write(content: bytes) -> None:
        for _ in range(10):
            write_whole(tmp_path / "a", content, over=Over.ANYTHING)

    threads = [threading.Thread(target=write, args=(content,)) for content in contents]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (tmp_path / "a").read_bytes() in contents
    assert names_in(tmp_path) == ["a"]


@given(
    name=st.text(st.characters(codec="utf-8", exclude_characters="/"), min_size=1, max_size=300), content=st.binary()
)
def test_any_name_is_written_or_refused_in_words(name, content):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "below", name)
        try:
            write_whole(path, content, over=Over.NOTHING)
        except CannotWrite:
            return
        assert path.read_bytes() == content


def test_ctrl_c_waits_until_the_steps_are_done():
    """Also where the tests were begun in the background of a shell, which has Ctrl-C ignored."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    done = []

    def steps() -> None:
        with unbroken():
            os.kill(os.getpid(), signal.SIGINT)
            done.append("first")
            done.append("second")
        done.append("never")

    with pytest.raises(KeyboardInterrupt):
        steps()
    assert done == ["first", "second"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_what_is_filled_bit_by_bit_is_put_in_place_at_its_end_only(tmp_path: Path) -> None:
    target = tmp_path / "own.zip"
    with whole_file(target, over=Over.NOTHING) as partial:
        partial.write_bytes(b"half")
        assert not target.exists()
        partial.write_bytes(b"whole")
    assert target.read_bytes() == b"whole"
    with pytest.raises(CannotWrite, match="disk is full"), whole_file(target, over=Over.ANYTHING):
        raise OSError(28, "the disk is full")
    assert target.read_bytes() == b"whole"
    assert [one.name for one in tmp_path.iterdir()] == ["own.zip"]
