"""A master on its rod in wet silicone, held against the lift of a closed form and a beam bent step by step."""

import math

import manifold3d
import numpy as np
import pytest
from scipy.integrate import quad

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.carried import GRAVITY_M_S2, PRINT_MODULUS_MPA, carried_findings, carried_on_rod
from firstpour.surface.solids import from_solid

DOWN = np.array([0.0, 0.0, -1.0])
SIDE_MM = 40.0


def cube():
    """A cube of 64 ml, its middle at the origin."""
    return from_solid(manifold3d.Manifold.cube((SIDE_MM,) * 3, True))


def rod(x_mm, *, start_mm=2.0, end_mm=2.0, long_mm=20.0):
    """A rod from the top of the cube to a base over it."""
    path = np.array([[x_mm, 0, SIDE_MM / 2], [x_mm, 0, SIDE_MM / 2 + long_mm]])
    return Channel(use=ChannelUse.GATE, path_mm=path, radius_start_mm=start_mm, radius_end_mm=end_mm)


def test_the_lift_is_the_weight_of_silicone_displaced_less_that_of_a_light_print():
    carried = carried_on_rod(cube(), rod(0.0), up=DOWN, silicone_g_ml=1.1)
    assert carried.lift_n == pytest.approx((1.1 - 0.5) * 64.0 / 1000.0 * GRAVITY_M_S2)
    assert carried.arm_mm == pytest.approx(0.0, abs=1e-9)
    assert carried.lean_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("start_mm", "end_mm"), [(2.0, 2.0), (2.0, 4.0)])
def test_a_master_lifted_beside_its_rod_turns_as_a_beam_under_an_end_moment(start_mm, end_mm):
    carried = carried_on_rod(cube(), rod(15.0, start_mm=start_mm, end_mm=end_mm), up=DOWN, silicone_g_ml=1.1)

    def curvature(along_mm):
        radius = start_mm + (end_mm - start_mm) * along_mm / 20.0
        return carried.lift_n * 15.0 / (PRINT_MODULUS_MPA * math.pi * radius**4 / 4.0)

    farthest = math.dist((15.0, 0.0, 30.0), (-20.0, 20.0, -20.0))
    assert carried.arm_mm == pytest.approx(15.0)
    assert carried.lean_mm == pytest.approx(quad(curvature, 0.0, 20.0)[0] * farthest, rel=1e-6)


def test_a_lean_of_more_than_a_third_of_a_millimetre_is_told_and_a_thick_rod_cures_it():
    thin, thick = (carried_on_rod(cube(), rod(15.0, start_mm=r), up=DOWN, silicone_g_ml=1.1) for r in (1.0, 3.0))
    assert [finding.code for finding in carried_findings(thin)] == ["master-floats", "master-leans"]
    assert [finding.code for finding in carried_findings(thick)] == ["master-floats"]


def test_a_heavy_silicone_lifts_more_and_a_small_master_is_not_worth_a_word():
    small = from_solid(manifold3d.Manifold.cube((10.0,) * 3, True))
    assert carried_findings(carried_on_rod(small, rod(0.0), up=DOWN, silicone_g_ml=1.3)) == ()
