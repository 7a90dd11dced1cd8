"""What the shelf takes is in docs/shelf.md; its findings and options are in tests/test_docs.py."""

from pathlib import Path

import pytest

from firstpour.materials.feel import WORDS

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "shelf.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("word", WORDS)
def test_every_word_of_feel_is_in_the_docs(word: str) -> None:
    assert word in PAGE
