"""Voids between solids, joined into regions, against slow twins."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.kernels import voids as kernel

NX, NY = 5, 4


@st.composite
def lines(draw):
    """Offsets and crossings of NX × NY lines, none to four solids on each, at distinct whole and half heights."""
    offsets, z = [0], []
    for _ in range(NX * NY):
        solids = draw(st.integers(0, 4))
        heights = draw(st.lists(st.integers(0, 40), min_size=2 * solids, max_size=2 * solids, unique=True))
        z += sorted(heights)
        offsets.append(len(z))
    return np.array(offsets, np.int64), np.array(z, np.float64)


def voids_slowly(offsets, z):
    """Line, low and high of each void, in order."""
    found = []
    for n in range(NX * NY):
        here = z[offsets[n] : offsets[n + 1]]
        found += [(n, here[k], here[k + 1]) for k in range(1, len(here) - 1, 2)]
    return found


def regions_slowly(voids):
    """Sets of voids that can be reached from each other, by search."""
    left, regions = set(range(len(voids))), []
    while left:
        waiting, region = [left.pop()], set()
        while waiting:
            v = waiting.pop()
            region.add(v)
            touching = {w for w in left if touch(voids[v], voids[w])}
            left -= touching
            waiting += touching
        regions.append(frozenset(region))
    return set(regions)


def touch(a, b):
    beside = abs(a[0] % NX - b[0] % NX) + abs(a[0] // NX - b[0] // NX) == 1
    return beside and min(a[2], b[2]) > max(a[1], b[1])


@given(lines())
@settings(max_examples=40, deadline=None)
def test_voids_are_listed_as_the_slow_twin_lists_them(lines_):
    offsets, z = lines_
    line, low, high = kernel.list_voids(offsets, z, kernel.first_void(offsets))
    assert list(zip(line.tolist(), low.tolist(), high.tolist(), strict=True)) == voids_slowly(offsets, z)


@given(lines())
@settings(max_examples=40, deadline=None)
def test_regions_are_those_of_a_search(lines_):
    offsets, z = lines_
    region = kernel.join_voids(offsets, z, kernel.first_void(offsets), NX, NY)
    found = {frozenset(np.flatnonzero(region == r).tolist()) for r in np.unique(region)}
    assert found == regions_slowly(voids_slowly(offsets, z))
    assert sorted(set(region.tolist())) == list(range(len(found)))


@given(lines())
@settings(max_examples=40, deadline=None)
def test_exits_are_the_free_lines_beside_a_region(lines_):
    offsets, z = lines_
    first = kernel.first_void(offsets)
    region = kernel.join_voids(offsets, z, first, NX, NY)
    of_region, line, beside, way = kernel.list_exits(offsets, z, first, region, NX, NY)
    wanted = []
    for v, (n, low, high) in enumerate(voids_slowly(offsets, z)):
        for di, dj in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            i, j = n % NX + di, n // NX + dj
            if not (0 <= i < NX and 0 <= j < NY):
                wanted.append((region[v], n, -1, 3))
                continue
            there = z[offsets[j * NX + i] : offsets[j * NX + i + 1]]
            up, down = (len(there) == 0 or high > there[-1]), (len(there) == 0 or low < there[0])
            if up or down:
                wanted.append((region[v], n, j * NX + i, up + 2 * down))
    found = zip(of_region.tolist(), line.tolist(), beside.tolist(), way.tolist(), strict=True)
    assert sorted(found) == sorted(wanted)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_the_reach_of_a_single_sample_is_that_of_its_line(seed):
    random = np.random.default_rng(seed)
    pix = random.uniform(-0.4, 4.4, (30, 3))
    faces = random.integers(0, 30, (20, 3))
    across = random.uniform(-1, 1, (20, 3))
    bottom = random.uniform(0, 2, (NY, NX))
    top = bottom + random.uniform(0, 2, (NY, NX))
    shares = kernel.reach_shares(pix, faces, across, bottom, top, NX, NY, np.ones(20, np.int64))
    for f in range(20):
        x, y, z = pix[faces[f]].mean(axis=0) + across[f]
        i, j = int(np.floor(x + 0.5)), int(np.floor(y + 0.5))
        above = below = True
        if 0 <= i < NX and 0 <= j < NY:
            above, below = z > top[j, i], z < bottom[j, i]
        assert shares[f].tolist() == [above, below, not (above or below)]
