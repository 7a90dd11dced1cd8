"""Trapped air: a merge tree of dexel intervals, walked from the top down, as the level of the fluid seen backwards.

Nodes (see `kernels.nodes`) are added from the highest top down. A group without an opening that meets another at
level L has been cut off there: what lies above L in it is a pocket. A contact across a crease of the roof opens lower
than both tops; it waits in a heap until the walk has come down to it.
"""

import numpy as np

from firstpour.kernels.compiled import compiled
from firstpour.kernels.nodes import contact_level, doubt_at, find, order_from_top
from firstpour.kernels.passages import contact_open

PEAK, LEVEL, VOLUME, SHOW_VOLUME, COLUMNS, INTO, DOUBT = 0, 1, 2, 3, 4, 5, 6
RECORD = 7
INTO_AIR, INTO_OPEN, INTO_NOTHING = 0.0, 1.0, 2.0
USED, UNRESOLVED, UNRESOLVED_AIR = 0, 1, 2
ROUNDING = 1e-9  # mm
SMALL = 64  # lines: an unresolved group up to this size still has its volume added up


@compiled()
def air_above(root, level, roofs, groups):  # type: ignore[no-untyped-def]
    """Length of air above `level` in the group of `root`, that under show faces, and its lines."""
    z, face, marks, _ = roofs
    following = groups[1]
    length = 0.0
    show = 0.0
    lines = 0
    n = root
    while n >= 0:
        piece = z[2 * n + 1] - max(level, z[2 * n])
        if piece > 0.0:
            length += piece
            lines += 1
            if marks[face[2 * n + 1]] & 1:
                show += piece
        n = following[n]
    return length, show, lines


@compiled()
def seal(root, level, into, doubt, roofs, groups, answer):  # type: ignore[no-untyped-def]
    """Write down the pocket of the group of `root` cut off at `level`."""
    trapped_from, records, tally = answer
    area = roofs[3]
    length, show, lines = air_above(root, level, roofs, groups)
    used = int(tally[USED])
    tally[USED] += 1
    if used < records.shape[0]:
        records[used, PEAK] = root
        records[used, LEVEL] = level
        records[used, VOLUME] = length * area
        records[used, SHOW_VOLUME] = show * area
        records[used, COLUMNS] = lines
        records[used, INTO] = into
        records[used, DOUBT] = doubt
    if into != INTO_AIR:
        n = root
        while n >= 0:
            trapped_from[n] = level
            n = groups[1][n]


@compiled()
def cut_off(gone, level, into, doubt, roofs, groups, answer):  # type: ignore[no-untyped-def]
    """The group of `gone` meets another at `level`: a pocket, or too shallow for the grid to tell."""
    depth = roofs[0][2 * gone + 1] - level
    tally = answer[2]
    if depth > doubt + ROUNDING:
        seal(gone, level, into, doubt, roofs, groups, answer)
    elif depth > ROUNDING:
        tally[UNRESOLVED] += 1
        if groups[3][gone] <= SMALL:
            tally[UNRESOLVED_AIR] += roofs[3] * air_above(gone, level, roofs, groups)[0]


@compiled()
def join(a, b, level, doubt, roofs, groups, answer):  # type: ignore[no-untyped-def]
    """Join the groups of a and b at `level`: the open one, else the one with the higher peak, takes the other."""
    parent, following, tail, size, opened = groups
    z = roofs[0]
    keep, gone = find(parent, a), find(parent, b)
    if keep == gone:
        return
    if not opened[keep] and (opened[gone] or z[2 * gone + 1] > z[2 * keep + 1]):
        keep, gone = gone, keep
    if not opened[gone]:
        cut_off(gone, level, INTO_OPEN if opened[keep] else INTO_AIR, doubt, roofs, groups, answer)
    parent[gone] = keep
    size[keep] += size[gone]
    following[tail[keep]] = gone
    tail[keep] = tail[gone]


@compiled()
def heap_push(levels, pairs, count, level, a, b):  # type: ignore[no-untyped-def]
    """Put the contact a–b into the heap of `count` contacts, the highest level first."""
    k = count
    while k > 0 and levels[(k - 1) // 2] < level:
        up = (k - 1) // 2
        levels[k], pairs[k, 0], pairs[k, 1] = levels[up], pairs[up, 0], pairs[up, 1]
        k = up
    levels[k], pairs[k, 0], pairs[k, 1] = level, a, b


@compiled()
def heap_pop(levels, pairs, count):  # type: ignore[no-untyped-def]
    """Take the highest contact out of the heap of `count`: its level and its two nodes."""
    level, a, b = levels[0], pairs[0, 0], pairs[0, 1]
    end = count - 1
    last, last_a, last_b = levels[end], pairs[end, 0], pairs[end, 1]
    k = 0
    while 2 * k + 1 < end:
        child = 2 * k + 1
        if child + 1 < end and levels[child + 1] > levels[child]:
            child += 1
        if levels[child] <= last:
            break
        levels[k], pairs[k, 0], pairs[k, 1] = levels[child], pairs[child, 0], pairs[child, 1]
        k = child
    levels[k], pairs[k, 0], pairs[k, 1] = last, last_a, last_b
    return level, a, b


@compiled()
def most_nodes(start):  # type: ignore[no-untyped-def]
    """The most nodes of any line."""
    most = 0
    for c in range(start.shape[0] - 1):
        most = max(most, start[c + 1] - start[c])
    return most


@compiled()
def rise(  # type: ignore[no-untyped-def]
    z, face, column, start, nx, ny, pix, faces, marks, pitch, open_node, open_level, source, passage,
    trapped_from, parent, records,
):  # fmt: skip
    """Walk the cavity from the top down and write down each pocket.

    `open_node` (o,) and `open_level` (o,): openings from the highest to the lowest; none at all: the highest peak is
    open. Fills `trapped_from` (n,) with the level above which the node holds trapped air (+inf: none), `parent` (n,)
    with the group each node ends in, and `records` (k, 7): node of the peak, sealing level, air (mm³), air under
    show faces, lines, what it was cut off by, doubt of the grid. Gives the number of records (it may exceed k) and
    of the shallow ones the grid cannot tell from its own steps, with their air (mm³).
    """
    n = z.shape[0] // 2
    order = order_from_top(z)
    following = np.full(n, -1, np.int32)
    tail = np.arange(n).astype(np.int32)
    size = np.zeros(n, np.int32)
    opened = np.zeros(n, np.uint8)
    found = np.zeros((4, most_nodes(start) + 1), np.int32)
    heap_level, heap_pair, waiting = np.empty(256), np.empty((256, 2), np.int32), 0
    tally = np.zeros(3)
    roofs = (z, face, marks, pitch * pitch)
    groups = (parent, following, tail, size, opened)
    answer = (trapped_from, records, tally)
    for k in range(n):
        parent[k] = k
        trapped_from[k] = np.inf
    next_open = 0
    for k in range(n + 1):
        top = z[2 * order[k] + 1] if k < n else -np.inf
        while True:
            opening = next_open < open_node.shape[0] and open_level[next_open] > top
            if opening and size[open_node[next_open]] == 0:
                opening = False  # its own top equals this one to the last digits: not added yet
            crease = waiting > 0 and heap_level[0] > top
            if opening and not (crease and heap_level[0] > open_level[next_open]):
                root = find(parent, open_node[next_open])
                if opened[root] == 0:
                    doubt = doubt_at(open_node[next_open], face, pix, faces, pitch)
                    cut_off(root, open_level[next_open], INTO_OPEN, doubt, roofs, groups, answer)
                    opened[root] = 1
                next_open += 1
            elif crease:
                level, a, b = heap_pop(heap_level, heap_pair, waiting)
                waiting -= 1
                join(a, b, level, min(pitch, 2.0 * doubt_at(a, face, pix, faces, pitch)), roofs, groups, answer)
            else:
                break
        if k == n:
            break
        m = order[k]
        size[m] = 1
        if k == 0 and open_node.shape[0] == 0:
            opened[m] = 1
        x, y = column[m] % nx, column[m] // nx
        for side in range(4):
            beside = column[m] + (1, -1, nx, -nx)[side]
            count = 0
            if (x < nx - 1, x > 0, y < ny - 1, y > 0)[side]:
                for q in range(start[beside], start[beside + 1]):
                    if size[q] == 0 or z[2 * q] >= top or z[2 * m] >= z[2 * q + 1]:
                        continue
                    if passage > 0.0 and not contact_open(m, q, z, column, nx, ny, start, source, passage, pitch):
                        continue
                    count += 1
                    found[side, count] = q
            found[side, 0] = count
        for side in range(4):
            # a crease runs beside a line only if what lies on both sides of it is higher
            valley = found[side, 0] > 0 and found[side ^ 1, 0] > 0
            for f in range(1, found[side, 0] + 1):
                q = found[side, f]
                level = contact_level(m, q, z, column, nx, face, pix, faces, pitch) if valley else top
                if level < top - ROUNDING:
                    if waiting == heap_level.shape[0]:
                        heap_level = np.concatenate((heap_level, np.empty(waiting)))
                        heap_pair = np.concatenate((heap_pair, np.empty((waiting, 2), np.int32)))
                    heap_push(heap_level, heap_pair, waiting, level, m, q)
                    waiting += 1
                    continue
                keep, gone = find(parent, q), find(parent, m)
                if keep == gone:
                    continue
                if gone == m and size[m] == 1 and not opened[m]:
                    parent[m] = keep
                    size[keep] += 1
                    following[tail[keep]] = m
                    tail[keep] = m
                else:
                    join(q, m, top, doubt_at(m, face, pix, faces, pitch), roofs, groups, answer)
    for k in range(n):
        if parent[k] == k and opened[k] == 0:
            seal(k, -np.inf, INTO_NOTHING, 0.0, roofs, groups, answer)
    for k in range(n):
        parent[k] = find(parent, k)
    return int(tally[USED]), int(tally[UNRESOLVED]), tally[UNRESOLVED_AIR]
