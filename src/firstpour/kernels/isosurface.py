"""The surface of a field on a grid: one vertex for each sheet in a cell, one quad for each crossed grid edge.

The solid is where the field lies below the level. Corners of a cell: bit 0 is x, bit 1 is y, bit 2 is z. Edge
4·a + b + 2·c runs along axis a, at offset b on the next axis and c on the one after. Face 2·a + s is normal to
axis a at side s. A face with two inside corners across from each other cuts each of them off by itself. That
depends on the face alone, so neighbours agree and the surface is closed whatever the field.

The dual form (vertices in cells) is that of Gibson, "Constrained elastic surface nets", MICCAI 1998, with one
vertex for each sheet as in Nielson, "Dual marching cubes", IEEE Visualization 2004, doi:10.1109/VISUAL.2004.28.
Where both sheets of a face join the same two vertices, that form has an edge with four faces: there the two edges
are kept apart by a vertex in the middle of each, which is ours.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from firstpour.kernels.compiled import compiled
from firstpour.values import FloatArray, IntArray


class CaseTable(NamedTuple):
    """For each of the 256 ways to have corners inside: sheets, the sheet of each edge, faces joined twice."""

    sheets: NDArray[np.int32]
    """(256,) how many separate sheets cut the cell."""
    sheet_of: NDArray[np.int32]
    """(256, 12) which sheet crosses each edge, −1 for none."""
    joined_twice: NDArray[np.bool_]
    """(256, 6) whether both segments on the face belong to one sheet."""


def corner_of(edge: int, end: int) -> int:
    """The corner at the low (0) or high (1) end of a cell's edge.

    >>> [corner_of(5, end) for end in (0, 1)]  # along y, at z = 1, x = 0
    [4, 6]
    """
    a, b, c = edge // 4, edge % 2, edge % 4 // 2
    return (end << a) | (b << (a + 1) % 3) | (c << (a + 2) % 3)


def _face_ring(face: int) -> tuple[list[int], list[int]]:
    """Corners of a face in order, and the edges from each to the next."""
    a, side = divmod(face, 2)
    b, c = (a + 1) % 3, (a + 2) % 3
    corners = [(side << a) | (u << b) | (v << c) for u, v in ((0, 0), (1, 0), (1, 1), (0, 1))]
    ends = {frozenset((corner_of(edge, 0), corner_of(edge, 1))): edge for edge in range(12)}
    return corners, [ends[frozenset((corners[k], corners[(k + 1) % 4]))] for k in range(4)]


def _segments(case: int, face: int) -> list[tuple[int, int]]:
    """Pairs of edges that the surface joins across one face of the cell."""
    corners, edges = _face_ring(face)
    inside = [bool(case >> corner & 1) for corner in corners]
    crossed = [edges[k] for k in range(4) if inside[k] != inside[(k + 1) % 4]]
    if len(crossed) == 4:
        return [(edges[k - 1], edges[k]) for k in range(4) if inside[k]]
    return [(crossed[0], crossed[1])] if crossed else []


@lru_cache(maxsize=1)
def case_table() -> CaseTable:
    """Work out the table from the geometry of the cube (once a run, some milliseconds)."""
    sheets = np.zeros(256, np.int32)
    sheet_of = np.full((256, 12), -1, np.int32)
    joined_twice = np.zeros((256, 6), np.bool_)
    for case in range(256):
        joins = [_segments(case, face) for face in range(6)]
        label = {edge: edge for pairs in joins for pair in pairs for edge in pair}
        for p, q in (pair for pairs in joins for pair in pairs):
            old, new = label[p], label[q]
            label = {edge: new if value == old else value for edge, value in label.items()}
        names = sorted(set(label.values()))
        sheets[case] = len(names)
        for edge, value in label.items():
            sheet_of[case, edge] = names.index(value)
        joined_twice[case] = [len(pairs) == 2 and label[pairs[0][0]] == label[pairs[1][0]] for pairs in joins]
    return CaseTable(sheets, sheet_of, joined_twice)


def isosurface(
    values: FloatArray, level: float, origin_mm: FloatArray, pitch_mm: float
) -> tuple[FloatArray, IntArray]:
    """Vertices (n, 3) in mm and outward-wound faces (m, 3) of the solid where `values` (nz, ny, nx) < `level`.

    Node (k, j, i) sits at `origin_mm` + pitch_mm · (i, j, k). The outermost nodes must all lie outside.
    """
    table = case_table()
    case, first, total = number_vertices(values, level, table.sheets)
    vertices = place_vertices(values, level, case, first, total, table.sheet_of)
    faces, tangled = join_quads(values, level, case, first, vertices, table.sheet_of, table.joined_twice)
    if len(tangled):
        vertices, faces = _untangle(values, level, case, first, vertices, faces, tangled)
    return np.asarray(origin_mm) + pitch_mm * vertices, faces


@compiled()
def number_vertices(values, level, sheets):  # type: ignore[no-untyped-def]
    """Case of each cell, number of its first vertex, and how many vertices there are."""
    nz, ny, nx = values.shape
    case = np.zeros((nz - 1, ny - 1, nx - 1), np.uint8)
    first = np.zeros((nz - 1, ny - 1, nx - 1), np.int32)
    total = 0
    for k in range(nz - 1):
        for j in range(ny - 1):
            left = 0
            for corner in range(4):
                if values[k + corner // 2, j + corner % 2, 0] < level:
                    left |= 1 << (2 * corner)
            for i in range(nx - 1):
                right = 0
                for corner in range(4):
                    if values[k + corner // 2, j + corner % 2, i + 1] < level:
                        right |= 1 << (2 * corner)
                code = left | (right << 1)
                case[k, j, i] = code
                first[k, j, i] = total
                total += sheets[code]
                left = right
    return case, first, total


@compiled()
def place_vertices(values, level, case, first, total, sheet_of):  # type: ignore[no-untyped-def]
    """Vertices (total, 3) in pitches: the mean of the points where a sheet crosses the edges of its cell."""
    vertices = np.zeros((total, 3), np.float64)
    crossings = np.zeros(total, np.int32)
    nz, ny, nx = case.shape
    step = np.empty(3, np.int64)
    for k in range(nz):
        for j in range(ny):
            for i in range(nx):
                code = case[k, j, i]
                if code == 0 or code == 255:
                    continue
                for edge in range(12):
                    sheet = sheet_of[code, edge]
                    if sheet < 0:
                        continue
                    axis = edge // 4
                    step[axis] = 0
                    step[(axis + 1) % 3] = edge % 2
                    step[(axis + 2) % 3] = edge % 4 // 2
                    x, y, z = i + step[0], j + step[1], k + step[2]
                    low = values[z, y, x]
                    high = values[z + (axis == 2), y + (axis == 1), x + (axis == 0)]
                    v = first[k, j, i] + sheet
                    vertices[v, 0] += x
                    vertices[v, 1] += y
                    vertices[v, 2] += z
                    vertices[v, axis] += (level - low) / (high - low)
                    crossings[v] += 1
    for v in range(total):
        for axis in range(3):
            vertices[v, axis] /= crossings[v]
    return vertices


@compiled()
def join_quads(values, level, case, first, vertices, sheet_of, joined_twice):  # type: ignore[no-untyped-def]
    """Two triangles for each crossed edge (m, 3), and the crossed edges (axis, k, j, i) left for `_untangle`."""
    nz, ny, nx = values.shape
    count = 0
    for k in range(1, nz - 1):
        for j in range(1, ny - 1):
            for i in range(1, nx - 1):
                if values[k, j, i] < level:
                    count += values[k, j, i + 1] >= level
                    count += values[k, j, i - 1] >= level
                    count += values[k, j + 1, i] >= level
                    count += values[k, j - 1, i] >= level
                    count += values[k + 1, j, i] >= level
                    count += values[k - 1, j, i] >= level
    faces = np.empty((2 * count, 3), np.int64)
    tangled = np.empty((count, 4), np.int64)
    n, t = 0, 0
    quad = np.empty(4, np.int64)
    cells = np.empty(4, np.int64)
    back = np.zeros(3, np.int64)
    for k in range(nz - 1):
        for j in range(ny - 1):
            for i in range(nx - 1):
                low_inside = values[k, j, i] < level
                for axis in range(3):
                    high_inside = values[k + (axis == 2), j + (axis == 1), i + (axis == 0)] < level
                    if low_inside == high_inside:
                        continue
                    b, c = (axis + 1) % 3, (axis + 2) % 3
                    for corner in range(4):
                        back[axis] = 0
                        back[b] = 1 if corner == 0 or corner == 3 else 0
                        back[c] = 1 if corner < 2 else 0
                        code = case[k - back[2], j - back[1], i - back[0]]
                        cells[corner] = code
                        sheet = sheet_of[code, 4 * axis + back[b] + 2 * back[c]]
                        quad[corner] = first[k - back[2], j - back[1], i - back[0]] + sheet
                    if (
                        (joined_twice[cells[0], 2 * b + 1] and joined_twice[cells[1], 2 * b])
                        or (joined_twice[cells[1], 2 * c + 1] and joined_twice[cells[2], 2 * c])
                        or (joined_twice[cells[2], 2 * b] and joined_twice[cells[3], 2 * b + 1])
                        or (joined_twice[cells[3], 2 * c] and joined_twice[cells[0], 2 * c + 1])
                    ):
                        tangled[t, 0], tangled[t, 1], tangled[t, 2], tangled[t, 3] = axis, k, j, i
                        t += 1
                        continue
                    if not low_inside:
                        quad[1], quad[3] = quad[3], quad[1]
                    across, along = 0.0, 0.0
                    for x in range(3):
                        across += (vertices[quad[0], x] - vertices[quad[2], x]) ** 2
                        along += (vertices[quad[1], x] - vertices[quad[3], x]) ** 2
                    s = 0 if across <= along else 1
                    faces[n, 0], faces[n, 1], faces[n, 2] = quad[s], quad[s + 1], quad[(s + 2) % 4]
                    faces[n + 1, 0], faces[n + 1, 1], faces[n + 1, 2] = quad[s], quad[(s + 2) % 4], quad[(s + 3) % 4]
                    n += 2
    return faces[:n], tangled[:t]


def _untangle(
    values: FloatArray,
    level: float,
    case: NDArray[np.uint8],
    first: NDArray[np.int32],
    vertices: FloatArray,
    faces: IntArray,
    tangled: IntArray,
) -> tuple[FloatArray, IntArray]:
    """Add the quads left out, as fans about the point on their grid edge, with a vertex on each doubled side.

    Nodes are (x, y, z) here. Rare in smooth fields, so it may be slow.
    """
    table = case_table()
    points = list(vertices)
    middles: dict[tuple[tuple[int, ...], int, tuple[int, ...]], int] = {}
    triangles: list[tuple[int, int, int]] = []

    def value(node: IntArray) -> float:
        return float(values[node[2], node[1], node[0]])

    def crossing(inner: IntArray, outer: IntArray) -> FloatArray:
        share = (level - value(inner)) / (value(outer) - value(inner))
        return inner + share * (outer - inner).astype(np.float64)

    def middle(cell: IntArray, face_axis: int, edge_axis: int, inner: IntArray, outer: IntArray) -> int:
        """The vertex on the segment that cuts the inside node off; `cell` is the one on the high side."""
        other_axis = 3 - face_axis - edge_axis
        key = (tuple(inner.tolist()), face_axis, tuple(cell.tolist()))
        if key not in middles:
            other = inner.copy()
            other[other_axis] += 1 if cell[other_axis] == inner[other_axis] else -1
            middles[key] = len(points)
            points.append(0.5 * (crossing(inner, outer) + crossing(inner, other)))
        return middles[key]

    for axis, k, j, i in tangled.tolist():
        b, c = (axis + 1) % 3, (axis + 2) % 3
        low, along = np.array([i, j, k]), np.eye(3, dtype=np.int64)
        high = low + along[axis]
        low_inside = value(low) < level
        inner, outer = (low, high) if low_inside else (high, low)
        cells = [low - along[b] - along[c], low - along[c], low, low - along[b]]
        codes = [int(case[cell[2], cell[1], cell[0]]) for cell in cells]
        backs = [(1, 1), (0, 1), (0, 0), (1, 0)]
        ring: list[int] = []
        sides = [(b, 0, 1), (c, 1, 2), (b, 3, 2), (c, 0, 3)]  # the face's axis, the cells below and above it
        for corner, (face_axis, low_cell, high_cell) in enumerate(sides):
            cell, (back_b, back_c) = cells[corner], backs[corner]
            sheet = int(table.sheet_of[codes[corner], 4 * axis + back_b + 2 * back_c])
            ring.append(int(first[cell[2], cell[1], cell[0]]) + sheet)
            if (
                table.joined_twice[codes[low_cell], 2 * face_axis + 1]
                and table.joined_twice[codes[high_cell], 2 * face_axis]
            ):
                ring.append(middle(cells[high_cell], face_axis, axis, inner, outer))
        centre = len(points)
        points.append(crossing(inner, outer))
        if not low_inside:
            ring.reverse()
        triangles += [(centre, ring[n], ring[(n + 1) % len(ring)]) for n in range(len(ring))]
    return np.array(points), np.concatenate([faces, np.array(triangles, np.int64).reshape(-1, 3)])
