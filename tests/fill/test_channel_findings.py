"""What is said of gates, vents and the air that stays: the words and figures by hand."""

from types import SimpleNamespace as Some

import numpy as np
import pytest

from fill_shapes import UP
from firstpour.fill.channel_findings import air_findings, below_top_finding, gate_findings, vent_findings
from firstpour.fill.values import Channel, ChannelUse, MadeAs, PlaceKind
from firstpour.fill.vents import Accepted

PATH_MM = np.array([[0.0, 0.0, 20.0], [0.0, 0.0, 40.0]])


def channel(use=ChannelUse.GATE, **more):
    known = {"radius_start_mm": 3.0, "radius_end_mm": 6.0, "place": PlaceKind.HIDDEN, "reason": "2 mm below the top"}
    return Channel(use=use, path_mm=PATH_MM, **{**known, **more})


def codes(found):
    return [one.code for one in found]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, []), ({"sink_mm": 2.9}, []), ({"sink_mm": 3.0}, []), ({"sink_mm": 3.5}, ["gate-on-tip"]),
        ({"made_as": MadeAs.LOOSE_ROD}, ["gate-lone"]), ({"place": PlaceKind.SHOW}, ["gate-show"]),
        ({"radius_start_mm": 2.5}, []), ({"radius_start_mm": 2.3}, ["gate-narrowed"]),
    ],
)  # fmt: skip
def test_of_a_gate_is_told_what_leaves_a_mark_is_left_inside_or_was_narrowed_by_more_than_a_fifth(more, told):
    assert codes(gate_findings(channel(**more), asked_mm=3.0)) == told


@pytest.mark.parametrize(
    ("more", "told"),
    [({}, []), ({"made_as": MadeAs.DRILLED}, ["vent-drilled"]), ({"radius_start_mm": 0.7}, ["vent-narrowed"])],
)
def test_of_a_vent_is_told_how_it_is_made(more, told):
    found = vent_findings(channel(ChannelUse.VENT, **{"radius_start_mm": 1.0, **more}), asked_mm=1.0)
    assert codes(found) == told
    assert all("2.0 mm across" in one.what for one in found if one.code == "vent-drilled")


def pocket(top_mm, volume_mm3, *, show_mm3=0.0):
    return Some(top_mm=top_mm * UP, volume_mm3=volume_mm3, show_mm3=show_mm3, on_show=show_mm3 > 0.01 * volume_mm3)


@pytest.mark.parametrize(
    ("top_mm", "pitch_mm", "told"), [(22.0, 0.3, True), (20.4, 0.3, False), (20.6, 0.3, True), (20.6, 0.7, False)]
)
def test_a_gate_half_a_millimetre_or_a_line_below_the_top_says_what_air_is_above_it(top_mm, pitch_mm, told):
    """Two lines of the grid: from 0 to 10 mm, and from 0 to the top."""
    cavity = Some(up=UP, dexels=Some(z_mm=np.array([0.0, 10.0, 0.0, top_mm]), pitch_mm=pitch_mm))
    alone = Some(pockets=(pocket(21.0, 280.0), pocket(20.5, 8.0), pocket(15.0, 99.0)))
    found = below_top_finding(cavity, channel(), alone)
    assert codes(found) == ["gate-below-top"] * told
    if told:
        assert found[0].what.startswith("the gate lies 2 mm below the top; 288.0 mm³ of air")


def test_five_pockets_are_named_and_the_rest_counted_with_their_air():
    """Four mm³ may stay, and a tenth of one on show."""
    few = [pocket(n, 10.0 + n) for n in range(3)]
    assert codes(air_findings(Some(pockets=[*few, pocket(9.0, 3.9)]), Accepted())) == ["air-stays"] * 3
    shown = pocket(1.0, 3.0, show_mm3=2.0)
    (one,) = air_findings(Some(pockets=[shown]), Accepted())
    assert one.what == "3.00 mm³ of air stay on a show face"
    (other,) = air_findings(Some(pockets=[pocket(1.0, 6.0)]), Accepted())
    assert other.what == "6.00 mm³ of air stay"
    found = air_findings(Some(pockets=[pocket(n, 10.0 + n) for n in range(7)]), Accepted())
    assert codes(found) == ["air-stays"] * 5 + ["more-air-stays"]
    assert found[-1].what == "2 more pockets hold 31.0 mm³ of air"
    five = air_findings(Some(pockets=[pocket(n, 10.0) for n in range(5)]), Accepted())
    assert codes(five) == ["air-stays"] * 5
