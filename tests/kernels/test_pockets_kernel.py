import heapq

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fill_shapes import SOLIDS, box_with_dome, part_of, tilted
from firstpour.fill.cavity import Cavity, cut_cavity, highest_place, opening_nodes
from firstpour.fill.pockets import find_pockets
from firstpour.kernels import nodes as kernel
from firstpour.kernels import pockets, pour_sweep
from firstpour.values import frame_along


@settings(max_examples=25)
@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=200))
def test_order_from_top_is_that_of_a_plain_sort(tops):
    z = np.zeros(2 * len(tops))
    z[1::2] = tops
    order = kernel.order_from_top(z)
    assert sorted(order) == list(range(len(tops)))
    assert np.array(tops)[order] == pytest.approx(sorted(tops, reverse=True), abs=1e-5)


@settings(max_examples=25)
@given(st.lists(st.floats(-10, 10), min_size=1, max_size=60))
def test_the_heap_gives_back_the_highest_first(levels):
    held, pairs = np.empty(64), np.empty((64, 2), np.int32)
    for count, level in enumerate(levels):
        pockets.heap_push(held, pairs, count, level, count, count + 1)
    out = [pockets.heap_pop(held, pairs, count) for count in range(len(levels), 0, -1)]
    assert [level for level, _, _ in out] == sorted(levels, reverse=True)
    assert all(levels[a] == level and b == a + 1 for level, a, b in out)


def reached_levels(cavity: Cavity, gate: int) -> np.ndarray:
    """Slow twin: the highest level from which each node reaches the gate, by widest paths and no merge tree."""
    d, column, start = cavity.dexels, cavity.column, cavity.start
    z, n = d.z_mm, len(d.z_mm) // 2
    rank = np.empty(n, int)
    rank[kernel.order_from_top(z)] = np.arange(n)
    ways: list[list[tuple[int, float]]] = [[] for _ in range(n)]
    for m in range(n):
        x, y = column[m] % d.nx, column[m] // d.nx
        sides: list[list[int]] = []
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            inside = 0 <= x + dx < d.nx and 0 <= y + dy < d.ny
            c = (y + dy) * d.nx + x + dx
            beside = range(start[c], start[c + 1]) if inside else []
            sides.append(
                [q for q in beside if rank[q] < rank[m] and z[2 * q] < z[2 * m + 1] and z[2 * m] < z[2 * q + 1]]
            )
        for k, side in enumerate(sides):
            for q in side:
                level = z[2 * m + 1]
                if sides[k ^ 1]:
                    level = kernel.contact_level(
                        m, q, z, column, d.nx, d.face, cavity.grid.pix, cavity.part.mesh.faces, d.pitch_mm
                    )
                ways[m].append((q, level))
                ways[q].append((m, level))
    best = np.full(n, -np.inf)
    best[gate] = z[2 * gate + 1]
    queue = [(-best[gate], gate)]
    while queue:
        level, m = heapq.heappop(queue)
        if -level < best[m]:
            continue
        for q, contact in ways[m]:
            through = min(-level, contact, z[2 * q + 1])
            if through > best[q]:
                best[q] = through
                heapq.heappush(queue, (-through, q))
    return best


@pytest.mark.parametrize(
    ("name", "up"), [("dome", tilted(14, 20)), ("table", -tilted(0)), ("u", tilted(6, 70)), ("ring", tilted(80, 33))]
)
def test_trapped_levels_are_those_of_widest_paths_to_the_gate(name, up):
    part = box_with_dome() if name == "dome" else part_of(SOLIDS[name])
    cavity = cut_cavity(part, up, resolution=40)
    gate = highest_place(cavity)
    fill = find_pockets(part, up=up, gate_mm=gate, resolution=40)
    reached = reached_levels(cavity, int(opening_nodes(cavity, gate[None])[0][0]))
    top = cavity.dexels.z_mm[1::2]
    held = top > fill.trapped_from_mm
    # a level may be that of the mesh's own saddle: within a pitch of the way that the grid sees
    assert fill.trapped_from_mm[held] == pytest.approx(reached[held], abs=fill.pitch_mm)
    shallow = ~held & (reached < top - 1e-6)
    assert (top[shallow] - reached[shallow] <= 2 * fill.pitch_mm).all()
    assert held.sum() > 10 or name == "ring"


def test_the_sweep_finds_what_each_direction_finds_alone():
    part = box_with_dome()
    ups = [tilted(a, b) for a, b in ((0, 0), (10, 0), (20, 50), (170, 10), (95, 200))]
    frames = np.stack([frame_along(up) for up in ups])
    total, peaks = pour_sweep.sweep_pours(part.mesh.vertices_mm, part.mesh.faces, part.marks, frames, 128, 0.1, 24)
    for up, row, found in zip(ups, total, peaks, strict=True):
        alone = find_pockets(part, up=up, resolution=128)
        assert row[pour_sweep.TRAPPED] == pytest.approx(alone.trapped_mm3, rel=0.01, abs=1.0)
        assert row[pour_sweep.PITCH] == pytest.approx(alone.pitch_mm)
        high = found[found[:, pour_sweep.P_FACE] >= 0]
        assert high[0, :3] @ up == pytest.approx(alone.gate_mm @ up, abs=1e-6)
