"""Constrained Delaunay triangulation in the plane: flips and points added one by one.

Triangles are counter-clockwise. `tri` (t, 3) vertex numbers; `beside` (t, 3) the triangle across the side that runs
from corner k to corner k + 1, −1 at the border; `fixed` (t, 3) whether that side may not be flipped. The arrays are
longer than what is in use and are changed in place.
"""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def orient(xy, a, b, c):  # type: ignore[no-untyped-def]
    """Twice the area of a, b, c; positive when counter-clockwise."""
    return (xy[b, 0] - xy[a, 0]) * (xy[c, 1] - xy[a, 1]) - (xy[b, 1] - xy[a, 1]) * (xy[c, 0] - xy[a, 0])


@compiled()
def in_circle(xy, a, b, c, d):  # type: ignore[no-untyped-def]
    """Positive when d lies inside the circle through the counter-clockwise a, b, c."""
    ax, ay = xy[a, 0] - xy[d, 0], xy[a, 1] - xy[d, 1]
    bx, by = xy[b, 0] - xy[d, 0], xy[b, 1] - xy[d, 1]
    cx, cy = xy[c, 0] - xy[d, 0], xy[c, 1] - xy[d, 1]
    a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    return ax * (by * c2 - b2 * cy) - ay * (bx * c2 - b2 * cx) + a2 * (bx * cy - by * cx)


@compiled()
def side_towards(beside, t, other):  # type: ignore[no-untyped-def]
    """The side of t that it shares with `other`."""
    for k in range(3):
        if beside[t, k] == other:
            return k
    return -1


@compiled()
def relink(beside, t, old, new):  # type: ignore[no-untyped-def]
    """Where t lay beside `old`, it now lies beside `new`."""
    if t >= 0:
        for k in range(3):
            if beside[t, k] == old:
                beside[t, k] = new
                return


@compiled()
def flip_until_delaunay(xy, tri, beside, fixed, stack, depth):  # type: ignore[no-untyped-def]
    """Flip sides on the stack (triangle·3 + side) and those around them until none is worse than its flip."""
    flips = 0
    limit = 200 * tri.shape[0]
    while depth > 0 and flips < limit:
        depth -= 1
        t, k = stack[depth] // 3, stack[depth] % 3
        u = beside[t, k]
        if u < 0 or fixed[t, k]:
            continue
        m = side_towards(beside, u, t)
        a, b, c = tri[t, k], tri[t, (k + 1) % 3], tri[t, (k + 2) % 3]
        d = tri[u, (m + 2) % 3]
        size = max(abs(orient(xy, a, b, c)), abs(orient(xy, b, a, d)))
        if in_circle(xy, a, b, c, d) <= 1e-12 * size * size:
            continue
        if orient(xy, c, a, d) <= 0.0 or orient(xy, d, b, c) <= 0.0:
            continue
        # t = a b c and u = b a d become t = c a d and u = d b c
        ca, bc = beside[t, (k + 2) % 3], beside[t, (k + 1) % 3]
        ad, db = beside[u, (m + 1) % 3], beside[u, (m + 2) % 3]
        f_ca, f_bc = fixed[t, (k + 2) % 3], fixed[t, (k + 1) % 3]
        f_ad, f_db = fixed[u, (m + 1) % 3], fixed[u, (m + 2) % 3]
        tri[t, 0], tri[t, 1], tri[t, 2] = c, a, d
        beside[t, 0], beside[t, 1], beside[t, 2] = ca, ad, u
        fixed[t, 0], fixed[t, 1], fixed[t, 2] = f_ca, f_ad, False
        tri[u, 0], tri[u, 1], tri[u, 2] = d, b, c
        beside[u, 0], beside[u, 1], beside[u, 2] = db, bc, t
        fixed[u, 0], fixed[u, 1], fixed[u, 2] = f_db, f_bc, False
        relink(beside, ad, u, t)
        relink(beside, bc, t, u)
        flips += 1
        if depth + 4 < stack.shape[0]:
            stack[depth], stack[depth + 1] = 3 * t, 3 * t + 1
            stack[depth + 2], stack[depth + 3] = 3 * u, 3 * u + 1
            depth += 4
    return flips


@compiled()
def make_delaunay(xy, tri, beside, fixed, count):  # type: ignore[no-untyped-def]
    """Flip all sides of the first `count` triangles until the triangulation is constrained Delaunay."""
    stack = np.empty(3 * count + 4096, np.int64)
    for s in range(3 * count):
        stack[s] = s
    return flip_until_delaunay(xy, tri, beside, fixed, stack, 3 * count)


@compiled()
def find_triangle(xy, tri, beside, start, v, count):  # type: ignore[no-untyped-def]
    """The triangle that holds vertex v, by a walk from `start`; by looking at all if the walk is shut in; else −1."""
    t = start
    for _ in range(4 * count):
        moved = False
        for k in range(3):
            if orient(xy, tri[t, k], tri[t, (k + 1) % 3], v) < 0.0:
                if beside[t, k] < 0:
                    break
                t = beside[t, k]
                moved = True
                break
        if not moved:
            break
    for n in range(-1, count):
        s = t if n < 0 else n
        if (
            orient(xy, tri[s, 0], tri[s, 1], v) >= 0.0
            and orient(xy, tri[s, 1], tri[s, 2], v) >= 0.0
            and orient(xy, tri[s, 2], tri[s, 0], v) >= 0.0
        ):
            return s
    return -1


@compiled()
def add_points(xy, tri, beside, fixed, count, first_vertex):  # type: ignore[no-untyped-def]
    """Put the vertices from `first_vertex` on into the triangulation; give the number of triangles then in use.

    A vertex outside every triangle, or too near a side of its triangle, is left out.
    """
    stack = np.empty(4096, np.int64)
    t = 0
    for v in range(first_vertex, xy.shape[0]):
        t = find_triangle(xy, tri, beside, t, v, count)
        if t < 0:
            t = 0
            continue
        a, b, c = tri[t, 0], tri[t, 1], tri[t, 2]
        whole = orient(xy, a, b, c)
        if min(orient(xy, a, b, v), orient(xy, b, c, v), orient(xy, c, a, v)) <= 1e-9 * whole:
            continue
        ab, bc, ca = beside[t, 0], beside[t, 1], beside[t, 2]
        f_ab, f_bc, f_ca = fixed[t, 0], fixed[t, 1], fixed[t, 2]
        p, q = count, count + 1
        count += 2
        tri[t, 0], tri[t, 1], tri[t, 2] = a, b, v
        tri[p, 0], tri[p, 1], tri[p, 2] = b, c, v
        tri[q, 0], tri[q, 1], tri[q, 2] = c, a, v
        beside[t, 0], beside[t, 1], beside[t, 2] = ab, p, q
        beside[p, 0], beside[p, 1], beside[p, 2] = bc, q, t
        beside[q, 0], beside[q, 1], beside[q, 2] = ca, t, p
        fixed[t, 0], fixed[t, 1], fixed[t, 2] = f_ab, False, False
        fixed[p, 0], fixed[p, 1], fixed[p, 2] = f_bc, False, False
        fixed[q, 0], fixed[q, 1], fixed[q, 2] = f_ca, False, False
        relink(beside, bc, t, p)
        relink(beside, ca, t, q)
        stack[0], stack[1], stack[2] = 3 * t, 3 * p, 3 * q
        flip_until_delaunay(xy, tri, beside, fixed, stack, 3)
    return count
