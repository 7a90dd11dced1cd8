"""Loops of voids, against an independent homology: the nerve of the voids as a simplicial complex of gudhi."""

from itertools import combinations

import gudhi
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.kernels import voids as kernel
from firstpour.kernels.openings import loops_by_region

NX, NY = 6, 5


@st.composite
def one_sheet(draw):
    """Lines that enter at 0 and leave at 10, solid or with one void between that all share, in an empty frame."""
    inside = draw(st.lists(st.booleans(), min_size=NX * NY, max_size=NX * NY))
    rows = []
    for j in range(-2, NY + 2):
        for i in range(-2, NX + 2):
            if 0 <= i < NX and 0 <= j < NY:
                rows.append([0.0, 4.0, 6.0, 10.0] if inside[j * NX + i] else [0.0, 10.0])
            else:
                rows.append([])
    return rows


def packed(rows):
    offsets = np.concatenate([[0], np.cumsum([len(row) for row in rows])])
    return offsets.astype(np.int64), np.concatenate([np.array(row) for row in rows])


def loops(rows, nx, ny):
    offsets, z = packed(rows)
    first = kernel.first_void(offsets)
    region = kernel.join_voids(offsets, z, first, nx, ny)
    count = int(region.max()) + 1 if len(region) else 0
    return loops_by_region(offsets, z, first, region, count, nx, ny), region


def betti_of_pair(cells, exits):
    """Loops of the sheet of `cells` (x, y) with its `exits` shrunk to a point: H1 of sheet and cone, by gudhi."""
    tree, apex = gudhi.SimplexTree(), len(cells)
    number = {cell: k for k, cell in enumerate(cells)}

    def insert(group):
        simplex = [number[cell] for cell in group]
        tree.insert(simplex)
        if all(cell in exits for cell in group):
            tree.insert([*simplex, apex])

    for x, y in cells:
        insert([(x, y)])
        for dx, dy in ((1, 0), (0, 1)):
            if (x + dx, y + dy) in number:
                insert([(x, y), (x + dx, y + dy)])
        block = [(x, y), (x + 1, y), (x, y + 1), (x + 1, y + 1)]
        for three in combinations([cell for cell in block if cell in number], 3):
            insert(list(three))
        if all(cell in number for cell in block):
            insert(block)
    tree.compute_persistence(persistence_dim_max=True)
    return tree.betti_numbers()[1] if len(tree.betti_numbers()) > 1 else 0


@given(one_sheet())
@settings(max_examples=60, deadline=None)
def test_loops_are_the_homology_of_the_sheet_relative_to_its_exits(rows):
    nx, ny = NX + 4, NY + 4
    found, region = loops(rows, nx, ny)
    lines = [n for n, row in enumerate(rows) if len(row) == 4]
    for r in range(len(found)):
        cells = [(n % nx, n // nx) for n, of in zip(lines, region, strict=True) if of == r]
        beside = {c: [(c[0] + dx, c[1] + dy) for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))] for c in cells}
        out = {c for c in cells if any(len(rows[y * nx + x]) == 0 for x, y in beside[c])}
        wide = out | {c for c in cells if any(other in out for other in beside[c])}
        resolved = out and len(wide) < len(cells)
        assert found[r, 0] == (betti_of_pair(cells, wide) if resolved else 0)


def test_an_upright_ring_is_locked_and_a_groove_around_a_post_is_not():
    slot = [[0.0, 4.0, 6.0, 10.0] if 2 <= n % 12 < 10 and 1 <= n // 12 < 11 else [] for n in range(144)]
    ring = [row if row == [] or 4 <= n % 12 < 8 or False else [0.0, 10.0] for n, row in enumerate(slot)]
    assert loops(ring, 12, 12)[0][:, 0].tolist() == [1]
    post = [[0.0, 10.0] if 5 <= n % 12 < 7 and 5 <= n // 12 < 7 else row for n, row in enumerate(slot)]
    assert loops(post, 12, 12)[0].tolist() == [[0, 0]]


def test_voids_that_touch_at_a_corner_alone_are_not_joined():
    rows = [[] for _ in range(64)]
    for n in (18, 19, 20, 26, 27, 28, 34, 35, 36):
        rows[n] = [0.0, 10.0]
    for n in (18, 27):
        rows[n] = [0.0, 4.0, 6.0, 10.0]
    assert len(loops(rows, 8, 8)[0]) == 2


def test_a_slope_around_a_corner_is_no_loop():
    """Four voids that step down around a corner overlap in pairs, not all four: the corner is filled all the same."""
    rows = [[] for _ in range(100)]
    heights = {44: (3.0, 5.0), 45: (4.5, 9.0), 54: (4.5, 9.0), 55: (6.0, 9.5)}
    for n in range(100):
        if 2 <= n % 10 < 8 and 2 <= n // 10 < 8:
            low, high = heights.get(n, (4.6, 8.0))
            rows[n] = [0.0, low, high, 10.0]
    assert loops(rows, 10, 10)[0][0, 0] == 0
