"""The docs against the code: every finding, command, option and key of a job is named in them."""

import ast
import re
from pathlib import Path
from typing import Any

import pytest
import typer.main
from pydantic import BaseModel
from typer.core import TyperGroup

from firstpour.cli.main import app, register_commands
from firstpour.files.checked import keys_of, tables_in
from firstpour.files.job_tables import JobFile
from firstpour.files.workshop_tables import WorkshopTable
from firstpour.materials.figures import FIGURES, FigureName
from firstpour.materials.said import OTHER_NAMES
from firstpour.parting.draw_findings import LOCKED
from firstpour.printing.allowance import FIT_IN_DOUBT

ROOT = Path(__file__).parents[1]
PAGES = {page.name: page.read_text(encoding="utf-8") for page in (ROOT / "docs").glob("*.md")}
ALL_PAGES = "\n".join(PAGES.values())


def strings_in(node: ast.expr) -> set[str]:
    """The codes that an argument may come to: a string, or either end of a choice."""
    if isinstance(node, ast.IfExp):
        return strings_in(node.body) | strings_in(node.orelse)
    return {node.value} if isinstance(node, ast.Constant) and isinstance(node.value, str) else set()


def codes_in(call: ast.Call) -> set[str]:
    """The finding codes that a call names: `code=…`, `….noting(code, …)` or `…(Severity.…, code, …)`."""
    found = {code for given in call.keywords if given.arg == "code" for code in strings_in(given.value)}
    if isinstance(call.func, ast.Attribute) and call.func.attr == "noting":
        found |= strings_in(call.args[0])
    if len(call.args) > 1 and ast.unparse(call.args[0]).startswith("Severity."):
        found |= strings_in(call.args[1])
    return found


def finding_codes() -> list[tuple[str, str]]:
    """Each room with each code in it; those put together from pieces are in the fill's own test."""
    found: set[tuple[str, str]] = set()
    for path in (ROOT / "src" / "firstpour").glob("*/*.py"):
        calls = (node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call))
        found |= {(path.parent.name, code) for call in calls for code in codes_in(call)}
    assert len(found) > 50
    return sorted(found)


def options() -> list[str]:
    """Every command with every option, as typed: `fill --up`."""
    register_commands()

    def below(command: Any, name: str) -> list[str]:
        if isinstance(command, TyperGroup):
            return [line for key, one in command.commands.items() for line in below(one, f"{name} {key}".strip())]
        return [name, *(f"{name} {option.opts[0]}" for option in command.params if option.opts[0].startswith("--"))]

    return below(typer.main.get_command(app), "")


@pytest.mark.parametrize(("room", "code"), finding_codes())
def test_every_finding_is_in_the_one_table(room: str, code: str) -> None:
    assert f"| `{code}` |" in PAGES["findings.md"], room


def test_the_table_lists_no_finding_that_nothing_makes() -> None:
    listed = re.findall(r"^\| `([a-z-]+)` \|", PAGES["findings.md"], re.MULTILINE)
    made = {code for _, code in finding_codes()}
    of_openings = {code for code in listed if code.startswith(("gate-", "vent-"))}  # put together from pieces
    made |= {LOCKED, FIT_IN_DOUBT}
    assert len(listed) == len(set(listed))
    assert set(listed) - made - of_openings == set()


@pytest.mark.parametrize("line", options())
def test_every_command_and_option_is_in_the_docs(line: str) -> None:
    name, _, option = line.partition(" --")
    assert f"firstpour {name}" in ALL_PAGES or f"`{name}" in ALL_PAGES
    assert not option or f"--{option}" in ALL_PAGES


def tables_of(model: type[BaseModel], path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """The path of every table of a file that makers write, its own first."""
    below = [(key, table) for key, one in model.model_fields.items() for table in tables_in(one.annotation)]
    return [path, *(deeper for key, table in below for deeper in tables_of(table, (*path, key)))]


FILES = [(JobFile, path, "job.md") for path in tables_of(JobFile) if path[:1] != ("workshop",)]
FILES += [(WorkshopTable, path, "workshop.md") for path in tables_of(WorkshopTable)]


@pytest.mark.parametrize(("model", "path", "page"), FILES)
def test_every_key_of_a_makers_file_is_on_its_page(model: type[BaseModel], path: tuple[str, ...], page: str) -> None:
    for key in keys_of(model, path):
        named = f"[{'.'.join((*path, key))}]" if (*path, key) in tables_of(model) else f"`{key}`"
        assert named in PAGES[page], named


def test_the_index_names_every_page_and_decision_and_every_link_leads_somewhere() -> None:
    decisions = sorted(path.name for path in (ROOT / "docs" / "decisions").iterdir())
    assert len({name[:4] for name in decisions}) == len(decisions)
    for name in {*PAGES, *(f"decisions/{name}" for name in decisions)} - {"README.md"}:
        assert f"({name})" in PAGES["README.md"]
    for page in (ROOT / "README.md", *(ROOT / "docs").glob("*.md")):
        for link in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / link).exists(), (page.name, link)


def test_every_decision_that_the_code_names_is_there() -> None:
    there = {path.name[:4] for path in (ROOT / "docs" / "decisions").iterdir()}
    named = {n for path in (ROOT / "src").rglob("*.py") for n in re.findall(r"decision (\d{4})", path.read_text())}
    assert named
    assert named <= there


@pytest.mark.parametrize("name", FigureName)
def test_every_figure_of_a_material_is_in_the_docs_with_what_data_sheets_call_it(name: FigureName) -> None:
    row = next(line for line in PAGES["shelf.md"].splitlines() if line.startswith(f"| `{name.value}` |"))
    assert FIGURES[name].what in row
    assert all(word in row for word, meant in OTHER_NAMES.items() if meant is name)
