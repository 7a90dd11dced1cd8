"""`measure`: one JSON object, short words, and the exit codes of the command contract."""

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from firstpour.cli import part_commands
from firstpour.errors import OpenMesh, UnreadablePart
from part_files import binary_stl, written
from sample_shapes import SHAPES, box

CUBE = binary_stl(SHAPES["cube"].mesh)


@pytest.fixture
def app() -> typer.Typer:
    app = typer.Typer(pretty_exceptions_enable=False)
    app.callback()(lambda: None)
    part_commands.register(app)
    return app


def test_measure_gives_one_json_object_with_the_stable_keys(app: typer.Typer, tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["measure", str(written(tmp_path, "cube.stl", CUBE)), "--json"])
    assert result.exit_code == 0
    measures = json.loads(result.stdout)
    stable = {"faces", "watertight", "bodies", "volume_mm3", "area_mm2", "size_mm", "findings"}
    assert stable <= set(measures)
    assert (measures["faces"], measures["watertight"], measures["bodies"]) == (12, True, 1)
    assert measures["volume_mm3"] == pytest.approx(8000)
    assert measures["size_mm"] == pytest.approx([20, 20, 20])
    assert measures["findings"] == []


def test_measure_says_it_in_words_and_takes_a_unit(app: typer.Typer, tmp_path: Path) -> None:
    path = written(tmp_path, "cube.stl", CUBE)
    result = CliRunner().invoke(app, ["measure", str(path), "--units", "cm"])
    assert result.exit_code == 0
    assert "200.0 × 200.0 × 200.0 mm" in result.stdout
    assert "8000.00 ml" in result.stdout


def test_an_error_finding_exits_1_and_still_gives_the_measures(app: typer.Typer, tmp_path: Path) -> None:
    path = written(tmp_path, "speck.stl", binary_stl(box(0.3, 0.3, 0.3)))
    result = CliRunner().invoke(app, ["measure", str(path), "--json"])
    assert result.exit_code == 1
    findings = json.loads(result.stdout)["findings"]
    assert ("error", "unlikely-size") in {(finding["severity"], finding["code"]) for finding in findings}
    words = CliRunner().invoke(app, ["measure", str(path)])
    assert words.exit_code == 1
    assert "error" in words.stdout
    assert "the part is 0.3 mm long" in words.stdout


@pytest.mark.parametrize(
    ("data", "kind"), [(CUBE[:200], UnreadablePart), (binary_stl(SHAPES["leaky cube"].mesh), OpenMesh)]
)
def test_unusable_input_raises_what_the_entry_point_turns_into_exit_2(
    app: typer.Typer, tmp_path: Path, data: bytes, kind: type[UnreadablePart]
) -> None:
    result = CliRunner().invoke(app, ["measure", str(written(tmp_path, "part.stl", data)), "--json"])
    assert type(result.exception) is kind
    assert result.stdout == ""
