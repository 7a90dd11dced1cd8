"""What the tests of the command line share."""

import sys
from pathlib import Path

import pytest
import trimesh

from firstpour.cli import main


@pytest.fixture
def typed(monkeypatch, capsys):
    """Type a command; gives its exit code, stdout and stderr."""

    def run(*words: object):
        monkeypatch.setattr(sys, "argv", ["firstpour", *(str(word) for word in words)])
        with pytest.raises(SystemExit) as caught:
            main.run()
        out = capsys.readouterr()
        return caught.value.code or 0, out.out, out.err

    return run


@pytest.fixture
def peg_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with peg.stl, a round peg; results are kept between the commands of a test."""
    monkeypatch.setenv("FIRSTPOUR_KEPT", str(tmp_path / "kept"))
    trimesh.creation.cylinder(radius=8, height=20, sections=32).export(tmp_path / "peg.stl")
    return tmp_path
