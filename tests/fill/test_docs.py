"""Findings of the fill whose codes are put together; the others are in tests/test_docs.py."""

from pathlib import Path

import pytest

from firstpour.fill.values import ChannelUse, PlaceKind

PAGE = (Path(__file__).parents[2] / "docs" / "findings.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("use", ChannelUse)
@pytest.mark.parametrize("what", [PlaceKind.SHOW, PlaceKind.KEEP_CLEAR, "blocked", "narrowed"])
def test_what_is_said_of_a_gate_or_a_vent_is_in_the_docs(use: ChannelUse, what: str) -> None:
    assert f"`{use}-{what}`" in PAGE
