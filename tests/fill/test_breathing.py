"""What is poured, as gates and vents must know it, and which gate breathes while it is full of it."""

import numpy as np
import pytest

from fill_shapes import UP, box, part_of
from firstpour.fill.breathing import Mix, breath_of, mix_of
from firstpour.fill.cavity import cut_cavity
from firstpour.fill.values import Channel, ChannelUse
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from shelf_samples import shipped

SHIPPED = shipped()


def test_a_mix_is_as_thick_as_its_record_says_and_a_filler_makes_it_thicker_and_heavier():
    material = SHIPPED.get("rigid-plastic-d75-slow")
    plain = mix_of(material)
    assert plain.viscosity_pa_s == pytest.approx(material.figures[FigureName.VISCOSITY].value)
    filled = mix_of(material, (Additive(material=SHIPPED.get("mineral-filler"), dose_ratio=0.5),))
    assert filled.viscosity_pa_s > 1.2 * plain.viscosity_pa_s
    assert filled.density_g_ml > 1.1 * plain.density_g_ml


def test_no_mix_is_made_up_where_no_viscosity_is_known():
    assert mix_of(SHIPPED.get("sulphur-clay")) is None


def round_gate(radius_mm, *, foot_radius_mm=0.0):
    return Channel(
        use=ChannelUse.GATE, path_mm=np.array([[0.0, 0.0, 20.0], [0.0, 0.0, 40.0]]), radius_start_mm=radius_mm,
        radius_end_mm=2.0 * radius_mm, foot_radius_mm=foot_radius_mm,
    )  # fmt: skip


def holding(volume_ml, *, height_mm=20.0):
    """A square box that holds so much, off the origin and not as high as it is wide."""
    side = np.sqrt(1000.0 * volume_ml / height_mm)
    return cut_cavity(part_of(box((5, 5, 100), (5 + side, 5 + side, 100 + height_mm))), UP, resolution=48)


@pytest.mark.parametrize(
    ("gate", "mix", "limit_ml"),
    [
        (round_gate(5.0), Mix(viscosity_pa_s=2.0), 16.8),
        (round_gate(9.0, foot_radius_mm=5.0), Mix(viscosity_pa_s=2.0), 16.8),
        (round_gate(5.0, foot_radius_mm=9.0), Mix(viscosity_pa_s=2.0), 16.8),
        (round_gate(5.0), None, 33.6),
        (round_gate(4.0), Mix(viscosity_pa_s=5.0, density_g_ml=1.0), 1.9),
    ],
)
def test_a_gate_breathes_if_one_long_bubble_after_the_other_empties_the_cavity_in_a_minute(gate, mix, limit_ml):
    """Thick liquids: a bubble climbs at 0.01 ρ g D² / μ, less for surface tension: 3.57 mm/s at 10 mm, 2 Pa·s
    and 1.05 g/ml (Wallis 1969 ch. 10, from memory). By π D² / 4 that is 0.28 ml/s, 16.8 ml a minute; at 1 Pa·s twice
    that, as of a typical mix; at 8 mm, 5 Pa·s and 1 g/ml 0.63 mm/s and 1.9 ml."""
    mix = mix or Mix()
    assert breath_of(holding(0.93 * limit_ml), gate, mix=mix).serves
    assert not breath_of(holding(1.07 * limit_ml), gate, mix=mix).serves
