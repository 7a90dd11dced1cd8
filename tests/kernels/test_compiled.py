"""Kernels are compiled once, kept by the content of their folder, and work where nothing can be kept."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from firstpour.kernels import compiled as room
from firstpour.kernels.compiled import as_written, compiled

USE_ONE = """
import numpy as np
from firstpour.kernels.weld import first_equal
first = first_equal(np.zeros((3, 3)), np.full(8, -1, np.int64))
assert first.tolist() == [0, 0, 0]
print(sum(first_equal.stats.cache_hits.values()))
"""


def _program(folder: Path) -> subprocess.Popen[str]:
    source = Path(room.__file__).parents[2]
    given = {**os.environ, "NUMBA_CACHE_DIR": str(folder), "PYTHONPATH": str(source)}
    return subprocess.Popen([sys.executable, "-c", USE_ONE], env=given, stdout=subprocess.PIPE, text=True)


def test_a_kernel_is_made_by_one_of_two_programs_that_want_it_at_once_and_kept_for_the_next(tmp_path):
    both = [_program(tmp_path), _program(tmp_path)]
    hits = sorted(int(one.communicate()[0]) for one in both)
    assert hits == [0, 1]
    assert int(_program(tmp_path).communicate()[0]) == 1


@pytest.fixture
def folder_of_kernels(tmp_path, monkeypatch):
    monkeypatch.setattr(room, "HERE", tmp_path)
    room.folder_stamp.cache_clear()
    yield tmp_path
    room.folder_stamp.cache_clear()


def test_a_change_in_any_file_of_the_folder_makes_every_kernel_anew(folder_of_kernels):
    stamps = []
    for name, text in (("a.py", "x = 1"), ("b.py", "y = 1"), ("b.py", "y = 2")):
        (folder_of_kernels / name).write_text(text)
        room.folder_stamp.cache_clear()
        stamps.append(room.folder_stamp())
    assert len(set(stamps)) == 3


@pytest.fixture
def folders(monkeypatch):
    def offer(*paths: Path) -> None:
        monkeypatch.setattr(room, "cache_folders", lambda: iter(paths))
        room.cache_folder.cache_clear()

    yield offer
    room.cache_folder.cache_clear()


def test_where_the_package_cannot_be_written_the_next_folder_serves_and_then_none(tmp_path, folders):
    (tmp_path / "file").write_text("in the way")
    folders(tmp_path / "file" / "below", tmp_path / "mine")
    assert room.cache_folder() == tmp_path / "mine"
    folders(tmp_path / "file" / "below")
    assert room.cache_folder() is None

    @compiled()
    def doubled(value):
        return 2 * value

    assert doubled(21) == 42


def test_a_folder_that_others_may_write_to_is_passed_over(tmp_path, folders):
    open_to_all = tmp_path / "all"
    open_to_all.mkdir()
    open_to_all.chmod(0o777)
    folders(open_to_all, tmp_path / "mine")
    assert room.cache_folder() == tmp_path / "mine"


def test_read_only_and_fresh_arrays_share_one_compiled_kernel():
    @compiled()
    def total(values):
        whole = 0.0
        for one in values:
            whole += one
        return whole

    fresh = np.arange(4.0)
    frozen = fresh.view()
    frozen.flags.writeable = False
    of_bytes = np.frombuffer(fresh.tobytes())
    assert total(fresh) == total(frozen) == total(of_bytes) == 6.0
    assert len(total.signatures) == 1
    assert not frozen.flags.writeable
    assert as_written("left as it is") == "left as it is"
