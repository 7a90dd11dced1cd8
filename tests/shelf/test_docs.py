"""What the shelf says and takes is in docs/shelf.md."""

import re
from pathlib import Path

import pytest
import typer.main
from typer.core import TyperGroup

from firstpour.cli.main import app, register_commands
from firstpour.shelf.feel import WORDS

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "shelf.md").read_text(encoding="utf-8")


def finding_codes() -> list[str]:
    folder = ROOT / "src" / "firstpour" / "shelf"
    found = {code for path in folder.glob("*.py") for code in re.findall(r'code="([a-z-]+)"', path.read_text())}
    assert len(found) > 10
    return sorted(found)


@pytest.mark.parametrize("code", finding_codes())
def test_every_finding_is_in_the_docs(code: str) -> None:
    assert f"`{code}`" in PAGE


def test_every_command_and_option_is_in_the_docs() -> None:
    register_commands()
    group = typer.main.get_command(app)
    assert isinstance(group, TyperGroup)
    shelf = group.commands["shelf"]
    assert isinstance(shelf, TyperGroup)
    for name, command in {**shelf.commands, "mix": group.commands["mix"]}.items():
        assert name in PAGE
        for parameter in command.params:
            options = [*parameter.opts, *parameter.secondary_opts]
            assert not options[0].startswith("--") or any(option in PAGE for option in options), (name, options)


@pytest.mark.parametrize("word", WORDS)
def test_every_word_of_feel_is_in_the_docs(word: str) -> None:
    assert word in PAGE
