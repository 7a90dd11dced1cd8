"""How long, how uneven and how visible the seam of a draw would be, before any seam is cut."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstpour.part.part import FaceMark, Part, marked
from firstpour.parting.candidates import Bore
from firstpour.parting.undercut import VERTICAL_COSINE
from firstpour.parting.values import Reach
from firstpour.surface.edges import edge_lengths_mm, edges_of
from firstpour.values import BoolArray, FloatArray, IntArray, face_normals

WHOLE_COSINE = float(np.cos(np.radians(3.0)))
"""A bore stays whole if the draw runs within 3° of its axis."""
SHOW_WEIGHT = 3.0
RISE_WEIGHT = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamEstimate:
    """Length of the seam (mm), how much of it lies on show faces, its rise along the draw, and bores that it splits.

    `rise_mm` is the standard deviation of its height times √12: the height of an even ramp. `bore_mm` is the length
    of seam along the walls of the bores split, two lines each.
    """

    length_mm: float
    on_show_mm: float
    rise_mm: float
    bore_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeamEdges:
    """The edges of a part where a seam may run: lengths (e,), middles (e, 3), faces (e, 2), and whether on show."""

    lengths_mm: FloatArray
    middles_mm: FloatArray
    faces: IntArray
    shown: BoolArray
    normals: FloatArray


def seam_edges(part: Part) -> SeamEdges:
    """The edges between faces that are not in one plane."""
    mesh, edges, normals = part.mesh, edges_of(part.mesh), face_normals(part.mesh)
    one, other = normals[edges.faces[:, 0]], normals[edges.faces[:, 1]]
    bent = np.flatnonzero(np.einsum("ij,ij->i", one, other) < 1.0 - 1e-9)
    ends = mesh.vertices_mm[edges.ends[bent]]
    return SeamEdges(
        lengths_mm=edge_lengths_mm(mesh, edges)[bent],
        middles_mm=ends.mean(axis=1),
        faces=edges.faces[bent],
        shown=np.asarray(marked(part, FaceMark.SHOW)[edges.faces[bent]].all(axis=1), np.bool_),
        normals=normals,
    )


def estimate_seam(
    edges: SeamEdges,
    direction: FloatArray,
    *,
    bores: Sequence[Bore] = (),
    reach: NDArray[np.uint8] | None = None,
) -> SeamEstimate:
    """The seam of a draw along ±`direction` (3,) unit: the edges where the faces turn over.

    A vertical wall may carry the seam at either of its ends; the better end counts. An undercut goes whole to one of
    the halves, so where the `reach` (m,) of the faces along the draw is given, an edge counts by half for each of its
    two faces that its own half reaches: the two lips of a groove are one seam, and its bottom is none.
    """
    lean = edges.normals @ direction
    one, other = edges.faces.T
    bore_mm = sum(2.0 * bore.long_mm for bore in bores if abs(float(bore.axis @ direction)) < WHOLE_COSINE)
    ends = []
    for up in (lean > VERTICAL_COSINE, lean >= -VERTICAL_COSINE):
        turning = np.flatnonzero(up[one] != up[other])
        shares = np.ones(len(turning))
        if reach is not None:
            reached = (reach == Reach.BOTH) | (reach == np.where(up, Reach.ABOVE, Reach.BELOW))
            shares = reached[edges.faces[turning]].mean(axis=1)
        ends.append(_measured(edges, turning, shares, direction, bore_mm=bore_mm))
    return min(ends, key=lambda end: seam_trouble_mm(end.length_mm, on_show_mm=end.on_show_mm, rise_mm=end.rise_mm))


def seam_trouble_mm(length_mm: float, *, on_show_mm: float, rise_mm: float) -> float:
    """Length of a seam, what lies on show counted four times in all and each mm of rise twice (decision 0021).

    >>> seam_trouble_mm(100, on_show_mm=10, rise_mm=5)
    140.0
    """
    return length_mm + SHOW_WEIGHT * on_show_mm + RISE_WEIGHT * rise_mm


def _measured(
    edges: SeamEdges, turning: IntArray, shares: FloatArray, direction: FloatArray, *, bore_mm: float
) -> SeamEstimate:
    """What the turning edges come to, each counted with its share."""
    lengths_mm = shares * edges.lengths_mm[turning]
    total_mm = float(lengths_mm.sum())
    if total_mm == 0.0:
        return SeamEstimate(length_mm=0.0, on_show_mm=0.0, rise_mm=0.0, bore_mm=bore_mm)
    heights_mm = edges.middles_mm[turning] @ direction
    spread_mm2 = np.average((heights_mm - np.average(heights_mm, weights=lengths_mm)) ** 2, weights=lengths_mm)
    return SeamEstimate(
        length_mm=total_mm,
        on_show_mm=float(lengths_mm[edges.shown[turning]].sum()),
        rise_mm=float(np.sqrt(12.0 * spread_mm2)),
        bore_mm=bore_mm,
    )
