"""Trapped air for many pour directions at once, each with its gate at its own highest peak."""

import numpy as np
from numba import njit, prange

from firstpour.kernels.dexels import SLACK, count_crossings, fill_crossings
from firstpour.kernels.pockets import (
    INTO,
    INTO_OPEN,
    LEVEL,
    PEAK,
    RECORD,
    SHOW_VOLUME,
    VOLUME,
    node_columns,
    order_from_top,
    rise,
)

TRAPPED, SHOW, PEAKS, UNRESOLVED, HEIGHT, PITCH, TOP = 0, 1, 2, 3, 4, 5, 6
TOTAL = 7
P_X, P_Y, P_Z, P_AIR, P_SHOW, P_FACE, P_LEVEL, P_TOP = 0, 1, 2, 3, 4, 5, 6, 7
PEAK_ROW = 8


@njit(cache=True)
def grid_pixels(vertices, frame, resolution):  # type: ignore[no-untyped-def]
    """Vertices in the frame's pixels (n, 3), with origin u, v (mm), pitch (mm), nx, ny, lowest and highest level (mm)."""
    n = vertices.shape[0]
    pix = np.empty((n, 3), np.float64)
    low_x = low_y = low_z = np.inf
    high_x = high_y = high_z = -np.inf
    for v in range(n):
        x, y, z = vertices[v, 0], vertices[v, 1], vertices[v, 2]
        px = frame[0, 0] * x + frame[0, 1] * y + frame[0, 2] * z
        py = frame[1, 0] * x + frame[1, 1] * y + frame[1, 2] * z
        pz = frame[2, 0] * x + frame[2, 1] * y + frame[2, 2] * z
        pix[v, 0], pix[v, 1], pix[v, 2] = px, py, pz
        low_x, high_x = min(low_x, px), max(high_x, px)
        low_y, high_y = min(low_y, py), max(high_y, py)
        low_z, high_z = min(low_z, pz), max(high_z, pz)
    pitch = max(high_x - low_x, high_y - low_y) / resolution
    inv = 1.0 / pitch
    for v in range(n):
        pix[v, 0] = (pix[v, 0] - low_x) * inv - 0.5
        pix[v, 1] = (pix[v, 1] - low_y) * inv - 0.5
    nx = max(1, int(np.ceil((high_x - low_x) * inv - SLACK)))
    ny = max(1, int(np.ceil((high_y - low_y) * inv - SLACK)))
    return pix, low_x + 0.5 * pitch, low_y + 0.5 * pitch, pitch, nx, ny, low_z, high_z


@njit(cache=True)
def node_place(node, column, nx, origin_u, origin_v, pitch, z, frame, place):  # type: ignore[no-untyped-def]
    """Write the top of the node into `place` (3,), in the part's coordinates, mm."""
    u = origin_u + (column[node] % nx) * pitch
    v = origin_v + (column[node] // nx) * pitch
    w = z[2 * node + 1]
    for k in range(3):
        place[k] = frame[0, k] * u + frame[1, k] * v + frame[2, k] * w


@njit(cache=True)
def one_pour(vertices, faces, marks, frame, resolution, accept, total, peaks):  # type: ignore[no-untyped-def]
    """Fill `total` (7,) and `peaks` (p, 8) for one direction; row 0 of `peaks` is the gate, then the peaks cut off."""
    pix, origin_u, origin_v, pitch, nx, ny, low, high = grid_pixels(vertices, frame, resolution)
    counts = count_crossings(pix, faces, nx, ny)
    offsets = np.zeros(nx * ny + 1, np.int64)
    for c in range(nx * ny):
        offsets[c + 1] = offsets[c] + (counts[c] & ~1)
        if counts[c] & 1:
            total[TRAPPED] = np.nan
            return
    total[HEIGHT], total[PITCH], total[TOP] = high - low, pitch, high
    z, face = fill_crossings(pix, faces, nx, ny, offsets)
    n = z.shape[0] // 2
    if n == 0:
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


@njit(cache=True, parallel=True)
def sweep_pours(vertices, faces, marks, frames, resolution, accept, most_peaks):  # type: ignore[no-untyped-def]
    """For each frame (k, 3, 3): totals (k, 7) and the peaks (k, most_peaks, 8) with more air than `accept` mm³.

    Totals: trapped air, that under show faces (mm³), peaks besides the gate, shallow peaks not resolved, height, pitch,
    highest level (mm); trapped is not a number where a line is open. A peak row: place (part's coordinates, mm), air, air
    under show faces, face, sealing level, top; a face of −1: no peak.
    """
    total = np.zeros((frames.shape[0], TOTAL), np.float64)
    peaks = np.zeros((frames.shape[0], most_peaks, PEAK_ROW), np.float64)
    peaks[:, :, P_FACE] = -1.0
    for d in prange(frames.shape[0]):
        one_pour(vertices, faces, marks, frames[d], resolution, accept, total[d], peaks[d])
    return total, peaks
