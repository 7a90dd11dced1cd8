"""The commands on the workshop, as they are typed."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from firstpour.cli.main import app, register_commands
from firstpour.errors import BadRequest

register_commands()


@pytest.fixture(autouse=True)
def own_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FIRSTPOUR_WORKSHOP", str(tmp_path / "workshop.toml"))
    return tmp_path / "workshop.toml"


def typed(*words: str) -> Result:
    result = CliRunner().invoke(app, ["workshop", *words])
    assert result.exit_code == 0, (result.output, result.exception)
    return result


def answer(*words: str) -> Any:
    return json.loads(typed(*words, "--json").stdout)


def test_what_is_typical_and_what_is_ones_own_is_shown(own_file: Path) -> None:
    assert "all of this is typical" in typed("show").stdout
    typed("set", "vacuum=no", "room.temperature_c=19")
    shown = typed("show").stdout
    lines = {line.split()[0]: line.split()[1:] for line in shown.splitlines() if line.strip()}
    assert lines["vacuum.available"] == ["no", "yours"]
    assert lines["room.temperature_c"] == ["19", "yours"]
    assert lines["bench.pace"] == ["steady", "typical"]
    assert all(len(line) <= 80 for line in shown.splitlines())
    assert answer("show")["given"] == ["room.temperature_c", "vacuum.available"]


def test_printers_are_entered_shown_and_taken_out(own_file: Path) -> None:
    added = answer("add-printer", "bench one", "process=vat", "pixel_mm=0.035")
    assert [(one["name"], one["pixel_mm"], one["origin"]) for one in added["printer"]] == [
        ("bench one", 0.035, "own figures")
    ]
    figures = typed("show", "--printer", "bench one").stdout
    assert "0.035" in figures
    assert "sag_ratio" in figures
    assert len(answer("remove-printer", "bench one")["printer"]) == 2
    result = CliRunner().invoke(app, ["workshop", "show", "--printer", "bench one"])
    assert isinstance(result.exception, BadRequest)


def test_another_file_is_used_where_it_is_named(tmp_path: Path, own_file: Path) -> None:
    other = tmp_path / "other.toml"
    answer("set", "vacuum=no", "--workshop", str(other))
    assert other.exists()
    assert not own_file.exists()
    assert not answer("show", "--workshop", str(other))["vacuum"]["available"]


def test_a_mix_is_worked_out_for_the_workshop_and_its_options_go_before_it() -> None:
    def mixed(*words: str) -> Any:
        asked = ["mix", "addition-silicone-a25-middling", "--volume-ml", "200", *words, "--json"]
        result = CliRunner().invoke(app, asked)
        assert result.exit_code in (0, 1), (result.output, result.exception)
        return json.loads(result.stdout)

    typed("set", "vacuum=no", "room.temperature_c=19", "bench.scale_step_g=1")
    here = mixed()
    assert here["temperature_c"] == 19
    assert here["batch"]["weigh_a_g"] == round(here["batch"]["weigh_a_g"])
    assert "degas" not in [step["name"] for step in here["pour"]["steps"]]
    otherwise = mixed("--vacuum", "--temperature-c", "23")
    assert otherwise["temperature_c"] == 23
    assert "degas" in [step["name"] for step in otherwise["pour"]["steps"]]
