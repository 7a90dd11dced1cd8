"""What would let a pour end in time, each remedy by itself against closed forms and plain arithmetic."""

from dataclasses import replace
from math import pi

import pytest

from firstpour.fill.flow_remedies import Remedies, Squeeze, remedies


def poiseuille_pa_s_ml(radius_mm, length_mm, viscosity_pa_s=1.0):
    """8 μ L / (π r⁴) for each m³/s, a millionth of it for each ml/s (any handbook of flow)."""
    return 8.0 * viscosity_pa_s * length_mm * 1e-3 / (pi * (radius_mm * 1e-3) ** 4) / 1e6


ROUND = Squeeze(
    gate_radius_mm=2.0, gate_length_mm=60.0, gate_pa_s_ml=poiseuille_pa_s_ml(2.0, 60.0), cavity_pa_s_ml=0.0,
    most_pa_s_ml=poiseuille_pa_s_ml(2.0, 60.0), viscosity_pa_s=1.0, head_mm=100.0,
)  # fmt: skip


def squeeze(*, gate, cavity=0.0, most, **more):
    """Resistances that have nothing to do with the radius."""
    return replace(ROUND, gate_pa_s_ml=gate, cavity_pa_s_ml=cavity, most_pa_s_ml=most, **more)


def test_what_is_too_much_is_gate_and_cavity_together_and_the_cavity_resists_if_it_alone_is_too_much():
    assert squeeze(gate=300.0, cavity=100.0, most=200.0).short_ratio == pytest.approx(2.0)
    assert [squeeze(gate=1.0, cavity=c, most=200.0).cavity_resists for c in (199.0, 200.0, 201.0)] == [
        False, True, True,
    ]  # fmt: skip


@pytest.mark.parametrize("viscosity_pa_s", [1.0, 3.0])
@pytest.mark.parametrize(("wanted_mm", "length_mm"), [(4.0, 60.0), (10.0, 60.0), (6.0, 20.0), (12.0, 20.0)])
def test_a_gate_is_widened_until_it_resists_no_more_than_the_cavity_leaves(wanted_mm, length_mm, viscosity_pa_s):
    """A gate of 20 mm is reckoned 4 r long once it is wider than 5."""
    gate = poiseuille_pa_s_ml(wanted_mm * (1.0 - 1e-9), max(length_mm, 4.0 * wanted_mm), viscosity_pa_s)
    asked = replace(
        ROUND, gate_length_mm=length_mm, cavity_pa_s_ml=70.0, most_pa_s_ml=70.0 + gate, viscosity_pa_s=viscosity_pa_s
    )
    assert remedies(asked).gate_radius_mm == pytest.approx(wanted_mm, rel=1e-5)


@pytest.mark.parametrize(
    "changes",
    [
        {"most_pa_s_ml": 1.01 * ROUND.gate_pa_s_ml},
        {"most_pa_s_ml": poiseuille_pa_s_ml(12.1, 60.0)},
        {"most_pa_s_ml": poiseuille_pa_s_ml(4.0, 60.0), "widest_gate_mm": 3.9},
        {"most_pa_s_ml": poiseuille_pa_s_ml(4.0, 60.0), "widest_gate_mm": 2.0},
        {"most_pa_s_ml": 100.0, "cavity_pa_s_ml": 100.0},
    ],
)
def test_no_wider_gate_is_offered_where_none_is_needed_or_none_that_the_part_has_room_for_does(changes):
    assert remedies(replace(ROUND, **changes)).gate_radius_mm is None


@pytest.mark.parametrize(
    ("gate", "cavity", "most", "gates"),
    [
        (1000.0, 0.0, 500.0, 2), (1000.0, 0.0, 499.0, 3), (1000.0, 0.0, 250.0, 4), (1000.0, 0.0, 249.0, None),
        (600.0, 900.0, 525.0, 2), (600.0, 900.0, 524.0, 3), (600.0, 900.0, 300.0, 3), (600.0, 900.0, 299.0, 4),
        (600.0, 900.0, 207.0, 4), (600.0, 900.0, 206.0, None),
    ],
)  # fmt: skip
def test_gates_share_the_volume_and_its_length_up_to_four(gate, cavity, most, gates):
    """R_g / n + R_c / n²: 600 and 900 are 525, 300 and 206.25 with two, three and four."""
    assert remedies(squeeze(gate=gate, cavity=cavity, most=most)).gates == gates


@pytest.mark.parametrize(
    ("gate", "cavity", "most", "ratio"),
    [
        (1.0, 800.0, 202.0, 2.0), (10.0, 360.0, 70.0, 3.0), (10.0, 360.0, 69.0, None), (1.0, 800.0, 801.0, None),
        (100.0, 400.0, 300.5, 1.95), (100.0, 400.0, 299.5, None), (500.0, 100.0, 550.0, None),
    ],
)  # fmt: skip
def test_a_section_is_grown_up_to_three_times_while_that_helps(gate, cavity, most, ratio):
    """R_g f + R_c / f²: 2 + 200, 30 + 40; 100 f + 400 / f² is least, 300, at 2, and 500 f + 100 / f² only grows."""
    found = remedies(squeeze(gate=gate, cavity=cavity, most=most)).thicker_ratio
    assert found == (None if ratio is None else pytest.approx(ratio, abs=0.03))
    if found is not None:
        assert gate * found + cavity / found**2 == pytest.approx(most, rel=1e-4)


@pytest.mark.parametrize(
    ("short", "viscosity", "slower", "head"),
    [
        (0.9, 1.0 / 0.9, None, None), (1.0, 1.0, None, None), (3.9, 1.0 / 3.9, 3.9, 390.0),
        (4.1, 1.0 / 4.1, 4.1, None), (19.9, 1.0 / 19.9, 19.9, None), (20.1, 1.0 / 20.1, None, None),
        (33.0, 1.0 / 33.0, None, None), (34.0, None, None, None),
    ],
)  # fmt: skip
def test_viscosity_pot_life_and_head_go_with_the_resistance_within_what_is_worth_naming(
    short, viscosity, slower, head
):
    """Of 1 Pa·s under 100 mm: to 0.03 Pa·s, 20 times the pot life and 400 mm (our own limits, decision 0016)."""
    found = remedies(squeeze(gate=short * 200.0, most=200.0))
    assert found.viscosity_pa_s == (None if viscosity is None else pytest.approx(viscosity))
    assert found.slower_ratio == (None if slower is None else pytest.approx(slower))
    assert found.head_mm == (None if head is None else pytest.approx(head))


NOTHING = Remedies(
    gate_radius_mm=None, gates=None, thicker_ratio=None, viscosity_pa_s=None, slower_ratio=None, head_mm=None
)
GOES = squeeze(gate=300.0, cavity=10.0, most=200.0)


@pytest.mark.parametrize(
    ("one", "said"),
    [
        ({"head_mm": 123.2}, "raise the head to 124 mm"),
        ({"gate_radius_mm": 2.21}, "widen the gate to 4.5 mm across"),
        ({"gates": 3}, "give it 3 gates, spread over its length"),
        ({"slower_ratio": 1.21}, "take a slower mix (1.3 times the pot life)"),
        ({"slower_ratio": 1.2}, "take a slower mix (1.2 times the pot life)"),
        ({"viscosity_pa_s": 0.5}, "take a thinner mix (at most 0.5 Pa·s as it goes in)"),
        ({"thicker_ratio": 1.41}, "make the section 1.5 times as thick"),
        ({}, "split the part into pieces that are poured apart"),
    ],
)
def test_each_remedy_is_said_by_itself_and_never_rounded_to_too_little(one, said):
    assert replace(NOTHING, **one).words(GOES) == said


def test_all_are_said_the_least_trouble_first_and_where_the_cavity_resists_that_no_gate_helps():
    both = replace(NOTHING, head_mm=200.0, thicker_ratio=2.0)
    assert both.words(GOES) == "raise the head to 200 mm, or make the section 2.0 times as thick"
    shut = squeeze(gate=1.0, cavity=300.0, most=200.0)
    assert NOTHING.words(shut).startswith("no gate helps, the cavity itself resists: press it in by syringe or lift")
    assert NOTHING.words(shut).endswith("by vacuum, each within its rating")
