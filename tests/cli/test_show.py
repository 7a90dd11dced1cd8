"""How results are shown: JSON that is JSON, tables that fit, codes that tell."""

import io
import json
import math
import sys
import time
from dataclasses import dataclass

import numpy as np
import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st

from files_shapes import finding
from firstpour.cli import show
from firstpour.errors import BadRequest
from firstpour.units import LengthUnit
from firstpour.values import Severity


@dataclass(frozen=True)
class Sized:
    size_mm: object
    unit: LengthUnit


def test_json_holds_arrays_enums_and_null_for_what_is_not_finite(capsys):
    show.print_json(
        {"a": Sized(size_mm=np.array([1.0, np.inf]), unit=LengthUnit.CM), "n": np.int32(3), "nan": math.nan}
    )
    out = capsys.readouterr()
    assert json.loads(out.out) == {"a": {"size_mm": [1.0, None], "unit": "cm"}, "n": 3, "nan": None}
    assert out.err == ""


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(), st.lists, max_leaves=10))
def test_anything_plain_survives_as_json(value):
    text = json.dumps(show.plain({"value": value}), allow_nan=False)
    assert set(json.loads(text)) == {"value"}


def test_tables_fit_eighty_columns(capsys):
    rows = [["a part with quite a long name " * 3, "1, 0.001, -0.1", "1000 mm³", "12 ml"]]
    show.print_table("Moulds", ["part", "draw", "undercut", "silicone"], rows)
    show.print_findings([finding(Severity.ERROR, "long words " * 20)])
    out = capsys.readouterr().out
    assert "1, 0.001, -0.1" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_words_in_brackets_are_shown_as_they_are(capsys):
    show.print_table("t", ["name"], [["[red]lug[/red]"]])
    show.print_words("part [1]")
    show.print_findings([finding(Severity.INFO, "[bold]x")])
    out = capsys.readouterr().out
    assert "[red]lug[/red]" in out
    assert "part [1]" in out
    assert "[bold]x" in out


def test_findings_come_worst_first_with_their_remedy(capsys):
    show.print_findings(
        [finding(Severity.INFO, "one"), finding(Severity.ERROR, "two"), finding(Severity.WARNING, "three")]
    )
    out = capsys.readouterr().out
    assert out.index("two") < out.index("three") < out.index("one")
    assert out.count("To do: add a vent there") == 3


def test_no_findings_show_nothing(capsys):
    show.print_findings([])
    show.print_table("t", ["a"], [])
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize(("severity", "code"), [(Severity.INFO, 0), (Severity.WARNING, 0), (Severity.ERROR, 1)])
def test_only_an_error_ends_with_one(severity, code):
    if code == 0:
        assert show.end([finding(severity)]) is None
        return
    with pytest.raises(typer.Exit) as caught:
        show.end([finding(Severity.INFO), finding(severity)])
    assert caught.value.exit_code == code


@pytest.mark.parametrize("words", ["", "1,2", "1,2,3,4", "0,0,0", "a,b,c", "1,nan,0", "inf,0,0"])
def test_what_is_not_a_direction_is_told(words):
    with pytest.raises(BadRequest, match="--direction"):
        show.direction_from(words, option="--direction")


@given(st.floats(-1e9, 1e9))
def test_an_amount_is_never_shown_as_nothing_when_there_is_some(value):
    shown = show.amount(value, "ml")
    assert (shown == "0 ml") == (value == 0.0)
    assert shown.endswith(" ml")


class Screen(io.StringIO):
    """A stderr that is a terminal."""

    def isatty(self) -> bool:
        return True


def test_short_work_shows_no_progress(capsys):
    with show.progress("job") as told:
        told(1, 2, "half")
    assert capsys.readouterr().err == ""


def test_long_work_is_told_on_stderr_alone(capsys, monkeypatch):
    monkeypatch.setattr(show, "PATIENCE_S", 0.0)
    with show.progress("job") as told:
        told(1, 2, "half")
    out = capsys.readouterr()
    assert (out.out, out.err) == ("", "job: 1 of 2, half\n")


def test_a_first_step_that_takes_long_is_told_while_it_runs(monkeypatch):
    """As the compiling of a first run: there is nothing to tell between its begin and its end."""
    stderr = io.StringIO()
    monkeypatch.setattr(show, "PATIENCE_S", 0.01)
    monkeypatch.setattr(sys, "stderr", stderr)
    with show.progress("job") as told:
        told(0, 4, "getting ready")
        deadline = time.monotonic() + 5.0
        while not stderr.getvalue() and time.monotonic() < deadline:
            time.sleep(0.01)
        assert stderr.getvalue() == "job: 0 of 4, getting ready\n"
    assert stderr.getvalue().count("\n") == 1


def test_on_a_terminal_a_bar_shows_after_a_while_and_goes_away(capsys, monkeypatch):
    screen = Screen()
    monkeypatch.setattr(show, "PATIENCE_S", 0.01)
    monkeypatch.setattr(sys, "stderr", screen)
    with show.progress("job") as told:
        told(1, 3, "first")
        deadline = time.monotonic() + 5.0
        while told.waiting and time.monotonic() < deadline:
            time.sleep(0.01)
        told(2, 3, "second")
    assert "second" in screen.getvalue()
    assert capsys.readouterr().out == ""
