"""Steps of layers against the printed formula and a measured profile."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import OutOfRange
from firstpour.formulas.layers import cusp_mm, ra_um, terrace_mm


@pytest.mark.parametrize(("degrees", "cusp"), [(30, 0.043301), (60, 0.025)])
def test_a_cusp_is_the_layer_height_times_the_slope(degrees, cusp):
    # Dolenc & Mäkelä, Computer-Aided Design 26(2) (1994): c = L·|n_z|; worked for L = 0.05 mm
    assert cusp_mm(layer_mm=0.05, slope_ratio=math.cos(math.radians(degrees))) == pytest.approx(cusp, abs=5e-7)


def test_ra_is_the_mean_distance_from_the_mean_line_of_a_sampled_saw_tooth():
    # the definition of Ra in ISO 21920-2 (from memory), measured on a sampled profile
    height_mm = 0.0433013
    profile = np.linspace(0.0, height_mm, 200_001)
    measured_um = 1000.0 * np.abs(profile - profile.mean()).mean()
    assert ra_um(cusp_mm=height_mm) == pytest.approx(measured_um, rel=1e-4)
    assert ra_um(cusp_mm=height_mm) == pytest.approx(10.825, abs=5e-4)


@given(layer=st.floats(0.01, 0.4), degrees=st.floats(0.5, 89.5))
def test_a_terrace_and_its_rise_make_the_cusp(layer, degrees):
    # the step is the height of the right triangle whose legs are the rise and the terrace
    width = terrace_mm(layer_mm=layer, slope_deg=degrees)
    triangle = layer * width / math.hypot(layer, width)
    assert cusp_mm(layer_mm=layer, slope_ratio=math.cos(math.radians(degrees))) == pytest.approx(triangle, rel=1e-9)


@pytest.mark.parametrize("layer", [0.0, -0.1, math.nan, math.inf])
def test_a_layer_height_that_cannot_be_is_refused(layer):
    with pytest.raises(OutOfRange, match="layer height"):
        cusp_mm(layer_mm=layer, slope_ratio=0.5)


def test_slopes_and_steps_outside_their_limits_are_refused():
    with pytest.raises(OutOfRange):
        cusp_mm(layer_mm=0.1, slope_ratio=1.01)
    with pytest.raises(OutOfRange):
        ra_um(cusp_mm=-0.1)
    with pytest.raises(OutOfRange):
        terrace_mm(layer_mm=0.1, slope_deg=0.0)
