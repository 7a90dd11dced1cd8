"""The chart in time: rows, legible without colour, long names, the same bytes for the same schedule."""

import io
import xml.etree.ElementTree as ET
from datetime import UTC, date, datetime, timedelta

import matplotlib.colors
import numpy as np
import pytest
from PIL import Image

from firstpour.pictures.gantt_chart import HANDS, ITSELF, LONGEST_WORDS, MACHINE, Bar, Marks, gantt_chart, short_words
from firstpour.pictures.route_chart import ChartKind

START = datetime(2027, 3, 1, 18, tzinfo=UTC)
MARKS = Marks(first_proof_at=START + timedelta(days=2), all_done_at=START + timedelta(days=9), due=date(2027, 3, 9))


def bars(count=3):
    return [
        Bar(
            row=f"sea star, mould {n}",
            start=START + timedelta(days=n),
            end=START + timedelta(days=n + 1, hours=3),
            hands=n % 3 == 0,
            printing=n % 3 == 1,
        )
        for n in range(count)
    ]


def test_every_row_and_mark_stands_in_the_svg_as_words_once_and_again_the_same():
    content = gantt_chart("Tide pool", bars(), MARKS, ChartKind.SVG)
    assert ET.fromstring(content).tag.endswith("svg")
    words = content.decode()
    for said in (
        "sea star, mould 0",
        "sea star, mould 2",
        "first proof",
        "last copy",
        "due 9 Mar",
        "needs your hands",
    ):
        assert said in words
    assert content == gantt_chart("Tide pool", bars(), MARKS, ChartKind.SVG)


def test_more_rows_make_a_taller_picture():
    heights = [
        Image.open(io.BytesIO(gantt_chart("Tide pool", bars(n), MARKS, ChartKind.PNG))).height for n in (3, 30)
    ]
    assert heights[1] > 2 * heights[0]


def test_hands_printers_and_cures_are_told_apart_in_grey():
    """Rec. 709 luma; a fifth of the scale apart is seen in print (our own choice)."""
    luma = [
        float(np.dot(matplotlib.colors.to_rgb(one), (0.2126, 0.7152, 0.0722))) for one in (HANDS, MACHINE, ITSELF)
    ]
    assert luma == sorted(luma)
    assert min(np.diff(luma)) > 0.15


@pytest.mark.parametrize("length", [5, LONGEST_WORDS, LONGEST_WORDS + 1, 300])
def test_long_names_are_cut_in_their_middle(length):
    words = short_words("x" * (length - 1) + "9")
    assert len(words) <= LONGEST_WORDS
    assert words.endswith("9")


def test_a_job_with_nothing_to_do_is_drawn():
    assert gantt_chart("Nothing", [], MARKS, ChartKind.PNG).startswith(b"\x89PNG")
