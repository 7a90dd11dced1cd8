"""Trapped air for many pour directions at once, each with its gate at its own highest peak."""

import numpy as np
from numpy.typing import NDArray

from firstpour.kernels.compiled import compiled
from firstpour.kernels.dexels import dexel_lines
from firstpour.kernels.nodes import grid_pixels, node_columns, odd_lines, order_from_top
from firstpour.kernels.pockets import (
    COLUMNS,
    INTO,
    INTO_OPEN,
    LEVEL,
    PEAK,
    RECORD,
    SHOW_VOLUME,
    VOLUME,
    rise,
)
from firstpour.kernels.threads import in_shares
from firstpour.values import FloatArray, IntArray

TRAPPED, SHOW, PEAKS, UNRESOLVED, HEIGHT, PITCH, TOP = 0, 1, 2, 3, 4, 5, 6
TOTAL = 7
FEW = 4  # lines: a smaller pocket is not resolved
P_X, P_Y, P_Z, P_AIR, P_SHOW, P_FACE, P_LEVEL, P_TOP = 0, 1, 2, 3, 4, 5, 6, 7
PEAK_ROW = 8


@compiled()
def node_place(node, column, nx, origin_u, origin_v, pitch, z, frame, place):  # type: ignore[no-untyped-def]
    """Write the top of the node into `place` (3,), in the part's coordinates, mm."""
    u = origin_u + (column[node] % nx) * pitch
    v = origin_v + (column[node] // nx) * pitch
    w = z[2 * node + 1]
    for k in range(3):
        place[k] = frame[0, k] * u + frame[1, k] * v + frame[2, k] * w


@compiled()
def one_pour(vertices, faces, marks, frame, resolution, accept, total, peaks):  # type: ignore[no-untyped-def]
    """Fill `total` (7,) and `peaks` (p, 8) for one direction; row 0 of `peaks` is the gate, then those cut off."""
    pix, origin_u, origin_v, pitch, nx, ny, low, high = grid_pixels(vertices, frame, resolution)
    total[HEIGHT], total[PITCH], total[TOP] = high - low, pitch, high
    offsets, z, face = dexel_lines(pix, faces, nx, ny)
    n = z.shape[0] // 2
    if n == 0 or odd_lines(offsets):
        total[TRAPPED] = np.nan
        return
    column, start = node_columns(offsets)
    records = np.empty((4 * peaks.shape[0], RECORD), np.float64)
    used, unresolved, _ = rise(
        z, face, column, start, nx, ny, pix, faces, marks, pitch,
        np.empty(0, np.int32), np.empty(0, np.float64), np.empty(0, np.int32), 0.0,
        np.empty(n, np.float64), np.empty(n, np.int32), records,
    )  # fmt: skip
    total[UNRESOLVED] = unresolved
    gate = order_from_top(z)[0]
    node_place(gate, column, nx, origin_u, origin_v, pitch, z, frame, peaks[0])
    peaks[0, P_FACE], peaks[0, P_TOP] = face[2 * gate + 1], z[2 * gate + 1]
    row = 1
    for r in range(used):
        if r >= records.shape[0]:
            total[PEAKS] += 1
            continue
        if records[r, COLUMNS] < FEW:
            continue
        if records[r, INTO] == INTO_OPEN:
            total[TRAPPED] += records[r, VOLUME]
            total[SHOW] += records[r, SHOW_VOLUME]
        if records[r, VOLUME] <= accept:
            continue
        total[PEAKS] += 1
        if row < peaks.shape[0]:
            node = int(records[r, PEAK])
            node_place(node, column, nx, origin_u, origin_v, pitch, z, frame, peaks[row])
            peaks[row, P_AIR], peaks[row, P_SHOW] = records[r, VOLUME], records[r, SHOW_VOLUME]
            peaks[row, P_FACE], peaks[row, P_LEVEL] = face[2 * node + 1], records[r, LEVEL]
            peaks[row, P_TOP] = z[2 * node + 1]
            row += 1


@compiled(nogil=True)
def sweep_some(vertices, faces, marks, frames, resolution, accept, total, peaks):  # type: ignore[no-untyped-def]
    """`one_pour` for each of the frames (k, 3, 3) into `total` (k, 7) and `peaks` (k, p, 8)."""
    for d in range(frames.shape[0]):
        one_pour(vertices, faces, marks, frames[d], resolution, accept, total[d], peaks[d])


def sweep_pours(
    vertices: FloatArray,
    faces: IntArray,
    marks: NDArray[np.uint8],
    frames: FloatArray,
    resolution: int,
    accept: float,
    most_peaks: int,
) -> tuple[FloatArray, FloatArray]:
    """For each frame (k, 3, 3): totals (k, 7) and the peaks (k, most_peaks, 8) with more air than `accept` mm³.

    Totals: trapped air, that under show faces (mm³), peaks besides the gate, shallow peaks not resolved, height,
    pitch, highest level (mm); trapped is not a number where a line is open. A peak row: place (part's
    coordinates, mm), air, air under show faces, face, sealing level, top; a face of −1: no peak.
    """
    total = np.zeros((len(frames), TOTAL))
    peaks = np.zeros((len(frames), most_peaks, PEAK_ROW))
    peaks[:, :, P_FACE] = -1.0

    def share(first: int, last: int) -> None:
        sweep_some(
            vertices, faces, marks, frames[first:last], resolution, accept, total[first:last], peaks[first:last]
        )

    in_shares(share, len(frames))
    return total, peaks
