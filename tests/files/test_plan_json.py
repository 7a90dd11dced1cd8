"""plan.json: its published schema, and what it refuses."""

import importlib
import json
from datetime import date
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from pydantic import ValidationError

from files_shapes import circle_mm, finding, knob_part
from firstpour.files.catalogue import load_catalogue
from firstpour.files.entry import finding_entries, loop_length_mm
from firstpour.files.plan_json import PlanEntry, TotalsEntry, schema_text
from firstpour.files.results import files_of_earlier_plan
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job, PartRequest
from firstpour.results import plan_into
from firstpour.stock.demo_stock import demo_stock
from firstpour.values import Severity
from firstpour.workshop.workshop import Workshop

SCHEMA = Path(__file__).parents[2] / "docs" / "plan.schema.json"


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory) -> Path:
    """A plan of the knob with its materials, written."""
    folder = tmp_path_factory.mktemp("plan")
    part_file = folder / "knob.stl"
    part_file.write_bytes(stl_bytes(knob_part().mesh))
    request = PartRequest(name="knob", file=part_file, copies=3, draw=(0.0, 0.0, 1.0), hardness="rigid")
    today = date(2027, 3, 1)
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=today), today=today)
    job = Job(name="knobs", parts=(request,))
    plan_into(job, folder / "out", progress=lambda *_: None, workshop=workshop)
    return folder / "out" / "plan.json"


def test_the_published_schema_is_current():
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(), "run python tools/publish.py"


def test_the_schema_is_itself_valid():
    jsonschema.Draft202012Validator.check_schema(json.loads(schema_text()))


def test_a_written_plan_is_valid_by_the_published_schema(plan_file):
    plan = json.loads(plan_file.read_text(encoding="utf-8"))
    jsonschema.validate(plan, json.loads(SCHEMA.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("table", "keys"),
    [
        ("measure", "faces watertight bodies volume_mm3 area_mm2 size_mm findings"),
        ("chosen_draw", "direction undercut_mm3 undercut_mm2 undercut_depth_mm seam_on_show_mm"),
        ("mould", "kind draw pieces silicone_ml casting_ml findings"),
    ],
)
def test_the_keys_that_stay_stable_are_there(table, keys, plan_file):
    part = json.loads(plan_file.read_text(encoding="utf-8"))["parts"][0]
    assert set(keys.split()) <= set(part[table])
    assert {"name", "role", "file", "volume_mm3", "watertight"} <= set(part["mould"]["pieces"][0])


def test_a_plan_with_a_key_too_many_or_too_few_is_not_valid(plan_file):
    schema = json.loads(schema_text())
    plan = json.loads(plan_file.read_text(encoding="utf-8"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**plan, "extra": 1}, schema)
    del plan["parts"][0]["mould"]["silicone_ml"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(plan, schema)


def test_a_plan_reads_back_as_it_was_written(plan_file):
    text = plan_file.read_text(encoding="utf-8")
    assert PlanEntry.model_validate_json(text).model_dump_json(indent=2) + "\n" == text


def test_a_written_plan_is_known_as_ours(plan_file):
    there = {file.relative_to(plan_file.parent).as_posix() for file in plan_file.parent.rglob("*") if file.is_file()}
    assert files_of_earlier_plan(plan_file.parent) == there


def test_no_table_is_left_untyped():
    """Every object of the schema names its keys, or says what its values are."""

    def untyped(node, path=""):
        if isinstance(node, dict):
            if (
                node.get("type") == "object"
                and "properties" not in node
                and node.get("additionalProperties") in (None, True)
            ):
                yield path
            for key, value in node.items():
                yield from untyped(value, f"{path}/{key}")
        elif isinstance(node, list):
            for number, value in enumerate(node):
                yield from untyped(value, f"{path}/{number}")

    assert list(untyped(json.loads(schema_text()))) == []


def test_a_figure_that_is_no_number_is_refused():
    with pytest.raises(ValidationError):
        TotalsEntry(silicone_ml=float("nan"), casting_ml=0.0, print_ml=0.0)


def test_the_worst_finding_comes_first():
    order = (Severity.INFO, Severity.ERROR, Severity.WARNING, Severity.ERROR)
    told = finding_entries([finding(severity, str(n)) for n, severity in enumerate(order)])
    assert [entry.what for entry in told] == ["1", "3", "2", "0"]


def test_the_length_of_a_closed_line_is_that_of_its_circle():
    circle = circle_mm(10.0, count=2000)
    assert loop_length_mm(circle) == pytest.approx(2 * np.pi * 10.0, rel=1e-5)
    assert loop_length_mm(np.concatenate([circle, circle[:1]])) == pytest.approx(loop_length_mm(circle))


def test_the_page_of_keys_is_current(monkeypatch):
    tools = SCHEMA.parents[1] / "tools"
    monkeypatch.syspath_prepend(str(tools))
    page = importlib.import_module("plan_json_page").page()
    assert (SCHEMA.parent / "plan-json.md").read_text(encoding="utf-8") == page, "run python tools/publish.py"
