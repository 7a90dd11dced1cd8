"""The bench at the command line: a part made by typed words alone, as a script would."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from firstpour.cli.main import app, register_commands
from firstpour.errors import BadRequest
from firstpour.results import SavedPlan

register_commands()


@pytest.fixture(autouse=True)
def own_shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shelf").mkdir()
    monkeypatch.setenv("FIRSTPOUR_SHELF", str(tmp_path / "shelf"))
    monkeypatch.delenv("FIRSTPOUR_STORE", raising=False)


@pytest.fixture
def folder(demo: SavedPlan, tmp_path: Path) -> Path:
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan" / "plan.json").write_text(demo.entry.model_dump_json(), encoding="utf-8")
    return tmp_path / "plan"


def words(*typed: str, answers: str = "") -> str:
    result = CliRunner().invoke(app, list(typed), input=answers)
    assert result.exit_code in (0, 1), (result.output, result.exception)
    return result.stdout


def answer(*typed: str) -> Any:
    return json.loads(words(*typed, "--json"))


def refused(*typed: str) -> BadRequest:
    result = CliRunner().invoke(app, list(typed))
    assert isinstance(result.exception, BadRequest), result.output
    return result.exception


def to_kind(kind: str) -> Any:
    state = answer("bench", "show")
    while state["step"]["kind"] != kind:
        weigh = state["step"]["weigh"]
        if weigh:
            state = answer("bench", "weigh", f"{weigh['a_g']} + {weigh['b_g']}")["state"]
        else:
            state = answer("bench", "next")
    return state


def test_a_copy_is_made_by_typed_words(folder: Path) -> None:
    plan = answer("bench", "keep", str(folder))["plan"]
    assert answer("bench", "plans")["plans"][0]["parts"] == ["sea star", "limpet", "porthole ring", "bollard"]
    answer("bench", "start", str(plan), "limpet", "--temperature-c", "22")
    weigh = to_kind("weigh")["step"]["weigh"]
    off = answer("bench", "weigh", f"{weigh['a_g']} + {0.9 * weigh['b_g']}")
    assert off["weighed"]["verdict"] == "add B"
    to_kind("stir together")
    clocks = answer("bench", "next")["clocks"]
    assert [one["kind"] for one in clocks] == ["pot life"]
    assert answer("bench", "clocks")["clocks"][0]["ends_at"] == clocks[0]["ends_at"]
    to_kind("say what came out")
    state = answer("bench", "outcome", "flash @ along")
    assert (state["good"], state["spoiled"], state["moulds"][0]["shots"]) == (0, 1, 1)
    dates = state["dates"]
    assert dates["not_known"] == ""
    assert dates["before"] != dates["all_done_at"]
    shown = answer("bench", "days")
    assert shown["rounds"]["limpet"] == dates["rounds"] > 8
    assert "Last copy: " in words("bench", "days", str(plan))
    assert answer("bench", "why")["causes"][0]["cause"] == "gaping"
    assert "the mould gaped" in words("bench", "why")
    assert answer("bench", "undo")["spoiled"] == 0
    assert "Last copy of Tide pool: " in words("bench", "outcome", "good")
    assert answer("bench", "undo")["spoiled"] == 0
    assert answer("bench", "outcome", "good")["good"] == 1
    assert "1 of 8 good" in words("bench", "list")
    assert answer("bench", "stop")["done"]
    assert answer("bench", "list")["sessions"] == []
    assert not answer("bench", "undo")["done"]


def test_a_session_is_walked_through_at_the_screen(folder: Path) -> None:
    words("bench", "keep", str(folder))
    words("bench", "start", "1", "limpet")
    shown = words("bench", "walk", answers="\n\nu\nc\nq\n")
    assert shown.count("off the printer") >= 3
    assert answer("bench", "show")["step"]["title"] == "Take tray-upper off the printer"


def test_what_cannot_be_meant_is_told(folder: Path) -> None:
    assert "no session is open" in refused("bench", "show").problem
    words("bench", "keep", str(folder))
    words("bench", "start", "1", "limpet")
    assert "not said" in refused("bench", "outcome").problem
    assert "asks for" not in refused("bench", "weigh", "12").problem
    words("bench", "start", "1", "bollard")
    assert "2 sessions are open" in refused("bench", "next").problem
    words("bench", "note", "room", "21.5", "°C", "--session", "2")
    words("bench", "clock", "warm the cans", "30", "--session", "2")
    assert "warm the cans" in words("bench", "clocks")


def test_all_of_it_goes_into_a_zip_and_out_again(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words("bench", "keep", str(folder))
    words("bench", "start", "1", "limpet")
    state = answer("bench", "next")
    rows = answer("store", "export", str(tmp_path / "all.zip"))["rows"]
    monkeypatch.setenv("FIRSTPOUR_SHELF", str(tmp_path / "other"))
    assert answer("store", "where")["version"] is None
    assert answer("store", "import", str(tmp_path / "all.zip"))["rows"] == rows
    assert answer("bench", "show")["log"] == state["log"]


def test_the_store_of_one_command_is_where_the_option_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIRSTPOUR_STORE", str(tmp_path / "by-setting"))
    assert answer("store", "where")["store"] == str(tmp_path / "by-setting" / "workshop.sqlite3")
    told = json.loads(words("--store", str(tmp_path / "by-option"), "store", "where", "--json"))
    assert told["store"] == str(tmp_path / "by-option" / "workshop.sqlite3")
    assert "is no store" in refused("--store", "mailto://nobody", "store", "where").problem
