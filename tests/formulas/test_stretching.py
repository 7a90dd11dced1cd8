"""Stretch of lips, plugs and tongues: closed forms, limits and order."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import OutOfRange
from firstpour.formulas.stretching import (
    bent_tongue_ratio,
    lip_stretch_ratio,
    plug_squeeze_ratio,
    plug_stretch_ratio,
    silicone_share_ratio,
    swung_wall_ratio,
)

lengths = st.floats(0.5, 500.0)


def test_a_plug_of_44_through_36_is_squeezed_by_18_per_cent():
    """The worked case of this project: (44 − 36) / 44."""
    assert plug_squeeze_ratio(plug_mm=44.0, neck_mm=36.0) == pytest.approx(0.1818, abs=1e-4)


@given(lip_mm=lengths, bulge_mm=lengths)
@settings(deadline=None)
def test_a_lip_stretches_to_the_length_of_the_bulge(lip_mm, bulge_mm):
    stretch = lip_stretch_ratio(lip_mm=lip_mm, bulge_mm=bulge_mm)
    assert lip_mm * (1 + stretch) == pytest.approx(max(lip_mm, bulge_mm))


@given(squeeze=st.floats(0.0, 0.9))
@settings(deadline=None)
def test_a_plug_keeps_its_volume(squeeze):
    """λ of the length times λ² of the width is 1."""
    assert (1 + plug_stretch_ratio(squeeze)) * (1 - squeeze) ** 2 == pytest.approx(1.0)


@pytest.mark.parametrize("squeeze", [-0.1, 1.0, math.nan])
def test_a_plug_squeezed_to_nothing_is_refused(squeeze):
    with pytest.raises(OutOfRange):
        plug_stretch_ratio(squeeze)


def test_a_strip_bent_about_its_own_thickness_is_stretched_by_a_half():
    """ε = t / 2ρ (any handbook of strength): here ρ = t, so the length bent is π t."""
    assert bent_tongue_ratio(thick_mm=2.0, long_mm=2.0 * math.pi) == pytest.approx(0.5)


def test_a_wall_swung_out_has_the_strain_of_a_cantilever():
    """Tip deflection c = F h³ / 3 E I and ε = F h w / 2 E I give ε = 3 w c / 2 h² (any handbook of strength)."""
    c, w, h, stiffness = 2.0, 8.0, 30.0, 1.0
    inertia = w**3 / 12.0
    force = 3.0 * stiffness * inertia * c / h**3
    wanted = force * h * (w / 2.0) / (stiffness * inertia)
    assert swung_wall_ratio(give_mm=c, wall_mm=w, high_mm=h, wide_mm=1e9) == pytest.approx(wanted)


def test_a_wall_bowed_out_has_the_length_of_its_arc():
    """Arc of rise c over chord b, by its angle; the series is good to 2 % up to a rise of a tenth of the chord."""
    c, b = 3.0, 30.0
    radius = (b**2 / 4.0 + c**2) / (2.0 * c)
    wanted = 2.0 * radius * math.asin(b / 2.0 / radius) / b - 1.0
    assert swung_wall_ratio(give_mm=c, wall_mm=8.0, high_mm=1e9, wide_mm=b) == pytest.approx(wanted, rel=0.02)


def test_a_soft_core_in_a_ring_shares_as_lame_says():
    """Thick cylinder of radii 1 and 1000 and a core in it under pressure p, plane stress, ν = ½ (Lamé)."""
    inner, outer, nu = 1.0, 1000.0, 0.5
    for silicone_mpa, copy_mpa in ((1.0, 1.0), (0.4, 1.5), (2.0, 0.5)):
        ring = inner / silicone_mpa * ((outer**2 + inner**2) / (outer**2 - inner**2) + nu)
        core = inner / copy_mpa * (1.0 - nu)
        share = silicone_share_ratio(silicone_mpa=silicone_mpa, copy_mpa=copy_mpa)
        assert share == pytest.approx(ring / (ring + core), rel=1e-5)


@given(silicone_mpa=st.floats(0.1, 5.0), copy_mpa=st.floats(0.1, 5.0), plug=st.booleans())
@settings(deadline=None)
def test_the_softer_the_copy_the_less_the_silicone_gives(silicone_mpa, copy_mpa, plug):
    share = silicone_share_ratio(silicone_mpa=silicone_mpa, copy_mpa=copy_mpa, plug=plug)
    harder = silicone_share_ratio(silicone_mpa=silicone_mpa, copy_mpa=2 * copy_mpa, plug=plug)
    assert 0.0 < share < harder < 1.0
    assert silicone_share_ratio(silicone_mpa=silicone_mpa, copy_mpa=math.inf, plug=plug) == 1.0


@pytest.mark.parametrize("asked", [{"silicone_mpa": 0.0, "copy_mpa": 1.0}, {"silicone_mpa": 1.0, "copy_mpa": -1.0}])
def test_a_modulus_must_be_above_zero(asked):
    with pytest.raises(OutOfRange):
        silicone_share_ratio(**asked)


@pytest.mark.parametrize("asked", [{"lip_mm": 0.0, "bulge_mm": 5.0}, {"lip_mm": math.nan, "bulge_mm": 5.0}])
def test_a_lip_without_a_length_is_refused(asked):
    with pytest.raises(OutOfRange):
        lip_stretch_ratio(**asked)
