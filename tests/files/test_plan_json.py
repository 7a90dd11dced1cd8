"""plan.json: its published schema, and what it refuses."""

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from pydantic import ValidationError

from files_shapes import circle_mm, finding, knob_mould, knob_part
from firstpour.files.pieces import write_pieces
from firstpour.files.plan_json import (
    DirectionsEntry,
    JobEntry,
    PartEntry,
    PlanEntry,
    TotalsEntry,
    draw_entry,
    finding_entries,
    loop_length_mm,
    measure_entry,
    mould_entry,
    schema_text,
    write_plan,
)
from firstpour.files.results import files_of_earlier_plan
from firstpour.part.measure import measure_part
from firstpour.values import Severity

SCHEMA = Path(__file__).parents[2] / "docs" / "plan.schema.json"


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory) -> Path:
    """A plan of the knob, written."""
    folder = tmp_path_factory.mktemp("plan")
    mould = knob_mould(findings=(finding(Severity.WARNING),))
    pieces = write_pieces(folder, mould.pieces, below=Path("pieces"))
    part = PartEntry(
        name="knob",
        source=None,
        copies=3,
        measure=measure_entry(measure_part(knob_part())),
        draw=DirectionsEntry(directions=[draw_entry(mould.draw)]),
        chosen_draw=draw_entry(mould.draw),
        mould=mould_entry(mould, pieces, print_file="pieces/to-print.3mf"),
        fill=None,
        flow=None,
        master={},
        materials=None,
        pictures=[],
    )
    plan = PlanEntry(
        job=JobEntry(name="knobs", due=None, printer_mm=(200.0, 200.0, 200.0)),
        parts=[part],
        to_have=[],
        to_lay_out=[],
        totals=TotalsEntry(silicone_ml=1.0, casting_ml=2.0, print_ml=3.0),
        findings=finding_entries(mould.findings),
        files=["plan.json", "pieces/upper-tray.stl"],
    )
    write_plan(folder, plan)
    return folder / "plan.json"


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
    assert files_of_earlier_plan(plan_file.parent) == {"plan.json", "pieces/upper-tray.stl"}


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
