"""The pieces as they stand on the printer."""

from collections.abc import Sequence

import numpy as np

from firstpour.mould.values import Piece, Role
from firstpour.values import FloatArray, Mesh, moved, turned


def on_the_bed(piece: Piece) -> Mesh:
    """The piece turned as it is printed, its lowest corner at the origin."""
    mesh = turned(piece.mesh, rotation=piece.print_turn)
    return moved(mesh, offset_mm=-mesh.vertices_mm.min(axis=0))


def printed(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The pieces that come from the printer: all but the silicone."""
    return tuple(piece for piece in pieces if piece.role is not Role.SILICONE)


def places_side_by_side_mm(sizes_mm: Sequence[FloatArray], *, gap_mm: float = 10.0) -> FloatArray:
    """Where each lowest corner goes (k, 3) so that boxes of these sizes stand in rows without touching.

    >>> places_side_by_side_mm([np.array([20.0, 10.0, 5.0]), np.array([20.0, 10.0, 5.0])])[:, :2].tolist()
    [[0.0, 0.0], [0.0, 20.0]]
    """
    widest = max((float(size[0]) for size in sizes_mm), default=0.0)
    row_mm = max(widest, 1.3 * float(np.sqrt(sum(float(size[0] * size[1]) for size in sizes_mm))))
    places = np.zeros((len(sizes_mm), 3))
    x = y = deep = 0.0
    for k, size in enumerate(sizes_mm):
        if x > 0.0 and x + float(size[0]) > row_mm:
            x, y, deep = 0.0, y + deep + gap_mm, 0.0
        places[k, :2] = x, y
        x, deep = x + float(size[0]) + gap_mm, max(deep, float(size[1]))
    return places
