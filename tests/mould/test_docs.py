"""What the mould stage says is in docs/mould.md; what it takes is in docs/job.md."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from firstpour.formulas.plates import HYDROSTATIC_ALPHA
from firstpour.mould.settings import MouldSettings

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "mould.md").read_text(encoding="utf-8")
JOB_PAGE = (ROOT / "docs" / "job.md").read_text(encoding="utf-8")


def finding_codes() -> list[str]:
    folder = ROOT / "src" / "firstpour" / "mould"
    text = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    found = {code for line in re.findall(r"code=(.*)", text) for code in re.findall(r'"([a-z-]+)"', line)}
    assert len(found) >= 7
    return sorted(found)


@pytest.mark.parametrize("code", finding_codes())
def test_every_finding_is_in_the_docs(code: str) -> None:
    assert f"| `{code}` |" in PAGE


@pytest.mark.parametrize("name", [field.name for field in fields(MouldSettings)])
def test_every_setting_is_in_the_docs_with_its_value(name: str) -> None:
    line = next(line for line in JOB_PAGE.splitlines() if f"`{name}`" in line)
    assert f"{getattr(MouldSettings(), name):g}" in line


@pytest.mark.parametrize("alpha", HYDROSTATIC_ALPHA)
def test_the_table_of_walls_is_in_the_docs(alpha: float) -> None:
    assert f"{alpha:f}".rstrip("0") in PAGE
