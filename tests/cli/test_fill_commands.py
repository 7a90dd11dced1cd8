import json
import subprocess
import sys

import numpy as np
import pytest
import trimesh
import typer
from typer.testing import CliRunner

from fill_shapes import SOLIDS, box, box_with_dome, joined, part_of
from firstpour.cli import fill_commands
from firstpour.errors import BadRequest

runner = CliRunner()


@pytest.fixture(scope="module")
def app():
    made = typer.Typer()
    fill_commands.register(made)
    made.callback()(lambda: None)
    return made


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("parts")
    parts = {
        "dome": box_with_dome(),
        "table": part_of(SOLIDS["table"]),
        "two": part_of(joined(box((0, 0, 0), (10, 10, 12)), box((20, 0, 0), (24, 5, 10)))),
    }
    paths = {}
    for name, part in parts.items():
        paths[name] = str(folder / f"{name}.stl")
        trimesh.Trimesh(part.mesh.vertices_mm, part.mesh.faces, process=False).export(paths[name])
    return paths


def asked(app, *words):
    return runner.invoke(app, ["fill", *words])


def test_json_gives_the_stable_keys_and_only_them_on_stdout(app, files):
    result = asked(app, files["dome"], "--up", "0,0,1", "--json")
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert answer["trapped_mm3"] == pytest.approx(2 / 3 * np.pi * 12**3, rel=0.01)
    (pocket,) = answer["pockets"]
    assert set(pocket) == {"volume_mm3", "top_mm", "seals_at_mm", "on_show"}
    assert pocket["seals_at_mm"] == pytest.approx(20, abs=0.05)
    assert answer["gate_mm"][2] == 45
    assert answer["vents_mm"][0] == pytest.approx([18, 20, 32], abs=0.5)
    assert answer["trapped_vented_mm3"] < 4


def test_running_it_again_with_what_it_proposed_leaves_no_air(app, files):
    first = json.loads(asked(app, files["table"], "--up", "0,0,-1", "--json").stdout)
    words = ["--gate", ",".join(map(str, first["gate_mm"]))]
    for vent in first["vents_mm"]:
        words += ["--vent", ",".join(map(str, vent))]
    again = json.loads(asked(app, files["table"], "--up", "0,0,-1", *words, "--json").stdout)
    assert again["trapped_vented_mm3"] == 0
    assert again["vents_mm"] == first["vents_mm"]


def test_without_up_the_directions_are_ranked(app, files):
    result = asked(app, files["table"], "--directions", "60", "--json")
    directions = json.loads(result.stdout)["directions"]
    assert len(directions) == 60
    assert directions[0]["vents"] == 0
    assert "no vent wanted" in asked(app, files["table"], "--directions", "60").stdout


def test_the_flow_is_worked_out_when_a_viscosity_is_given(app, files):
    words = ("--up", "0,0,1", "--viscosity-pa-s", "50", "--left-min", "4", "--thickens-min", "5", "--json")
    result = asked(app, files["dome"], *words)
    answer = json.loads(result.stdout)
    assert answer["flow"]["fits"] is False
    assert result.exit_code == 1
    assert {f["code"] for f in answer["findings"]} >= {"never-passes"}


def test_a_body_that_never_fills_is_an_error_finding_and_exits_1(app, files):
    result = asked(app, files["two"], "--up", "0,0,1")
    assert result.exit_code == 1
    assert "never fills" in result.stdout


@pytest.mark.parametrize(
    "words",
    [
        ("--up", "0,0,0"),
        ("--up", "0,0"),
        ("--up", "a,b,c"),
        ("--up", "0,0,nan"),
        ("--up", "0,0,1", "--gate", "30,20,10"),
        ("--up", "0,0,1", "--gate", "900,0,0"),
        ("--up", "0,0,1", "--resolution", "2"),
        ("--directions", "1"),
    ],
)
def test_unusable_input_has_a_problem_and_a_remedy(app, files, words):
    result = asked(app, files["dome"], *words)
    assert isinstance(result.exception, BadRequest)
    assert result.exception.problem
    assert result.exception.remedy
    assert result.stdout == ""


def test_pictures_are_written_where_asked(app, files, tmp_path):
    result = asked(app, files["dome"], "--up", "0,0,1", "--resolution", "64", "--out", str(tmp_path / "new"))
    assert result.exit_code == 0
    assert {path.name for path in (tmp_path / "new").iterdir()} == {"dome-fill.png", "dome-fill.gif"}


def test_the_command_module_loads_neither_numba_nor_scipy():
    code = (
        "import sys, firstpour.cli.fill_commands; print(any(m in sys.modules for m in ('numba', 'scipy', 'numpy')))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "False"


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("--passage-mm", "nan"), "passage"),
        (("--passage-mm", "-1"), "passage"),
        (("--gate-radius-mm", "0"), "--gate-radius-mm is 0"),
        (("--gate-radius-mm", "nan"), "--gate-radius-mm is nan"),
        (("--density-g-ml", "nan"), "--density-g-ml is nan"),
        (("--head-mm", "inf"), "--head-mm is inf"),
        (("--left-min", "-1"), "--left-min is -1"),
        (("--thickens-min", "0"), "--thickens-min is 0"),
    ],
)
def test_a_figure_that_cannot_be_meant_is_refused(app, files, words, what):
    result = asked(app, files["dome"], "--up", "0,0,1", *words)
    assert isinstance(result.exception, BadRequest)
    assert what in result.exception.problem
    assert result.stdout == ""


def test_more_pour_directions_than_the_memory_holds_are_refused(app, files):
    result = asked(app, files["dome"], "--directions", "100000000")
    assert isinstance(result.exception, BadRequest)
    assert "to 20000" in result.exception.remedy


def test_a_material_gives_its_own_viscosity_and_clock_and_the_narrowed_gate_counts(app, tmp_path):
    """A thin plate narrows its gate; the flow is that of the narrowed one, colder is slower."""
    plate = tmp_path / "plate.stl"
    trimesh.creation.box((80, 50, 2)).export(plate)
    asked = ("fill", str(plate), "--up", "1,0,0", "--resolution", "64", "--material", "flexible-rubber-a30-slow")
    warm = json.loads(runner.invoke(app, [*asked, "--json"]).stdout)["flow"]
    cold = json.loads(runner.invoke(app, [*asked, "--temperature-c", "17", "--json"]).stdout)["flow"]
    assert warm["fits"]
    assert cold["fill_s"] > 1.2 * warm["fill_s"]
    assert warm["cavity_share"] < 0.9
