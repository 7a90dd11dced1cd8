"""The first run compiles before it begins, once."""

import pytest

from firstpour.kernels import compiled as room
from firstpour.plan.crew import Alone
from firstpour.plan.ready import STAGES, get_ready, run_stage


@pytest.fixture
def fresh(tmp_path, monkeypatch):
    monkeypatch.setattr(room, "cache_folders", lambda: iter([tmp_path / "kept"]))
    room.cache_folder.cache_clear()
    yield
    room.cache_folder.cache_clear()


@pytest.mark.parametrize("name", STAGES)
def test_every_stage_that_is_compiled_ahead_runs_on_its_small_part(name):
    assert run_stage(name) == name


def test_getting_ready_is_told_and_done_once(fresh):
    told: list[str] = []
    for _ in range(2):
        get_ready(Alone(), lambda done, total, doing: told.append(doing))
    assert len(told) == len(STAGES) + 1
    assert "first run" in told[0]
