"""Which side up to pour: many directions compared, the best looked at again on a finer grid."""

from dataclasses import replace

import numpy as np

from firstpour.errors import BadRequest, UnreadablePart
from firstpour.fill.cavity import cut_cavity, highest_place
from firstpour.fill.places import BAD_PLACES, WORDS, SeamLine, near_seam, places_of, seam_line
from firstpour.fill.pockets import Cut, peaks_cut_off
from firstpour.fill.values import SMALL_AIR_MM3, SMALL_SHOW_AIR_MM3, Peak, PlaceKind, Pour, PourKind
from firstpour.kernels import pour_sweep as kernel
from firstpour.part.part import Part
from firstpour.surface.dexels import frame_of
from firstpour.values import FloatArray, face_vectors_mm2, frame_along

MOST_PEAKS = 24
MOST_DIRECTIONS = 20_000
UPRIGHT_DEG = 1.0
WEDGE_DEG = 15.0
"""The most a wedge foot tilts the box; beyond it the box needs a cradle."""
LEVEL_ROOF_MM2 = 100.0
LEVEL_DEG = 2.0
"""A roof flatter than this holds a film of air: tilt it (common practice, no source)."""

PLACE_COST = {
    PlaceKind.HIDDEN: 0.0,
    PlaceKind.SEAM: 1.0,
    PlaceKind.UNMARKED: 2.0,
    PlaceKind.SHOW: 12.0,
    PlaceKind.KEEP_CLEAR: 20.0,
}
KIND_COST = {PourKind.FLAT: 0.0, PourKind.ON_EDGE: 0.5, PourKind.TILTED: 2.0, PourKind.TURNED: 6.0}
VENT_COST = 2.0
LONE_COST = 3.0
"""An opening that cannot leave along the parting surface: a loose rod or a hole to drill."""
ROUGH_COST = 1.0
"""How far a cost may be off on half as many lines: a turned box this near to the best is swept on all of them."""
LIES_FLAT = 0.7
"""From this cosine between up and the draw on, the parting surface lies too flat to lead a channel upwards."""
"""All costs are weights of our own (docs/fill.md): air and openings on show faces outweigh the rest."""


def rank_pours(
    part: Part,
    *,
    draw: FloatArray | None = None,
    seam_mm: tuple[FloatArray, ...] | None = None,
    directions: int = 500,
    resolution: int = 128,
    refine: int = 12,
) -> tuple[Pour, ...]:
    """The pour directions, best first: the `refine` best are worked out on a grid twice as fine, then come the rest.

    A box turned out of all its sides costs most: those are swept on half as many lines first, and on all of them only
    where they come near the best of the others.

    The best of each kind (flat, on edge, tilted, turned) is worked out finely and given reasons, too. They refer to a
    box whose floor lies across `draw` (+z unless given).

    Raises
    ------
    BadRequest
        If `draw` has no length or `directions` is not 6 to 20,000.
    UnreadablePart
        If the part is not closed.
    """
    if not 6 <= directions <= MOST_DIRECTIONS:
        raise BadRequest(
            f"{directions} pour directions", remedy=f"ask for at least 6, usually 500, at most {MOST_DIRECTIONS}"
        )
    seam = seam_line(seam_mm)
    box = frame_of(np.array([0.0, 0.0, 1.0]) if draw is None else draw)
    ups = pour_directions(box, directions)
    turned = np.array([standing(up, box)[0] is PourKind.TURNED for up in ups])
    size_mm = float(np.linalg.norm(np.ptp(part.mesh.vertices_mm, axis=0)))
    pours = _sweep(part, ups[~turned], box, seam, resolution=resolution)
    rough = _sweep(part, ups[turned], box, seam, resolution=max(1, resolution // 2))
    costs = sorted(cost(pour, size_mm=size_mm) for pour in pours)
    limit = np.inf if len(costs) < refine else costs[refine - 1] + ROUGH_COST
    among = np.array([cost(pour, size_mm=size_mm) <= limit for pour in rough], bool)
    pours += _sweep(part, ups[turned][among], box, seam, resolution=resolution)
    pours += [pour for pour, swept_again in zip(rough, among, strict=True) if not swept_again]
    pours.sort(key=lambda pour: cost(pour, size_mm=size_mm))
    areas_mm2 = face_vectors_mm2(part.mesh)
    best = [_refined(part, pour, seam, box[2], 2 * resolution, areas_mm2) for pour in pours[:refine]]
    best.sort(key=lambda pour: cost(pour, size_mm=size_mm))
    rest = pours[refine:]
    for kind in {pour.kind for pour in rest} - {pour.kind for pour in best}:
        k = next(k for k, pour in enumerate(rest) if pour.kind is kind)
        rest[k] = _refined(part, rest[k], seam, box[2], 2 * resolution, areas_mm2)
    return (*best, *rest)


def pour_directions(box: FloatArray, count: int) -> FloatArray:
    """Unit directions (count, 3): the sides of the box, small tilts off them, then evenly over the sphere."""
    sides = np.concatenate([box[[2, 0, 1]], -box[[2, 0, 1]]])
    tilted = [
        np.cos(tilt) * side + np.sin(tilt) * (np.cos(turn) * a + np.sin(turn) * b)
        for tilt in np.radians([5.0, 10.0, 15.0])
        for side in sides
        for a, b in [frame_along(side)[:2]]
        for turn in np.arange(8) * np.pi / 4
    ]
    own = np.concatenate([sides, tilted])[:count]
    k = np.arange(count - len(own)) + 0.5
    z = 1 - 2 * k / max(1, len(k))
    turn = k * np.pi * (3 - np.sqrt(5))
    ring = np.sqrt(1 - z**2)
    spread = np.stack([ring * np.cos(turn), ring * np.sin(turn), z], axis=1)
    return np.concatenate([own, spread])


def standing(up: FloatArray, box: FloatArray) -> tuple[PourKind, float]:
    """How a box with the rows of `box` for its edges (third: across its floor) stands, and how far off level (°)."""
    lean = np.degrees(np.arccos(np.clip(np.abs(box @ up), 0, 1)))
    side = int(np.argmin(lean))
    if lean[side] <= UPRIGHT_DEG:
        return (PourKind.FLAT if side == 2 else PourKind.ON_EDGE), float(lean[side])
    return (PourKind.TILTED if lean[side] <= WEDGE_DEG + 1e-6 else PourKind.TURNED), float(lean[side])


def cost(pour: Pour, *, size_mm: float) -> float:
    """One figure to rank by, lower is better; the weights are our own. `size_mm` is the part's diagonal."""
    gate, *vents = (PLACE_COST[peak.place] for peak in pour.peaks)
    air = 3 * np.log10(1 + pour.trapped_show_mm3 / SMALL_SHOW_AIR_MM3)
    air += np.log10(1 + pour.trapped_mm3 / SMALL_AIR_MM3)
    head = 2 * pour.head_mm / size_mm
    openings = 1.5 * gate + sum(vents) + VENT_COST * pour.vents + LONE_COST * pour.lone_openings
    return float(openings + air + KIND_COST[pour.kind] + head)


def _sweep(part: Part, ups: FloatArray, box: FloatArray, seam: SeamLine | None, *, resolution: int) -> list[Pour]:
    """The pours of all the directions (k, 3), so many lines a side."""
    if len(ups) == 0:
        return []
    frames = np.stack([frame_along(up) for up in ups])
    mesh = part.mesh
    total, peaks = kernel.sweep_pours(
        mesh.vertices_mm, mesh.faces, part.marks, frames, resolution, SMALL_SHOW_AIR_MM3, MOST_PEAKS
    )
    if np.isnan(total[:, kernel.TRAPPED]).any():
        raise UnreadablePart("the part is open or thinner than the grid", remedy="close it, or ask for a finer grid")
    return [_swept(part, ups[k], box, total[k], peaks[k], seam) for k in range(len(ups))]


def _swept(
    part: Part,
    up: FloatArray,
    box: FloatArray,
    total: FloatArray,
    rows: FloatArray,
    seam: SeamLine | None,
) -> Pour:
    rows = rows[rows[:, kernel.P_FACE] >= 0]
    cuts = [
        Cut(
            at_mm=row[:3],
            air_mm3=float(row[kernel.P_AIR]),
            show_mm3=float(row[kernel.P_SHOW]),
            face=int(row[kernel.P_FACE]),
            seals_at_mm=float(row[kernel.P_LEVEL]),
        )
        for row in rows
    ]
    kind, lean = standing(up, box)
    return _pour(
        part, up, cuts, seam, box[2],
        kind=kind, tilt_deg=lean, trapped=total[kernel.TRAPPED], show=total[kernel.SHOW],
        head=total[kernel.HEIGHT], pitch=total[kernel.PITCH], extra=int(total[kernel.PEAKS]) - (len(rows) - 1),
    )  # fmt: skip


def _refined(
    part: Part, pour: Pour, seam: SeamLine | None, draw: FloatArray, resolution: int, areas_mm2: FloatArray
) -> Pour:
    cavity = cut_cavity(part, pour.up, resolution=resolution)
    gate = highest_place(cavity)
    cuts, trapped, show = peaks_cut_off(cavity, gate_mm=gate)
    again = _pour(
        part, pour.up, cuts, seam, draw,
        kind=pour.kind, tilt_deg=pour.tilt_deg, trapped=trapped, show=show,
        head=pour.head_mm, pitch=cavity.dexels.pitch_mm, extra=0,
    )  # fmt: skip
    size_mm2 = np.linalg.norm(areas_mm2, axis=1)
    roof = areas_mm2 @ pour.up >= np.cos(np.radians(LEVEL_DEG)) * size_mm2
    again = replace(again, level_roof_mm2=float(size_mm2[roof].sum()))
    return replace(again, reasons=reasons_for(again))


def _pour(
    part: Part, up: FloatArray, cuts: list[Cut], seam: SeamLine | None, draw: FloatArray, *,
    kind: PourKind, tilt_deg: float, trapped: float, show: float, head: float, pitch: float, extra: int,
) -> Pour:  # fmt: skip
    wanted = [cuts[0], *(cut for cut in cuts[1:] if wants_vent(cut))]
    faces = np.array([cut.face for cut in wanted])
    points = np.stack([cut.at_mm for cut in wanted])
    kinds = places_of(part, points, faces, seam=seam)
    along = near_seam(points, seam) & (abs(float(up @ draw)) < LIES_FLAT)
    peaks = [
        Peak(at_mm=cut.at_mm, air_mm3=cut.air_mm3, show_mm3=cut.show_mm3, seals_at_mm=cut.seals_at_mm, place=place)
        for cut, place in zip(wanted, kinds, strict=True)
    ]
    return Pour(
        up=up,
        kind=kind,
        tilt_deg=tilt_deg,
        trapped_mm3=float(trapped),
        trapped_show_mm3=float(show),
        vents=len(peaks) - 1 + extra,
        openings_on_show=sum(peak.place in BAD_PLACES for peak in peaks),
        lone_openings=int((~along).sum()) if seam is not None else 0,
        peaks=tuple(peaks),
        level_roof_mm2=None,
        head_mm=float(head),
        pitch_mm=float(pitch),
    )


def wants_vent(cut: Cut) -> bool:
    """Whether the air at a peak is too much to leave there."""
    return cut.air_mm3 > SMALL_AIR_MM3 or cut.show_mm3 > SMALL_SHOW_AIR_MM3


def reasons_for(pour: Pour) -> tuple[str, ...]:
    """What speaks for and against this pour, in words."""
    stands = {
        PourKind.FLAT: "the box stands flat",
        PourKind.ON_EDGE: "the box stands on edge",
        PourKind.TILTED: f"the box is tilted {pour.tilt_deg:.0f}° on a wedge foot",
        PourKind.TURNED: f"the box is turned {pour.tilt_deg:.0f}° off its nearest side and needs a cradle",
    }
    air = "no air stays" if pour.trapped_mm3 <= SMALL_AIR_MM3 else f"{pour.trapped_mm3:.0f} mm³ of air without vents"
    if pour.trapped_show_mm3 > SMALL_SHOW_AIR_MM3:
        air += f", {pour.trapped_show_mm3:.1f} mm³ of it on show faces"
    vents = {0: "no vent", 1: "one vent"}.get(pour.vents, f"{pour.vents} vents")
    said = [stands[pour.kind], air, f"gate {WORDS[pour.peaks[0].place]}", f"{vents} wanted"]
    if pour.openings_on_show:
        said.append(f"{pour.openings_on_show} of the openings would lie on show faces or faces to keep clear")
    if pour.lone_openings:
        said.append(f"{pour.lone_openings} of the openings would leave through one half alone")
    if pour.level_roof_mm2 is not None and pour.level_roof_mm2 > LEVEL_ROOF_MM2:
        said.append(
            f"{pour.level_roof_mm2:.0f} mm² of level roof holds a film of air: tilt the box a little at first"
        )
    return tuple(said)
