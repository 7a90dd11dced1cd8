"""Print directions, ranked."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from firstpour.errors import BadRequest
from firstpour.kernels import slices as kernel
from firstpour.part.part import FaceMark, Part, marked
from firstpour.printing.as_printed import roundness_printed_mm
from firstpour.printing.estimate import PrintEstimate, estimate_print
from firstpour.printing.flaw import LEAST_CUP_MM2, flaw_mm
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Footing
from firstpour.printing.suction import pulls_n
from firstpour.rounds.round_features import RoundFeature, find_round_features
from firstpour.surface.dexels import frame_of
from firstpour.surface.regions import level_normals
from firstpour.values import (
    BoolArray,
    FloatArray,
    face_areas_mm2,
    face_normals,
    frame_along,
    frozen_array,
    mesh_bounds_mm,
    mesh_volume_mm3,
)

RESOLUTION = 96
LAYERS = 128
PLATE_SHARE = 0.1
"""A vat print stands on the plate if this share of its shadow rests there; else it is lifted on supports."""
MOST_DIRECTIONS = 5000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintDirection:
    """One print direction: `direction` (3,) is up in the part's coordinates. `score_mm` ranks, lowest first.

    `step_mm`: 95 % of the show area has smaller steps. `roundness_mm`: the worst round feature about its
    least-squares circle; `added_roundness_mm`: the most that printing adds to what the mesh itself is out of round.
    `support_mm2`: area that needs support; `marks_mm2`: how much of it is on show faces.
    `cup_mm2`: the largest area that a cup seals against the film.
    """

    direction: FloatArray
    step_mm: float
    roundness_mm: float
    added_roundness_mm: float
    suction_n: float
    support_mm2: float
    marks_mm2: float
    cup_mm2: float
    height_mm: float
    print_min: float
    layer_mm: float
    footing: Footing
    fits: bool
    estimate: PrintEstimate
    score_mm: float


def rank_print_directions(
    part: Part,
    *,
    printer: Printer,
    directions: int = 100,
    layer_mm: float | None = None,
    features: tuple[RoundFeature, ...] | None = None,
) -> tuple[PrintDirection, ...]:
    """Rank print directions, best first: those that the part itself suggests, then an even spread over the sphere.

    `layer_mm`: the printer's middle layer height unless given. `features`: found in the part unless given.

    Raises
    ------
    BadRequest
        If `directions` is not 1 to 5,000 or `layer_mm` is not above 0.
    """
    if not 1 <= directions <= MOST_DIRECTIONS:
        raise BadRequest(f"{directions} print directions", remedy=f"ask for 1 to {MOST_DIRECTIONS}, usually 100")
    features = find_round_features(part.mesh) if features is None else features
    chosen = candidate_directions(part, features, count=directions)
    found = measure_directions(part, chosen, printer=printer, layer_mm=layer_mm, features=features)
    return ranked((*found, *_lifted_too(part, found, printer=printer, layer_mm=layer_mm, features=features)))


def ranked(found: tuple[PrintDirection, ...]) -> tuple[PrintDirection, ...]:
    """Best first: what fits the build volume, then the lowest score."""
    return tuple(sorted(found, key=lambda one: (not one.fits, one.score_mm)))


def _lifted_too(
    part: Part,
    found: tuple[PrintDirection, ...],
    *,
    printer: Printer,
    layer_mm: float | None,
    features: tuple[RoundFeature, ...],
) -> tuple[PrintDirection, ...]:
    """What stands on the plate of a vat printer and seals a cup there is tried once more, lifted on supports."""
    sealed = [one.direction for one in found if one.footing is Footing.PLATE and one.cup_mm2 >= LEAST_CUP_MM2]
    if not sealed:
        return ()
    return measure_directions(
        part,
        np.array(sealed),
        printer=printer,
        layer_mm=layer_mm,
        features=features,
        footing=Footing.SUPPORTS,
    )


def candidate_directions(part: Part, features: tuple[RoundFeature, ...], *, count: int) -> FloatArray:
    """Unit directions (≤ count, 3): flats down and up, axes of round features, x y z, then a Fibonacci spread."""
    flats = level_normals(part.mesh)
    axes = np.array([one.section.axis for one in features if not one.section.whole_sphere]).reshape(-1, 3)
    own = np.concatenate([-flats, axes, -axes, np.eye(3), -np.eye(3), flats])
    spread = fibonacci_directions(max(1, count))
    kept: list[FloatArray] = []
    for one in np.concatenate([own, spread]):
        if len(kept) == count:
            break
        if not kept or float((np.array(kept) @ one).max()) < np.cos(np.radians(1.0)):
            kept.append(one / np.linalg.norm(one))
    return np.array(kept)


def fibonacci_directions(count: int) -> FloatArray:
    """Unit directions (count, 3) spread evenly over the sphere by the golden angle.

    Source: Swinbank & Purser, "Fibonacci grids", Q. J. R. Meteorol. Soc. 132 (2006) 1769-1793 (from memory).
    """
    k = np.arange(count)
    z = 1.0 - (2.0 * k + 1.0) / count
    turn = k * np.pi * (3.0 - np.sqrt(5.0))
    across = np.sqrt(1.0 - z * z)
    return np.stack([across * np.cos(turn), across * np.sin(turn), z], axis=1)


def measure_directions(
    part: Part,
    directions: FloatArray,
    *,
    printer: Printer,
    layer_mm: float | None = None,
    features: tuple[RoundFeature, ...] = (),
    footing: Footing | None = None,
) -> tuple[PrintDirection, ...]:
    """What each of the `directions` (k, 3) would give, in the order asked.

    `footing`: how a vat print stands; chosen for each direction by `PLATE_SHARE` unless given. A filament print
    always stands on the plate.
    """
    layer_mm = printer.layer_heights_mm[len(printer.layer_heights_mm) // 2] if layer_mm is None else layer_mm
    if not 0.0 < layer_mm < 10.0:
        raise BadRequest(
            f"a layer height of {layer_mm} mm", remedy="give a layer height above 0 mm, for example 0.05"
        )
    mesh = part.mesh
    frames = np.array([frame_of(one) for one in np.atleast_2d(directions)])
    areas = face_areas_mm2(mesh)
    show = show_faces(part)
    diagonal_mm = float(np.linalg.norm(np.ptp(mesh_bounds_mm(mesh), axis=0)))
    sums, profiles = kernel.sweep_prints(
        mesh.vertices_mm,
        mesh.faces,
        face_normals(mesh),
        areas,
        show,
        frames,
        RESOLUTION,
        LAYERS,
        0.5 * layer_mm,
        float(np.cos(np.radians(printer.support_within_deg))),
        float(np.cos(np.arctan(layer_mm / diagonal_mm))),
        np.full(len(frames), _plate_share(printer, footing)),
    )
    rounds = roundness_printed_mm(features, frames[:, 2], printer=printer, layer_mm=layer_mm)
    drawn = np.array([one.section.drawn_mm for one in features]).reshape(-1, 1)
    worst, added = rounds.max(axis=0, initial=0.0), (rounds - drawn).max(axis=0, initial=0.0)
    hull = _hull_points(mesh.vertices_mm)
    whole = (mesh_volume_mm3(mesh), float(areas.sum()), float(areas[show].sum()))
    return tuple(
        _direction(
            frames[k],
            sums[k],
            profiles[k],
            hull,
            whole,
            (float(worst[k]), float(added[k])),
            printer=printer,
            layer_mm=layer_mm,
        )
        for k in range(len(frames))
    )


def _plate_share(printer: Printer, footing: Footing | None) -> float:
    if printer.process is not Process.VAT or footing is Footing.PLATE:
        return 0.0
    return 2.0 if footing is Footing.SUPPORTS else PLATE_SHARE


def show_faces(part: Part) -> BoolArray:
    """The faces (m,) whose look counts: those marked show, else all that are not hidden, else all."""
    show = marked(part, FaceMark.SHOW)
    if not show.any():
        show = ~marked(part, FaceMark.HIDDEN)
    return show if show.any() else np.ones_like(show)


def fits_printer(points_mm: FloatArray, direction: FloatArray, *, size_mm: tuple[float, float, float]) -> bool:
    """Whether points (n, 3) stood up along `direction` fit the build volume, turned about it as suits best."""
    turned = points_mm @ frame_along(direction).T
    if np.ptp(turned[:, 2]) > size_mm[2]:
        return False
    wide, deep = max(size_mm[:2]), min(size_mm[:2])
    for angle in np.radians(np.arange(0.0, 180.0, 5.0)):
        x = turned[:, 0] * np.cos(angle) + turned[:, 1] * np.sin(angle)
        y = turned[:, 1] * np.cos(angle) - turned[:, 0] * np.sin(angle)
        if np.ptp(x) <= wide and np.ptp(y) <= deep:
            return True
    return False


def _hull_points(vertices_mm: FloatArray) -> FloatArray:
    try:
        corners: FloatArray = vertices_mm[ConvexHull(vertices_mm).vertices]
    except QhullError:
        return vertices_mm
    return corners


def _direction(
    frame: FloatArray,
    sums: FloatArray,
    profile: FloatArray,
    hull: FloatArray,
    whole: tuple[float, float, float],
    rounds_mm: tuple[float, float],
    *,
    printer: Printer,
    layer_mm: float,
) -> PrintDirection:
    height_mm, _, bed, overhang, bed_show, overhang_show, slope, support_mm3 = (float(v) for v in sums[:8])
    lifted = bool(sums[9])
    vat = printer.process is Process.VAT
    section, cup = pulls_n(profile[:, 0], profile[:, 1], profile[:, 2], printer=printer)
    suction_n = float((section + cup).max()) if vat else 0.0
    estimate = estimate_print(
        printer=printer,
        layer_mm=layer_mm,
        height_mm=height_mm,
        volume_mm3=whole[0],
        area_mm2=whole[1],
        support_mm3=support_mm3,
    )
    marks_mm2 = overhang_show + (bed_show if lifted else 0.0)
    step_mm = layer_mm * slope
    cup_mm2 = float(profile[:, 2].max()) if vat else 0.0
    return PrintDirection(
        direction=frozen_array(frame[2], np.float64),
        step_mm=step_mm,
        roundness_mm=rounds_mm[0],
        added_roundness_mm=rounds_mm[1],
        suction_n=suction_n,
        support_mm2=overhang + (bed if lifted else 0.0),
        marks_mm2=marks_mm2,
        cup_mm2=cup_mm2,
        height_mm=height_mm,
        print_min=estimate.print_min,
        layer_mm=layer_mm,
        footing=Footing.SUPPORTS if lifted else Footing.PLATE,
        fits=fits_printer(hull, frame[2], size_mm=printer.size_mm),
        estimate=estimate,
        score_mm=flaw_mm(
            step_mm=step_mm,
            added_roundness_mm=rounds_mm[1],
            marks_ratio=marks_mm2 / whole[2] if whole[2] > 0.0 else 0.0,
            suction_n=suction_n,
            cup_mm2=cup_mm2,
            print_min=estimate.print_min,
            printer=printer,
        ),
    )
