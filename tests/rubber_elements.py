"""An independent model of rubber: turned bodies at large strain by finite elements (scikit-fem).

Neo-Hookean, nearly incompressible (bulk ÷ shear modulus 50, a Poisson's ratio of 0.49), quadratic quadrilaterals in
the half-plane (r, z), displacements given on part of the border, Newton's method in steps. With F = 1 + ∇u and
J = det F the energy is μ/2 (J^(−2/3) tr FᵀF − 3) + K/2 (J − 1)² (Bonet & Wood, Nonlinear Continuum Mechanics, ch. 5;
from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, LinearForm, MeshQuad

SHEAR, BULK = 1.0, 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """Displacement of one component (0: outwards, 1: along the axis) on a part of the border, at full load."""

    where: Callable[[np.ndarray], np.ndarray]
    component: int
    amount: Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strained:
    """At each point of the elements: place (r, z), the three principal stretches, least first, and volume."""

    place: np.ndarray
    stretches: np.ndarray
    volume: np.ndarray

    def passed(self, share: float, within: np.ndarray) -> float:
        """The largest stretch that `share` of the volume `within` does not pass, less 1."""
        values, weights = self.stretches[..., 2][within] - 1.0, self.volume[within]
        order = np.argsort(values)
        total = np.cumsum(weights[order])
        return float(values[order][np.searchsorted(total, share * total[-1])])


def gradient(field, r):
    """∇ of a displacement of a turned body, (3, 3, ...)."""
    out = np.zeros((3, 3, *r.shape))
    out[:2, :2] = field.grad
    out[2, 2] = np.asarray(field)[0] / r
    return out


def inverse(F):
    J2 = F[0, 0] * F[1, 1] - F[0, 1] * F[1, 0]
    G = np.zeros_like(F)
    G[0, 0], G[1, 1], G[0, 1], G[1, 0], G[2, 2] = (
        F[1, 1] / J2,
        F[0, 0] / J2,
        -F[0, 1] / J2,
        -F[1, 0] / J2,
        1 / F[2, 2],
    )
    return J2 * F[2, 2], np.swapaxes(G, 0, 1)


def dot(A, B):
    return np.sum(A * B, axis=(0, 1))


def product(A, B):
    return np.einsum("ij...,jk...->ik...", A, B)


def deformation(w):
    F = gradient(w["now"], w.x[0])
    for k in range(3):
        F[k, k] += 1.0
    return F


@LinearForm
def residual(v, w):
    F = deformation(w)
    J, GT = inverse(F)
    P = SHEAR * J ** (-2 / 3) * (F - dot(F, F) / 3 * GT) + BULK * (J - 1) * J * GT
    return dot(P, gradient(v, w.x[0])) * w.x[0]


@BilinearForm
def tangent(u, v, w):
    F, H, D = deformation(w), gradient(u, w.x[0]), gradient(v, w.x[0])
    J, GT = inverse(F)
    squares, a = dot(F, F), SHEAR * J ** (-2 / 3)
    GH, GD, FH, FD = dot(GT, H), dot(GT, D), dot(F, H), dot(F, D)
    turned = dot(product(product(GT, np.swapaxes(H, 0, 1)), GT), D)
    shape = a * (-2 / 3 * GH * (FD - squares / 3 * GD) + dot(H, D) - 2 / 3 * FH * GD + squares / 3 * turned)
    return (shape + BULK * ((2 * J - 1) * J * GH * GD - (J - 1) * J * turned)) * w.x[0]


def strain(mesh: MeshQuad, given: Sequence[Given], *, steps: int) -> Strained:
    """The body strained until every given displacement is reached.

    Raises
    ------
    ArithmeticError
        If Newton's method does not settle.
    """
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=4)
    held, amounts = [], []
    for one in given:
        dofs = basis.get_dofs(one.where).all([f"u^{one.component + 1}"])
        held.append(dofs)
        amounts.append(one.amount(basis.doflocs[:, dofs]))
    fixed, full = np.concatenate(held), np.concatenate(amounts)
    free = np.setdiff1d(np.arange(basis.N), fixed)
    x = basis.zeros()
    for step in range(1, steps + 1):
        for _ in range(25):
            now = basis.interpolate(x)
            A, b = tangent.assemble(basis, now=now), -residual.assemble(basis, now=now)
            dx = np.zeros_like(x)
            dx[fixed] = full * step / steps - x[fixed]
            dx[free] = spsolve(A[free][:, free].tocsc(), (b - A @ dx)[free])
            x = x + dx
            if np.abs(dx).max() < 1e-7:
                break
        else:
            raise ArithmeticError(f"no balance at step {step}")
    place = np.asarray(basis.global_coordinates())
    F = gradient(basis.interpolate(x), place[0])
    for k in range(3):
        F[k, k] += 1.0
    stretches = np.sqrt(np.linalg.eigvalsh(np.einsum("ki...,kj...->...ij", F, F)))
    return Strained(place=place, stretches=stretches, volume=basis.dx * place[0])
