"""The table of walls is in docs/mould.md, the settings in docs/job.md; findings are in tests/test_docs.py."""

from dataclasses import fields
from pathlib import Path

import pytest

from firstpour.formulas.plates import HYDROSTATIC_ALPHA
from firstpour.mould.settings import MouldSettings

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "mould.md").read_text(encoding="utf-8")
SETTINGS = (ROOT / "docs" / "job.md").read_text(encoding="utf-8").split("## `[mould]`")[1]


@pytest.mark.parametrize("name", [field.name for field in fields(MouldSettings)])
def test_every_setting_is_in_the_docs_with_its_value(name: str) -> None:
    line = next(line for line in SETTINGS.splitlines() if f"`{name}`" in line)
    assert f"{getattr(MouldSettings(), name):g}" in line


@pytest.mark.parametrize("alpha", HYDROSTATIC_ALPHA)
def test_the_table_of_walls_is_in_the_docs(alpha: float) -> None:
    assert f"{alpha:f}".rstrip("0") in PAGE
