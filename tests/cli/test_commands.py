"""The commands as they are typed: what they answer, how they end, and what they leave behind."""

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from files_shapes import cube_mesh, knob_part
from firstpour.files.plan_json import schema_text
from firstpour.files.stl import stl_bytes

COMMANDS = ("measure", "draw", "mould", "plan", "demo", "samples")


@pytest.fixture(scope="module")
def knob_file(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("parts") / "knob.stl"
    path.write_bytes(stl_bytes(knob_part().mesh))
    return path


def test_help_loads_nothing_heavy_and_lists_every_command():
    code = (
        "import sys; sys.argv = ['firstpour', '--help']\n"
        "from firstpour.cli import main\n"
        "try: main.run()\n"
        "except SystemExit: pass\n"
        "heavy = {'numba', 'scipy', 'ortools', 'manifold3d', 'pydantic', 'PIL', 'trimesh', 'shapely'}\n"
        "sys.stderr.write(','.join(sorted(heavy & set(sys.modules))))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stderr == ""
    assert all(f" {command} " in ran.stdout for command in COMMANDS)


def test_draw_ranks_directions_as_json(typed, knob_file):
    code, out, err = typed("draw", knob_file, "--json", "--keep", 3)
    directions = json.loads(out)["directions"]
    assert (code, err) == (0, "")
    assert len(directions) >= 3
    assert all(one["undercut_mm2"] is None and one["reason"] for one in directions)
    assert "found by the sweep" not in [one["origin"] for one in directions[3:]]
    assert directions[0]["stretch_ratio"] == min(one["stretch_ratio"] for one in directions)
    assert directions[0]["locked_loops"] == 0


def test_draw_along_a_direction_gives_that_one_in_full(typed, knob_file):
    code, out, _ = typed("draw", knob_file, "--json", "--direction", "0,0,5")
    (only,) = json.loads(out)["directions"]
    assert code == 0
    assert only["direction"] == [0.0, 0.0, 1.0]
    assert only["undercut_mm3"] == pytest.approx(0.0, abs=1.0)
    assert only["undercut_mm2"] is not None


def test_draw_shows_a_table(typed, knob_file):
    code, out, _ = typed("draw", knob_file, "--direction", "0,0,1")
    assert code == 0
    assert "0, 0, 1" in out
    assert "not resolved" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_a_mould_is_written_and_told(typed, knob_file, tmp_path):
    out_folder = tmp_path / "out"
    code, out, _ = typed(
        "mould", knob_file, "--out", out_folder, "--direction", "0,0,1", "--setting", "wall_mm=6", "--json"
    )
    mould = json.loads(out)
    assert code == 0
    assert mould["draw"] == [0.0, 0.0, 1.0]
    assert {"silicone", "tray"} <= {piece["role"] for piece in mould["pieces"]}
    assert all(piece["watertight"] and (out_folder / piece["file"]).is_file() for piece in mould["pieces"])
    assert mould["silicone_ml"] > mould["casting_ml"] > 14.0
    whole = json.loads((out_folder / "plan.json").read_text(encoding="utf-8"))
    assert mould["findings"] == whole["findings"]  # of every stage: the exit code counts them all


def test_a_plan_of_a_job_is_whole(typed, knob_file, tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(f'[[part]]\nname = "knob"\nfile = "{knob_file}"\ncopies = 3\ndraw = [0, 0, 1]\n', encoding="utf-8")
    out_folder = tmp_path / "out"
    code, out, _ = typed("plan", job, "--out", out_folder)
    assert code == 0
    assert all(words in out for words in ("3 copies", "Print: ", "silicone", "plan.json"))
    assert max(len(line) for line in out.splitlines()) <= 80
    plan = json.loads((out_folder / "plan.json").read_text(encoding="utf-8"))
    jsonschema.validate(plan, json.loads(schema_text()))
    there = {file.relative_to(out_folder).as_posix() for file in out_folder.rglob("*") if file.is_file()}
    assert there == set(plan["files"])
    assert plan["totals"]["casting_ml"] == pytest.approx(3 * plan["parts"][0]["mould"]["casting_ml"])
    assert {Path(picture).name for picture in plan["parts"][0]["pictures"]} >= {"knob-draw.png", "knob-mould.png"}


def test_bad_input_ends_with_two_and_leaves_nothing(typed, tmp_path):
    job, out_folder = tmp_path / "job.toml", tmp_path / "out"
    job.write_text('[[part]]\nsample = "limpet"\ncopys = 2\n', encoding="utf-8")
    (tmp_path / "text.stl").write_text("hello", encoding="utf-8")
    (tmp_path / "empty.stl").touch()
    bad = (job, tmp_path / "text.stl", tmp_path / "empty.stl", tmp_path / "gone.stl", tmp_path / "gone.toml")
    for file in bad:
        code, out, err = typed("plan", file, "--out", out_folder, "--json")
        assert (code, out) == (2, "")
        assert "Problem: " in err
        assert "Remedy:  " in err
        assert not out_folder.exists()
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["empty.stl", "job.toml", "text.stl"]


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (("--direction", "0,0,0"), "not a direction"),
        (("--kind", "jelly"), "no kind of mould"),
        (("--setting", "wal_mm=3"), "did you mean wall_mm"),
        (("--setting", "wall_mm=-3"), "greater than or equal to 0"),
    ],
)
def test_an_option_that_cannot_be_meant_is_told(words, problem, typed, knob_file, tmp_path):
    code, out, err = typed("mould", knob_file, "--out", tmp_path / "out", *words)
    assert (code, out) == (2, "")
    assert problem in err
    assert list(tmp_path.iterdir()) == []


def test_results_never_replace_a_folder_of_somebody_else(typed, knob_file, tmp_path):
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    code, _, err = typed("mould", knob_file, "--out", tmp_path)
    assert code == 2
    assert "other than results" in err
    assert [entry.name for entry in tmp_path.iterdir()] == ["mine.txt"]


def test_an_open_part_is_refused_by_every_command_that_takes_one(typed, tmp_path):
    mesh = cube_mesh()
    opened = type(mesh)(vertices_mm=mesh.vertices_mm * 10, faces=mesh.faces[:7])
    (tmp_path / "open.stl").write_bytes(stl_bytes(opened))
    for words in (("draw",), ("mould", "--out", tmp_path / "out"), ("plan", "--out", tmp_path / "out")):
        code, out, err = typed(words[0], tmp_path / "open.stl", *words[1:])
        assert (code, out) == (2, "")
        assert "open" in err


def test_samples_are_listed_as_json(typed, tmp_path):
    code, out, _ = typed("samples", "--out", tmp_path / "new", "--faces", 5000, "--json")
    files = json.loads(out)["files"]
    assert code == 0
    assert len(files) == 5
    assert all(Path(file).is_file() for file in files)


@pytest.mark.parametrize(
    ("words", "problem", "remedy"),
    [
        (("draw", "x.stl", "--keep", 0), "--keep is 0", "give a number from 1 to 1000"),
        (("draw", "x.stl", "--units", "furlong"), "'furlong' is not one of", "see firstpour draw --help"),
        (("shelf", "take", "x", "-5 g"), "no such option", "see firstpour shelf take --help"),
        (("mix", "x"), "missing option '--volume-ml'", "see firstpour mix --help"),
        (("pour",), "no such command 'pour'", "see firstpour --help"),
    ],
)
def test_a_mistyped_command_is_told_as_a_problem_with_its_remedy(typed, words, problem, remedy):
    code, out, err = typed(*words)
    assert (code, out) == (2, "")
    assert err.startswith("Problem: ")
    assert problem in err
    assert f"Remedy:  {remedy}" in err
    assert "Value error" not in err


@pytest.mark.parametrize("place", ["between kernels", "in a kernel"])
def test_ctrl_c_is_answered_in_words(typed, monkeypatch, tmp_path, place):
    def stop(*_args, **_options):
        if place == "in a kernel":
            inner = SystemError("a loader returned a result with an exception set")
            inner.__cause__ = KeyboardInterrupt()
            raise SystemError("a kernel returned a result with an exception set") from inner
        raise KeyboardInterrupt

    monkeypatch.setattr("firstpour.plan.opened.read_job", stop)
    code, out, err = typed("plan", "x.stl", "--out", tmp_path / "results")
    assert (code, out) == (130, "")
    assert "nothing half-written" in err


def test_only_the_way_a_direction_points_counts(typed, knob_file):
    code, out, err = typed("draw", knob_file, "--json", "--direction", "0,0,1e300")
    assert (code, err) == (0, "")
    assert json.loads(out)["directions"][0]["direction"] == [0.0, 0.0, 1.0]
