"""Remedies speak of the job; the command line names its own options beside them."""

import ast
import re
from pathlib import Path

import pytest

from firstpour.cli.options_named import COMMANDS, OPTIONS, with_options
from firstpour.errors import BadRequest, next_thing
from firstpour.values import Finding, Severity

SOURCE = Path(__file__).parents[2] / "src" / "firstpour"


def remedies() -> list[tuple[str, str]]:
    """Every remedy that the code states, with the file that states it; what is filled in shows as {}."""
    found = []
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for given in getattr(node, "keywords", []):
                if given.arg == "remedy":
                    found += [(path.relative_to(SOURCE).as_posix(), words) for words in words_in(given.value)]
    assert len(found) > 100
    return found


def words_in(node: ast.expr) -> list[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    if isinstance(node, ast.JoinedStr):
        return ["".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)]
    if isinstance(node, ast.IfExp):
        return words_in(node.body) + words_in(node.orelse)
    return []


def test_no_remedy_outside_the_command_line_names_an_option_or_a_command():
    told = [one for one in remedies() if not one[0].startswith("cli/")]
    assert [one for one in told if re.search(r"--[a-z]|\bfirstpour [a-z]", one[1])] == []


@pytest.mark.parametrize("words", [words for words, _ in (*OPTIONS, *COMMANDS)])
def test_what_stands_for_an_option_is_said_by_some_remedy(words):
    assert [one for one in remedies() if words in one[1]]


def test_an_option_is_named_only_where_the_command_has_it():
    remedy = "name a new folder for the results"
    assert with_options(remedy, has=["--out", "--json"]) == f"{remedy} (--out DIR)"
    assert with_options(remedy, has=["--json"]) == remedy


def test_the_command_line_names_its_option_beside_the_remedy(typed, tmp_path):
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    code, _, err = typed("samples", "--out", tmp_path / "mine.txt")
    assert code == 2
    assert "--out" in err


@pytest.mark.parametrize("remedy", ["Buy a pack.", "buy a pack", " Buy a pack. "])
def test_all_remedies_have_one_voice(remedy):
    assert next_thing(remedy) == "buy a pack"
    assert BadRequest("p", remedy=remedy).remedy == "buy a pack"
    assert Finding(severity=Severity.INFO, code="c", what="w", remedy=remedy).remedy == "buy a pack"


@pytest.mark.parametrize("remedy", ["PVC gives off vapour", "A 30 is softer", "{} is larger", "D 72 will do"])
def test_names_keep_their_capitals(remedy):
    assert next_thing(remedy) == remedy
