"""Along which direction the two halves of the mould come off the part."""

from collections.abc import Sequence

import numpy as np

from firstpour.errors import BadRequest
from firstpour.kernels.dexels import sweep_voids
from firstpour.part.part import FaceMark, Part, marked
from firstpour.parting.undercut import RESOLUTION, VERTICAL_COSINE, find_undercut
from firstpour.parting.values import Draw
from firstpour.surface.dexels import frame_of
from firstpour.surface.edges import edge_lengths_mm, edges_of
from firstpour.values import FloatArray, IntArray, Mesh, face_normals, face_vectors_mm2, frame_along

SWEEP_RESOLUTION = 128
FLAT_DIRECTIONS = 12
SEAM_BAND_RATIO = 0.1
MOST_TRIED = 4
FREE_GIVE_RATIO = 0.1
"""Silicone gives this share of its wall without notice (our own estimate)."""
NOISE_RATIO = 2e-5
"""Undercuts that differ by less than this share of the part's bounding box count as equal when ranking."""


def rank_draws(part: Part, *, directions: int = 1000, keep: int = 20) -> tuple[Draw, ...]:
    """The `keep` best draw directions, best first: least undercut, then least seam on show faces, then lowest.

    A hemisphere of `directions` is swept at 128 lines a side, together with the axes and the normals of the part's
    largest flat faces; the best are worked out again at 512. Only undercut volume, seam and height are given.

    Raises
    ------
    BadRequest
        If `directions` or `keep` is below 1.
    """
    if directions < 1 or keep < 1:
        raise BadRequest(f"{directions} directions, {keep} kept", remedy="ask for at least one of each")
    candidates = np.concatenate([special_directions(part.mesh), hemisphere(directions)])
    coarse = _sweep(part.mesh, candidates, resolution=SWEEP_RESOLUTION)
    noise_mm3 = _noise_mm3(part.mesh)
    steps = np.round(coarse[:, 0] / noise_mm3)
    best = _distinct(candidates, order=np.lexsort([np.arange(len(candidates)), steps]), keep=keep)
    fine = _sweep(part.mesh, candidates[best], resolution=RESOLUTION)
    seams_mm = seams_on_show_mm(part, candidates[best])
    draws = [
        Draw(
            direction=candidates[n],
            undercut_mm3=float(void_mm3),
            seam_on_show_mm=float(seam_mm),
            height_mm=float(height_mm),
            pitch_mm=float(pitch_mm),
        )
        for n, seam_mm, (void_mm3, height_mm, pitch_mm) in zip(best, seams_mm, fine, strict=True)
    ]
    bands = _seam_bands(draws, part.mesh)
    order = sorted(
        range(len(draws)),
        key=lambda n: (round(draws[n].undercut_mm3 / noise_mm3), bands[n], round(draws[n].height_mm, 1), best[n]),
    )
    return tuple(draws[n] for n in order)


def choose_draw(part: Part, ranked: Sequence[Draw], *, wall_mm: float) -> Draw:
    """The draw direction to take: of the `ranked` and the flat ones, by what the silicone notices, then seam on show.

    Undercut counts as none where the silicone need give no more than a tenth of its wall (our own estimate); flat
    faces often hide such a direction a few degrees off the one with the very least void.
    """
    if ranked[0].undercut_mm3 <= _noise_mm3(part.mesh):
        return draw_along(part, ranked[0].direction)
    special = special_directions(part.mesh)
    voids_mm3 = _sweep(part.mesh, special, resolution=SWEEP_RESOLUTION)[:, 0]
    tried = [ranked[0].direction, *special[np.argsort(voids_mm3, kind="stable")[:MOST_TRIED]]]
    draws = [draw_along(part, direction) for direction in tried]
    noticed = [_noticed_mm3(draw, wall_mm=wall_mm) for draw in draws]
    bands = _seam_bands(draws, part.mesh)
    return draws[min(range(len(draws)), key=lambda n: (noticed[n], bands[n], round(draws[n].height_mm, 1)))]


def _noticed_mm3(draw: Draw, *, wall_mm: float) -> float:
    """Undercut that the silicone notices: none where it need hardly give."""
    shut_in = draw.regions is not None and any(region.depth_mm is None for region in draw.regions)
    notices = shut_in or (draw.undercut_depth_mm or 0.0) > FREE_GIVE_RATIO * wall_mm
    return draw.undercut_mm3 if notices else 0.0


def _seam_bands(draws: Sequence[Draw], mesh: Mesh) -> list[int]:
    """How much more seam on show each draw has than the best, in tenths of the part's size: less is no difference."""
    least = min(draw.seam_on_show_mm for draw in draws)
    band_mm = SEAM_BAND_RATIO * float(np.ptp(mesh.vertices_mm, axis=0).max())
    return [int((draw.seam_on_show_mm - least) / band_mm) for draw in draws]


def draw_along(part: Part, direction: FloatArray) -> Draw:
    """One draw direction with its undercut regions and the reach of every face.

    Raises
    ------
    BadRequest
        If `direction` has no length or is not finite.
    """
    d = frame_of(direction)[2]
    undercut = find_undercut(part.mesh, d)
    depths = [region.depth_mm for region in undercut.regions]
    known = [depth for depth in depths if depth is not None]
    return Draw(
        direction=d,
        undercut_mm3=undercut.volume_mm3,
        undercut_mm2=undercut.area_mm2,
        undercut_depth_mm=max(known, default=0.0),
        seam_on_show_mm=float(seams_on_show_mm(part, d[None])[0]),
        height_mm=undercut.height_mm,
        pitch_mm=undercut.pitch_mm,
        regions=undercut.regions,
        reach=undercut.reach,
    )


def hemisphere(count: int) -> FloatArray:
    """`count` unit directions (count, 3) spread evenly over the upper hemisphere (a golden-angle spiral).

    >>> bool((hemisphere(100)[:, 2] > 0).all())
    True
    """
    k = np.arange(count) + 0.5
    z = 1.0 - k / count
    turn = k * np.pi * (3.0 - np.sqrt(5.0))
    across = np.sqrt(1.0 - z * z)
    return np.stack([across * np.cos(turn), across * np.sin(turn), z], axis=1)


def special_directions(mesh: Mesh) -> FloatArray:
    """Directions worth trying exactly: the axes, then the normals of the largest flat areas, (k, 3) unit."""
    vectors = face_vectors_mm2(mesh)
    areas_mm2 = np.linalg.norm(vectors, axis=1)
    keys = np.round(face_normals(mesh) * np.where(vectors[:, 2:] < 0, -1.0, 1.0), 3)
    groups, group = np.unique(keys, axis=0, return_inverse=True)
    weights = np.bincount(group.ravel(), weights=areas_mm2)
    largest = np.argsort(-weights)[:FLAT_DIRECTIONS]
    flat = [frame_along(groups[n])[2] for n in largest if np.linalg.norm(groups[n]) > 0.5]
    return np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], *flat])


def seams_on_show_mm(part: Part, directions: FloatArray) -> FloatArray:
    """Length of seam (k,) in mm that a draw along each direction (k, 3) leaves on show faces, where faces turn over.

    A vertical wall may carry the seam at either of its ends; the end with less on show counts.
    """
    edges = edges_of(part.mesh)
    normals = face_normals(part.mesh)
    shown = marked(part, FaceMark.SHOW)[edges.faces].all(axis=1)
    lengths_mm = edge_lengths_mm(part.mesh, edges)[shown]
    one, other = edges.faces[shown].T
    seams = []
    for direction in directions:
        lean = normals @ direction
        ends = [up[one] != up[other] for up in (lean > VERTICAL_COSINE, lean >= -VERTICAL_COSINE)]
        seams.append(min(float(lengths_mm[turns_over].sum()) for turns_over in ends))
    return np.array(seams)


def _sweep(mesh: Mesh, directions: FloatArray, *, resolution: int) -> FloatArray:
    frames = np.array([frame_along(direction) for direction in directions])
    swept: FloatArray = sweep_voids(mesh.vertices_mm, mesh.faces, frames, resolution)
    return swept


def _noise_mm3(mesh: Mesh) -> float:
    """Undercut below this is noise of the raster."""
    return NOISE_RATIO * float(np.prod(np.ptp(mesh.vertices_mm, axis=0)))


def _distinct(candidates: FloatArray, *, order: IntArray, keep: int) -> list[int]:
    """The first `keep` candidates in `order`, leaving out those within half a degree of one already taken."""
    taken: list[int] = []
    for n in order:
        if len(taken) == keep:
            break
        if all(abs(float(candidates[n] @ candidates[m])) < np.cos(np.radians(0.5)) for m in taken):
            taken.append(int(n))
    return taken
