"""The table of wall give against a plate solved again by a general-purpose finite element library (scikit-fem)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skfem import Basis, BilinearForm, ElementTriMorley, LinearForm, MeshTri, condense, solve
from skfem.helpers import dd, ddot, trace

from firstpour.errors import OutOfRange
from firstpour.formulas.plates import (
    HEIGHT_TO_WIDTH,
    HYDROSTATIC_ALPHA,
    POISSON_RATIO,
    wall_give_alpha,
    wall_thickness_mm,
)


@BilinearForm
def bending(u, v, _):
    """Energy of a Kirchhoff plate of unit stiffness; its natural border is free."""
    return (1 - POISSON_RATIO) * ddot(dd(u), dd(v)) + POISSON_RATIO * trace(dd(u)) * trace(dd(v))


def solved_alpha(ratio: float) -> float:
    """The solution on ever finer meshes: its error falls with the square of the cell (Richardson's extrapolation)."""
    coarse, fine = (alpha_on_a_mesh(ratio, cells=cells) for cells in (16, 32))
    return fine + (fine - coarse) / 3.0


def alpha_on_a_mesh(ratio: float, *, cells: int) -> float:
    """Largest w D / (q₀ a⁴) of a plate of width 1 and height `ratio`, free on top, full head at its foot."""
    mesh = MeshTri.init_tensor(
        np.linspace(0, 1, cells + 1), np.linspace(0, ratio, round(cells * max(1.0, ratio)) + 1)
    )
    basis = Basis(mesh, ElementTriMorley())

    @LinearForm
    def head(v, w):
        return (1.0 - w.x[1] / ratio) * v

    clamped = basis.get_dofs(lambda x: (x[0] < 1e-9) | (x[0] > 1 - 1e-9) | (x[1] < 1e-9))
    give = solve(*condense(bending.assemble(basis), head.assemble(basis), D=clamped))
    return float(give[basis.nodal_dofs[0]].max())


@pytest.mark.parametrize(("ratio", "alpha"), list(zip(HEIGHT_TO_WIDTH, HYDROSTATIC_ALPHA, strict=True)))
def test_the_table_is_what_finite_elements_give(ratio, alpha):
    assert alpha == pytest.approx(solved_alpha(ratio), rel=0.005)


@pytest.mark.parametrize("ratio", [0.75, 1.25, 1.75])
def test_straight_lines_between_the_table_are_off_by_two_percent_at_most(ratio):
    read = wall_give_alpha(width_mm=100.0, height_mm=100.0 * ratio)
    assert read == pytest.approx(solved_alpha(ratio), rel=0.02)


def test_a_plate_outside_the_table_is_refused_with_a_remedy():
    for height_mm in (49.0, 201.0):
        with pytest.raises(OutOfRange, match="height ÷ width") as refused:
            wall_give_alpha(width_mm=100.0, height_mm=height_mm)
        assert refused.value.remedy


@given(width_mm=st.floats(20, 300), give_mm=st.floats(0.05, 2.0), pressure_pa=st.floats(100, 5000))
@settings(max_examples=25)
def test_a_wall_of_the_thickness_found_gives_just_what_was_asked(width_mm, give_mm, pressure_pa):
    t = wall_thickness_mm(
        alpha=0.0008, width_mm=width_mm, pressure_pa=pressure_pa, modulus_mpa=2000.0, give_mm=give_mm
    )
    stiffness = 2000.0 * t**3 / (12 * (1 - 0.3**2))  # D = E t³ / (12 (1 − ν²)), Kirchhoff plate
    assert 0.0008 * pressure_pa * 1e-6 * width_mm**4 / stiffness == pytest.approx(give_mm)
