"""The steps that a printer leaves on a face: stairs of its layers, ridges on upright walls, stairs of its pixels."""

from dataclasses import dataclass

import numpy as np

from firstpour.printing.printers import Printer, Process
from firstpour.surface.dexels import frame_of
from firstpour.values import BoolArray, FloatArray, Mesh, face_areas_mm2, face_normals, mesh_bounds_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class StepSizes:
    """The largest step of each kind: layers on a face nearly level, ridges on an upright wall, stairs of pixels."""

    layer_mm: float
    side_mm: float
    pixel_mm: float


def step_sizes(printer: Printer, *, layer_mm: float) -> StepSizes:
    """What the printer leaves at that layer height. Only a vat screen has pixels; a filament edge is drawn smooth."""
    return StepSizes(
        layer_mm=float(layer_mm),
        side_mm=float(printer.side_step_ratio * layer_mm),
        pixel_mm=float(printer.pixel_step_ratio * printer.pixel_mm) if printer.process is Process.VAT else 0.0,
    )


def flat_cos(layer_mm: float, diagonal_mm: float) -> float:
    """|n·d| above which a face is so level that no second layer begins on it."""
    return float(np.cos(np.arctan(layer_mm / diagonal_mm)))


def face_steps_mm(
    mesh: Mesh, direction: FloatArray, *, printer: Printer, layer_mm: float, show: BoolArray | None = None
) -> FloatArray:
    r"""Height of the step on each face (m,) when printed along `direction`.

    .. math:: \max(L \, |n_d|,\; \rho L \sqrt{1 - n_d^2},\; p \, \min(|n_x|, |n_y|))

    with L the layer, ρ the printer's `side_step_ratio`, p its pixel's stair as light leaves it, x and y along the
    rows of pixels: the print is taken to be turned so that most of its upright `show` walls lie along
    them. 0 on a level face.

    References
    ----------
    Dolenc & Mäkelä, Computer-Aided Design 26(2) (1994) 119-126, for the stairs of layers; the rest is decision 0026.
    """
    normals = face_normals(mesh)
    turned = normals @ frame_of(direction).T
    steep = np.minimum(np.abs(turned[:, 2]), 1.0)
    sizes = step_sizes(printer, layer_mm=layer_mm)
    weights = face_areas_mm2(mesh) * (1.0 if show is None else show)
    across = turned[:, 0] + 1j * turned[:, 1]
    along = across * np.exp(-0.25j * np.angle(np.sum(weights * across**4)))
    stair = sizes.pixel_mm * np.minimum(np.abs(along.real), np.abs(along.imag))
    steps = np.maximum(np.maximum(sizes.layer_mm * steep, sizes.side_mm * np.sqrt(1.0 - steep**2)), stair)
    diagonal_mm = float(np.linalg.norm(np.ptp(mesh_bounds_mm(mesh), axis=0)))
    level = steep > flat_cos(layer_mm, diagonal_mm)
    found: FloatArray = np.where(level, 0.0, steps)
    return found
