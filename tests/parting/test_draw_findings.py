"""What is said of a draw: which bad news, how bad, and in which words."""

from types import SimpleNamespace as Some

import numpy as np
import pytest

from firstpour.parting.draw_findings import draw_findings
from firstpour.parting.stretch import Give
from firstpour.parting.values import Draw, RankedDraw, Way
from firstpour.values import Severity

HALF = Give(elongation_ratio=1.5)
"""Half its length is allowed for (a third of the elongation)."""


def region(way, *, stretch=None, squeeze=0.0, depth_mm=1.0, at=0.0):
    return Some(
        stretch=Some(way=way, stretch_ratio=stretch, squeeze_ratio=squeeze), depth_mm=depth_mm,
        centre_mm=np.array([at, 2.0, 3.0]),
    )  # fmt: skip


def draw(*regions, locked=0, stretch=0.0):
    row = {
        "direction": np.array([0.0, 0.0, 1.0]), "undercut_mm3": 123.4,
        "locked_loops": locked, "stretch_ratio": stretch, "seam_on_show_mm": 0.0, "height_mm": 9.0, "pitch_mm": 0.1,
    }  # fmt: skip
    if not regions:
        return RankedDraw(**row)
    return Draw(**row, undercut_mm2=1.0, undercut_depth_mm=1.0, regions=regions, reach=np.zeros(4, np.uint8))


def codes(of):
    return [one.code for one in draw_findings(of, HALF)]


def test_nothing_is_said_where_nothing_holds_or_the_draw_was_only_ranked():
    assert codes(draw()) == []
    assert codes(draw(stretch=0.7)) == []
    assert codes(draw(region(Way.TONGUE, stretch=0.0))) == []


def test_a_void_shut_in_says_it_all():
    every = (region(Way.LIP, stretch=0.2), region(Way.SHUT), region(Way.LOOP))
    assert codes(draw(*every, locked=2, stretch=0.2)) == ["enclosed-void"]
    assert codes(draw(region(Way.LIP, stretch=0.2), region(Way.LOOP), locked=1, stretch=0.2)) == [
        "locked",
        "undercut",
    ]


@pytest.mark.parametrize(("loops", "words"), [(1, "a ring of silicone would"), (2, "2 rings of silicone would")])
def test_rings_are_counted_and_the_first_is_shown(loops, words):
    (said,) = draw_findings(draw(region(Way.LIP), region(Way.LOOP, at=7.0), locked=loops), HALF)
    assert said.what.startswith(words)
    assert "7" in said.where
    assert draw_findings(draw(locked=loops), HALF)[0].where is None


def undercut(*regions, stretch):
    (said,) = draw_findings(draw(*regions, stretch=stretch), HALF)
    return said


@pytest.mark.parametrize(("stretch", "severity"), [(0.49, Severity.INFO), (0.51, Severity.WARNING)])
def test_more_stretch_than_is_allowed_for_is_a_warning_with_another_remedy(stretch, severity):
    said = undercut(region(Way.LIP, stretch=stretch), stretch=stretch)
    assert said.severity is severity
    assert ("another draw direction" in said.remedy) is (severity is Severity.WARNING)
    assert ("peel it off slowly" in said.remedy) is (severity is Severity.INFO)
    assert said.what.startswith("123 mm³ of undercut: ")
    assert said.what.endswith("; 50 % is allowed for")


@pytest.mark.parametrize(
    ("worst", "words"),
    [
        (region(Way.LIP, stretch=0.3), "a closed lip stretches by 30 % to pass over a bulge"),
        (region(Way.PLUG, stretch=0.3, squeeze=0.18), "a plug is squeezed by 18 % in a neck and stretches by 30 %"),
        (
            region(Way.TONGUE, stretch=0.3, depth_mm=2.5),
            "a tongue 2.5 mm deep bends or swings out, about 30 %",
        ),
    ],
)
def test_the_worst_undercut_is_told_whichever_comes_first(worst, words):
    """Rings do not stretch at all: they count for nothing here."""
    worst.centre_mm = np.array([9.0, 9.0, 9.0])
    for others in ((region(Way.LIP, stretch=0.1), worst), (worst, region(Way.TONGUE, stretch=0.2))):
        said = undercut(region(Way.LIP), *others, stretch=0.3)
        assert words in said.what
        assert "9" in said.where
