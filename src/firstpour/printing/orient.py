"""Print directions, ranked."""

from dataclasses import dataclass

import numpy as np

from firstpour.errors import BadRequest
from firstpour.kernels import slices as kernel
from firstpour.kernels.threads import in_shares
from firstpour.printing.as_printed import roundness_printed_mm
from firstpour.printing.estimate import PrintEstimate, estimate_print
from firstpour.printing.flaw import LEAST_SHUT_MM2, ROUNDNESS_WEIGHT, flaw_mm
from firstpour.printing.layer_steps import flat_cos, step_sizes
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Footing
from firstpour.printing.suction import pulls_n
from firstpour.printing.to_print import ToPrint
from firstpour.surface.dexels import frame_of
from firstpour.values import FloatArray, frame_along, frozen_array

RESOLUTION = 96
LAYERS = 128
PLATE_SHARE = 0.1
"""A vat print stands on the plate if this share of its shadow rests there; else it is lifted on supports."""
MOST_DIRECTIONS = 5000
KEEP = 8
"""So many of the best directions are certain to be the best; the rest is left once it cannot come before them."""
BATCH = 12
"""Directions measured at a go."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintDirection:
    """One print direction: `direction` (3,) is up in the part's coordinates. `score_mm` ranks, lowest first.

    `step_mm`: 95 % of the show area has smaller steps. `roundness_mm`: the worst round feature about its
    least-squares circle; `added_roundness_mm`: the most that printing adds to what the mesh itself is out of round.
    `support_mm2`: area that needs support; `marks_mm2`: how much of it is on show faces.
    `height_mm` counts the lift of a print on supports. `shut_mm2`: the largest area of a hollow that the print shuts
    against the film.
    """

    direction: FloatArray
    step_mm: float
    roundness_mm: float
    added_roundness_mm: float
    suction_n: float
    support_mm2: float
    marks_mm2: float
    shut_mm2: float
    height_mm: float
    print_min: float
    layer_mm: float
    footing: Footing
    fits: bool
    estimate: PrintEstimate
    score_mm: float


def rank_print_directions(
    thing: ToPrint,
    *,
    printer: Printer,
    directions: int = 100,
    layer_mm: float | None = None,
    keep: int = KEEP,
) -> tuple[PrintDirection, ...]:
    """Rank print directions, best first: those that the part itself suggests, then an even spread over the sphere.

    First what the faces alone say of each direction is worked out: no direction can be better than that. The most
    promising are then looked at more closely, round features before lines through the solid, until `keep` of those
    measured in full are better than the rest can be; those measured are given. `layer_mm`: the printer's middle
    layer height unless given.

    Raises
    ------
    BadRequest
        If `directions` is not 1 to 5,000 or `layer_mm` is not above 0.
    """
    if not 1 <= directions <= MOST_DIRECTIONS:
        raise BadRequest(f"{directions} print directions", remedy=f"ask for 1 to {MOST_DIRECTIONS}, usually 100")
    layer_mm = checked_layer_mm(printer, layer_mm)
    frames = np.array([frame_of(one) for one in candidate_directions(thing, count=directions)])
    sums = _face_sums(thing, frames, printer, layer_mm)
    least = np.array([_least_flaw_mm(thing, one, printer=printer, layer_mm=layer_mm) for one in sums])
    rounds = np.full((len(frames), 2), np.nan)
    left = np.ones(len(frames), np.bool_)
    found: list[PrintDirection] = []
    while left.any() and not _enough(found, float(least[left].min()), keep=keep):
        some = np.flatnonzero(left)[np.argsort(least[left], kind="stable")[:BATCH]]
        unsure = some[np.isnan(rounds[some, 0])]
        if len(unsure):
            rounds[unsure] = _worst_rounds(thing, frames[unsure, 2], printer=printer, layer_mm=layer_mm)
            least[unsure] += ROUNDNESS_WEIGHT * rounds[unsure, 1]
            continue
        more = _measured(thing, frames[some], sums[some], rounds[some], printer=printer, layer_mm=layer_mm)
        found += [*more, *_lifted_too(thing, more, printer=printer, layer_mm=layer_mm)]
        left[some] = False
    return ranked(tuple(found))


def ranked(found: tuple[PrintDirection, ...]) -> tuple[PrintDirection, ...]:
    """Best first: what fits the build volume, then the lowest score."""
    return tuple(sorted(found, key=lambda one: (not one.fits, one.score_mm)))


def _enough(found: list[PrintDirection], least_left_mm: float, *, keep: int) -> bool:
    """Whether `keep` directions that fit are better than any that is left can be."""
    scores = sorted(one.score_mm for one in found if one.fits)
    return len(scores) >= keep and scores[keep - 1] <= least_left_mm


def _lifted_too(
    thing: ToPrint, found: tuple[PrintDirection, ...], *, printer: Printer, layer_mm: float
) -> tuple[PrintDirection, ...]:
    """What stands on the plate of a vat printer and shuts a hollow there is tried once more, lifted on supports."""
    sealed = [one.direction for one in found if one.footing is Footing.PLATE and one.shut_mm2 >= LEAST_SHUT_MM2]
    if not sealed:
        return ()
    return measure_directions(thing, np.array(sealed), printer=printer, layer_mm=layer_mm, footing=Footing.SUPPORTS)


def candidate_directions(thing: ToPrint, *, count: int) -> FloatArray:
    """Unit directions (≤ count, 3): flats down and up, axes of round features, x y z, then a Fibonacci spread."""
    flats = thing.flats
    axes = np.array([one.section.axis for one in thing.features if not one.section.whole_sphere]).reshape(-1, 3)
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
    thing: ToPrint,
    directions: FloatArray,
    *,
    printer: Printer,
    layer_mm: float | None = None,
    footing: Footing | None = None,
) -> tuple[PrintDirection, ...]:
    """What each of the `directions` (k, 3) would give, in the order asked.

    `footing`: how a vat print stands; chosen for each direction by `PLATE_SHARE` unless given. A filament print
    always stands on the plate.
    """
    layer_mm = checked_layer_mm(printer, layer_mm)
    frames = np.array([frame_of(one) for one in np.atleast_2d(directions)])
    sums = _face_sums(thing, frames, printer, layer_mm)
    rounds = _worst_rounds(thing, frames[:, 2], printer=printer, layer_mm=layer_mm)
    return _measured(thing, frames, sums, rounds, printer=printer, layer_mm=layer_mm, footing=footing)


def checked_layer_mm(printer: Printer, layer_mm: float | None) -> float:
    """The layer height, or the printer's middle one.

    Raises
    ------
    BadRequest
        If it is not above 0 or no layer at all.
    """
    layer_mm = printer.layer_heights_mm[len(printer.layer_heights_mm) // 2] if layer_mm is None else layer_mm
    if not 0.0 < layer_mm < 10.0:
        raise BadRequest(
            f"a layer height of {layer_mm} mm", remedy="give a layer height above 0 mm, for example 0.05"
        )
    return layer_mm


def steps_at_mm(
    thing: ToPrint, direction: FloatArray, *, printer: Printer, layers_mm: tuple[float, ...]
) -> FloatArray:
    """The step of 95 % of the show area along one direction, at each of some layer heights: (k,)."""
    frame = frame_of(direction)[None]
    return np.array([_face_sums(thing, frame, printer, layer_mm)[0, 4] for layer_mm in layers_mm])


def _face_sums(thing: ToPrint, frames: FloatArray, printer: Printer, layer_mm: float) -> FloatArray:
    """For each frame (k, 7): bed, overhang, the same on show faces (mm²), step, lowest level and height (mm)."""
    mesh, sizes = thing.mesh, step_sizes(printer, layer_mm=layer_mm)
    sums = np.empty((len(frames), 7))
    along = frames[:, 2] @ thing.hull_mm.T
    sums[:, 5], sums[:, 6] = along.min(axis=1), np.ptp(along, axis=1)
    out = np.empty((len(frames), 5))

    def share(first: int, last: int) -> None:
        kernel.sweep_faces(
            mesh.vertices_mm,
            mesh.faces,
            thing.normals,
            thing.areas_mm2,
            thing.show,
            frames[first:last],
            sums[first:last, 5].copy(),
            0.5 * layer_mm,
            _overhang_cos(printer),
            flat_cos(layer_mm, thing.diagonal_mm),
            sizes.layer_mm,
            sizes.side_mm,
            sizes.pixel_mm,
            out[first:last],
        )

    in_shares(share, len(frames), least=4)
    sums[:, :5] = out
    return sums


def _overhang_cos(printer: Printer) -> float:
    return float(np.cos(np.radians(printer.support_within_deg)))


def _least_flaw_mm(thing: ToPrint, face_sums: FloatArray, *, printer: Printer, layer_mm: float) -> float:
    """What a direction has wrong with it at least: its faces alone, no pull, nothing shut, standing on the plate."""
    overhang_show_mm2, step_mm, _, height_mm = (float(v) for v in face_sums[3:])
    estimate = _estimate(thing, height_mm, 0.0, printer=printer, layer_mm=layer_mm)
    return flaw_mm(
        step_mm=step_mm,
        added_roundness_mm=0.0,
        marks_ratio=overhang_show_mm2 / thing.show_mm2 if thing.show_mm2 > 0.0 else 0.0,
        suction_n=0.0,
        shut_mm2=0.0,
        print_min=estimate.print_min,
        printer=printer,
    )


def _worst_rounds(thing: ToPrint, directions: FloatArray, *, printer: Printer, layer_mm: float) -> FloatArray:
    """Out-of-round of the worst feature along each direction, and the most that printing adds to one: (k, 2), mm."""
    rounds = roundness_printed_mm(thing.features, directions, printer=printer, layer_mm=layer_mm)
    drawn = np.array([one.section.drawn_mm for one in thing.features]).reshape(-1, 1)
    return np.stack([rounds.max(axis=0, initial=0.0), (rounds - drawn).max(axis=0, initial=0.0)], axis=1)


def _estimate(
    thing: ToPrint, height_mm: float, support_mm3: float, *, printer: Printer, layer_mm: float
) -> PrintEstimate:
    return estimate_print(
        printer=printer,
        layer_mm=layer_mm,
        height_mm=height_mm,
        volume_mm3=thing.volume_mm3,
        area_mm2=thing.area_mm2,
        support_mm3=support_mm3,
    )


def _measured(
    thing: ToPrint,
    frames: FloatArray,
    face_sums: FloatArray,
    rounds_mm: FloatArray,
    *,
    printer: Printer,
    layer_mm: float,
    footing: Footing | None = None,
) -> tuple[PrintDirection, ...]:
    """The directions of `frames` (k, 3, 3) in full, from what their faces say and lines laid through the solid."""
    mesh = thing.mesh
    sums, profiles = np.empty((len(frames), 4)), np.empty((len(frames), LAYERS, 3))

    def share(first: int, last: int) -> None:
        kernel.sweep_lines(
            mesh.vertices_mm,
            mesh.faces,
            thing.normals,
            frames[first:last],
            face_sums[first:last, 0].copy(),
            RESOLUTION,
            LAYERS,
            0.5 * layer_mm,
            _overhang_cos(printer),
            _plate_share(printer, footing),
            float(printer.lift_mm),
            sums[first:last],
            profiles[first:last],
        )

    in_shares(share, len(frames))
    return tuple(
        _direction(
            thing,
            frames[k],
            face_sums[k],
            sums[k],
            profiles[k],
            rounds_mm[k],
            printer=printer,
            layer_mm=layer_mm,
        )
        for k in range(len(frames))
    )


def _plate_share(printer: Printer, footing: Footing | None) -> float:
    if printer.process is not Process.VAT or footing is Footing.PLATE:
        return 0.0
    return 2.0 if footing is Footing.SUPPORTS else PLATE_SHARE


def fits_printer(
    points_mm: FloatArray, direction: FloatArray, *, size_mm: tuple[float, float, float], lift_mm: float = 0.0
) -> bool:
    """Whether points (n, 3) stood up along `direction`, `lift_mm` above the plate, fit, turned about it as suits."""
    turned = points_mm @ frame_along(direction).T
    if np.ptp(turned[:, 2]) + lift_mm > size_mm[2]:
        return False
    wide, deep = max(size_mm[:2]), min(size_mm[:2])
    for angle in np.radians(np.arange(0.0, 180.0, 5.0)):
        x = turned[:, 0] * np.cos(angle) + turned[:, 1] * np.sin(angle)
        y = turned[:, 1] * np.cos(angle) - turned[:, 0] * np.sin(angle)
        if np.ptp(x) <= wide and np.ptp(y) <= deep:
            return True
    return False


def _direction(
    thing: ToPrint,
    frame: FloatArray,
    face_sums: FloatArray,
    sums: FloatArray,
    profile: FloatArray,
    rounds_mm: FloatArray,
    *,
    printer: Printer,
    layer_mm: float,
) -> PrintDirection:
    bed, overhang, bed_show, overhang_show, step_mm = (float(v) for v in face_sums[:5])
    lifted = bool(sums[3])
    lift_mm = printer.lift_mm if lifted else 0.0
    height_mm = float(sums[0]) + lift_mm
    vat = printer.process is Process.VAT
    section, shut = pulls_n(profile[:, 0], profile[:, 1], profile[:, 2], printer=printer)
    suction_n = float((section + shut).max()) if vat else 0.0
    estimate = _estimate(thing, height_mm, float(sums[1]), printer=printer, layer_mm=layer_mm)
    marks_mm2 = overhang_show + (bed_show if lifted else 0.0)
    shut_mm2 = float(profile[:, 2].max()) if vat else 0.0
    return PrintDirection(
        direction=frozen_array(frame[2], np.float64),
        step_mm=step_mm,
        roundness_mm=float(rounds_mm[0]),
        added_roundness_mm=float(rounds_mm[1]),
        suction_n=suction_n,
        support_mm2=overhang + (bed if lifted else 0.0),
        marks_mm2=marks_mm2,
        shut_mm2=shut_mm2,
        height_mm=height_mm,
        print_min=estimate.print_min,
        layer_mm=layer_mm,
        footing=Footing.SUPPORTS if lifted else Footing.PLATE,
        fits=fits_printer(thing.hull_mm, frame[2], size_mm=printer.size_mm, lift_mm=lift_mm),
        estimate=estimate,
        score_mm=flaw_mm(
            step_mm=step_mm,
            added_roundness_mm=float(rounds_mm[1]),
            marks_ratio=marks_mm2 / thing.show_mm2 if thing.show_mm2 > 0.0 else 0.0,
            suction_n=suction_n,
            shut_mm2=shut_mm2,
            print_min=estimate.print_min,
            printer=printer,
        ),
    )
