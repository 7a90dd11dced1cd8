"""`firstpour master`, as it is called."""

import json
import math

import numpy as np
import pytest
import trimesh
from typer.testing import CliRunner

from firstpour.cli.main import app, register_commands
from firstpour.errors import WorkshopError
from master_shapes import limpet, part_of

CONTRACT = {"direction", "step_mm", "roundness_mm", "suction_n", "support_mm2", "height_mm", "print_min"}


@pytest.fixture(scope="module")
def limpet_file(tmp_path_factory):
    mesh = part_of(limpet()).mesh
    path = tmp_path_factory.mktemp("parts") / "limpet.stl"
    trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False).export(path)
    return path


def _run(*words):
    register_commands()
    return CliRunner().invoke(app, ["master", *map(str, words)])


def test_json_gives_the_contracts_keys_best_first(limpet_file):
    ran = _run(limpet_file, "--process", "vat", "--directions", 12, "--json")
    assert ran.exit_code == 0
    given = json.loads(ran.stdout)
    assert all(one.keys() >= CONTRACT for one in given["directions"])
    assert [one["score_mm"] for one in given["directions"]] == sorted(one["score_mm"] for one in given["directions"])
    assert math.isclose(np.linalg.norm(given["directions"][0]["direction"]), 1.0, abs_tol=1e-9)
    assert given["process"] == "vat"
    assert {"shut-hollow-avoided"} <= {one["code"] for one in given["findings"]}


def test_words_say_how_to_print_it_why_and_what_to_do_to_it(limpet_file, tmp_path):
    ran = _run(limpet_file, "--directions", 12, "--layer-mm", 0.05, "--picture", tmp_path / "limpet.png")
    assert ran.exit_code == 0
    assert "print the master on the" in ran.stdout
    assert "layers of 0.05 mm" in ran.stdout
    assert "Work on the print" in ran.stdout
    assert (tmp_path / "limpet.png").stat().st_size > 10_000


@pytest.mark.parametrize(
    "words", [("--process", "carving"), ("--layer-mm", "0"), ("--layer-mm", "1e-9"), ("--directions", "0")]
)
def test_an_option_that_cannot_be_meant_is_refused_with_a_remedy(limpet_file, words):
    ran = _run(limpet_file, *words)
    assert isinstance(ran.exception, WorkshopError)
    assert ran.exception.remedy
