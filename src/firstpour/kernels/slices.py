"""Cutting a closed mesh into layers, and sweeping many print directions."""

import numpy as np
from numba import njit, prange

from firstpour.kernels.dexels import dexel_lines


@njit(cache=True)
def edge_at_plane(ax, az, bx, bz, z):  # type: ignore[no-untyped-def]
    """x of the edge a–b at height z, the same to the bit whichever way round the edge is named."""
    if az > bz:
        ax, az, bx, bz = bx, bz, ax, az
    return ax + (z - az) * ((bx - ax) / (bz - az))


@njit(cache=True)
def cut_layers(xyz, faces, z_first, layer, n):  # type: ignore[no-untyped-def]
    """Area (mm²) and perimeter (mm) of the sections at z_first + k·layer, k = 0 … n − 1.

    Each face gives at most one directed piece of outline a plane; the area is the sum of ½(x₀y₁ − x₁y₀), so no
    outline need be joined up. Edges are cut in one canonical order with half-open spans: outlines close to the bit.
    """
    area = np.zeros(n)
    perimeter = np.zeros(n)
    ends = np.empty((2, 2))
    for f in range(faces.shape[0]):
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        az, bz, cz = xyz[ia, 2], xyz[ib, 2], xyz[ic, 2]
        low, high = min(az, bz, cz), max(az, bz, cz)
        k0 = max(0, int(np.floor((low - z_first) / layer)))
        k1 = min(n - 1, int(np.ceil((high - z_first) / layer)))
        for k in range(k0, k1 + 1):
            z = z_first + k * layer
            if (low <= z) == (high <= z):
                continue
            for e in range(3):
                p, q = (ia, ib) if e == 0 else ((ib, ic) if e == 1 else (ic, ia))
                if (xyz[p, 2] <= z) == (xyz[q, 2] <= z):
                    continue
                up = 1 if xyz[p, 2] <= z else 0
                ends[up, 0] = edge_at_plane(xyz[p, 0], xyz[p, 2], xyz[q, 0], xyz[q, 2], z)
                ends[up, 1] = edge_at_plane(xyz[p, 1], xyz[p, 2], xyz[q, 1], xyz[q, 2], z)
            area[k] += 0.5 * (ends[0, 0] * ends[1, 1] - ends[1, 0] * ends[0, 1])
            perimeter[k] += np.hypot(ends[1, 0] - ends[0, 0], ends[1, 1] - ends[0, 1])
    return area, perimeter


@njit(cache=True)
def add_span(steps, low, high, z0, layer, weight):  # type: ignore[no-untyped-def]
    """Add `weight` to the layers whose middle z0 + (k + ½)·layer lies in [low, high); `steps` holds differences."""
    n = steps.shape[0] - 1
    first = max(0, int(np.ceil((low - z0) / layer - 0.5)))
    last = min(float(n), np.ceil((high - z0) / layer - 0.5))
    if last > first:
        steps[first] += weight
        steps[int(last)] -= weight


@njit(cache=True)
def gap_ends(offsets, z, line, q, floor):  # type: ignore[no-untyped-def]
    """Ends of the q-th void of a line, counted from below; the first starts at `floor`, the last never ends."""
    low = floor if q == 0 else z[offsets[line] + 2 * q - 1]
    high = np.inf if 2 * q == offsets[line + 1] - offsets[line] else z[offsets[line] + 2 * q]
    return low, high


@njit(cache=True)
def relax_gaps(offsets, z, here, there, floor, passage, opens):  # type: ignore[no-untyped-def]
    """Lower the opening levels of the voids of line `here` by what its neighbour `there` already knows.

    Voids meet where they overlap by more than `passage`.
    """
    changed = False
    n_here = (offsets[here + 1] - offsets[here]) // 2 + 1
    n_there = (offsets[there + 1] - offsets[there]) // 2 + 1
    base_here = offsets[here] // 2 + here
    base_there = offsets[there] // 2 + there
    q = 0
    r = 0
    while q < n_here and r < n_there:
        low_q, high_q = gap_ends(offsets, z, here, q, floor)
        low_r, high_r = gap_ends(offsets, z, there, r, floor)
        if max(low_q, low_r) + passage < min(high_q, high_r):
            level = max(opens[base_there + r], low_q, low_r)
            if level < opens[base_here + q]:
                opens[base_here + q] = level
                changed = True
        if high_q < high_r:
            q += 1
        else:
            r += 1
    return changed


@njit(cache=True)
def all_at_best(offsets, z, line, floor, opens):  # type: ignore[no-untyped-def]
    """Whether each void of a line is open from its lower end on: nothing can lower it further."""
    for q in range((offsets[line + 1] - offsets[line]) // 2 + 1):
        low, _ = gap_ends(offsets, z, line, q, floor)
        if opens[offsets[line] // 2 + line + q] > low:
            return False
    return True


@njit(cache=True)
def open_levels(offsets, z, nx, ny, floor, passage, lifted):  # type: ignore[no-untyped-def]
    """For each void of each line: the lowest level z at which it meets the outside through void not above z.

    Voids are numbered offsets[line]/2 + line + q. The outermost lines are empty and open; the plate at `floor` closes
    the lowest voids unless the part is `lifted` off it. A slit no higher than `passage` (half a layer) is not printed
    open. Void that never opens keeps +inf.
    """
    lines = nx * ny
    opens = np.full(offsets[lines] // 2 + lines, np.inf)
    for j in range(ny):
        for i in range(nx):
            line = j * nx + i
            if lifted or i == 0 or j == 0 or i == nx - 1 or j == ny - 1:
                opens[offsets[line] // 2 + line] = floor
    done = np.zeros(lines, np.bool_)
    changed = True
    while changed:
        changed = False
        for order in range(2):
            for step in range(lines):
                line = step if order == 0 else lines - 1 - step
                if done[line]:
                    continue
                j, i = line // nx, line % nx
                for side in range(4):
                    if side == 0 and i > 0:
                        there = line - 1
                    elif side == 1 and j > 0:
                        there = line - nx
                    elif side == 2 and i < nx - 1:
                        there = line + 1
                    elif side == 3 and j < ny - 1:
                        there = line + nx
                    else:
                        continue
                    if relax_gaps(offsets, z, line, there, floor, passage, opens):
                        changed = True
                done[line] = all_at_best(offsets, z, line, floor, opens)
    return opens


@njit(cache=True)
def add_outline(offsets, z, here, there, z0, layer, weight, steps):  # type: ignore[no-untyped-def]
    """Add `weight` to the layers in which just one of two neighbouring lines is inside the solid."""
    for k in range(offsets[here], offsets[here + 1] - 1, 2):
        add_span(steps, z[k], z[k + 1], z0, layer, weight)
    for k in range(offsets[there], offsets[there + 1] - 1, 2):
        add_span(steps, z[k], z[k + 1], z0, layer, weight)
    k = offsets[here]
    m = offsets[there]
    while k < offsets[here + 1] - 1 and m < offsets[there + 1] - 1:
        low, high = max(z[k], z[m]), min(z[k + 1], z[m + 1])
        if low < high:
            add_span(steps, low, high, z0, layer, -2.0 * weight)
        if z[k + 1] < z[m + 1]:
            k += 2
        else:
            m += 2


@njit(cache=True)
def layer_profile(offsets, z, nx, ny, pitch, z0, layer, n, passage, lifted):  # type: ignore[no-untyped-def]
    """By layer (n, 3): area (mm²), perimeter (mm), and area of the void that the film would seal off as a cup (mm²).

    The perimeter is Crofton's, by counting crossings along rows, columns and both diagonals: within about 5 % for a
    straight outline in any direction.
    """
    steps = np.zeros((3, n + 1))
    cell = pitch * pitch
    side = pitch * np.pi / 8.0
    corner = side / np.sqrt(2.0)
    opens = open_levels(offsets, z, nx, ny, z0, passage, lifted)
    for j in range(ny):
        for i in range(nx):
            line = j * nx + i
            for k in range(offsets[line], offsets[line + 1] - 1, 2):
                add_span(steps[0], z[k], z[k + 1], z0, layer, cell)
            if i > 0:
                add_outline(offsets, z, line, line - 1, z0, layer, side, steps[1])
            if j > 0:
                add_outline(offsets, z, line, line - nx, z0, layer, side, steps[1])
            if i > 0 and j > 0:
                add_outline(offsets, z, line, line - nx - 1, z0, layer, corner, steps[1])
            if i < nx - 1 and j > 0:
                add_outline(offsets, z, line, line - nx + 1, z0, layer, corner, steps[1])
            for q in range((offsets[line + 1] - offsets[line]) // 2 + 1):
                low, high = gap_ends(offsets, z, line, q, z0)
                shut = min(high, opens[offsets[line] // 2 + line + q])
                if low + passage < shut:
                    add_span(steps[2], low, shut, z0, layer, cell)
    out = np.empty((n, 3))
    for c in range(3):
        total = 0.0
        for k in range(n):
            total += steps[c, k]
            out[k, c] = max(0.0, total)
    return out


@njit(cache=True)
def face_sums(pix, faces, normals, areas, show, d, z0, bed_mm, overhang_cos, flat_cos, bins):  # type: ignore[no-untyped-def]
    """Areas (mm²) on the bed, overhanging, the same on show faces; and the 95 % slope |n·d| over show faces.

    Gives bed, overhang, bed on show, overhang on show, slope. A face is on the bed when it is level and within
    `bed_mm` of z0; overhanging when n·d < −overhang_cos and not on the bed. Level faces (|n·d| > flat_cos) show
    no step and count as slope 0.
    """
    out = np.zeros(5)
    weight = np.zeros(bins + 1)
    for f in range(faces.shape[0]):
        slope = normals[f, 0] * d[0] + normals[f, 1] * d[1] + normals[f, 2] * d[2]
        steep = min(1.0, abs(slope))
        if show[f]:
            weight[0 if steep > flat_cos else int(steep * bins)] += areas[f]
        if slope < -overhang_cos:
            top = max(pix[faces[f, 0], 2], pix[faces[f, 1], 2], pix[faces[f, 2], 2])
            k = 0 if slope < -0.999 and top < z0 + bed_mm else 1
            out[k] += areas[f]
            if show[f]:
                out[2 + k] += areas[f]
    wanted = 0.95 * weight.sum()
    below = 0.0
    for b in range(bins + 1):
        if wanted > 0.0 and below + weight[b] >= wanted:
            out[4] = min(1.0, (b + (wanted - below) / weight[b]) / bins) if b > 0 or below > 0.0 else 0.0
            break
        below += weight[b]
    return out


@njit(cache=True)
def support_columns(offsets, z, face, normals, d, pitch, z0, bed_mm, overhang_cos, lifted):  # type: ignore[no-untyped-def]
    """Volume (mm³) below overhanging faces, down to the plate or to the part itself."""
    volume = 0.0
    for line in range(offsets.shape[0] - 1):
        for k in range(offsets[line], offsets[line + 1], 2):
            f = face[k]
            slope = normals[f, 0] * d[0] + normals[f, 1] * d[1] + normals[f, 2] * d[2]
            if slope < -overhang_cos and (lifted or z[k] > z0 + bed_mm):
                volume += z[k] - (z0 if k == offsets[line] else z[k - 1])
    return volume * pitch * pitch


@njit(cache=True)
def shadow_mm2(offsets, pitch):  # type: ignore[no-untyped-def]
    """Area of the part seen along the lines."""
    hits = 0
    for line in range(offsets.shape[0] - 1):
        if offsets[line + 1] > offsets[line]:
            hits += 1
    return hits * pitch * pitch


@njit(cache=True, parallel=True)
def sweep_prints(  # type: ignore[no-untyped-def]
    vertices,
    faces,
    normals,
    areas,
    show,
    frames,
    resolution,
    n,
    bed_mm,
    overhang_cos,
    flat_cos,
    plate_shares,
):
    """For each frame (k, 3, 3): sums (k, 10) and layer profiles (k, n, 3).

    Sums: height, pitch, bed, overhang, bed on show, overhang on show, 95 % slope, support mm³, shadow mm², lifted.
    The part is lifted on supports where less than `plate_shares` (k,) of its shadow rests on the plate.
    """
    sums = np.empty((frames.shape[0], 10))
    profiles = np.empty((frames.shape[0], n, 3))
    for s in prange(frames.shape[0]):
        r = frames[s]
        pix = np.empty(vertices.shape)
        low = np.full(3, np.inf)
        high = np.full(3, -np.inf)
        for v in range(vertices.shape[0]):
            for c in range(3):
                x = r[c, 0] * vertices[v, 0] + r[c, 1] * vertices[v, 1] + r[c, 2] * vertices[v, 2]
                pix[v, c] = x
                low[c] = min(low[c], x)
                high[c] = max(high[c], x)
        pitch = max(high[0] - low[0], high[1] - low[1]) / resolution
        for v in range(vertices.shape[0]):
            pix[v, 0] = (pix[v, 0] - low[0]) / pitch + 0.5
            pix[v, 1] = (pix[v, 1] - low[1]) / pitch + 0.5
        nx = max(1, int(np.ceil((high[0] - low[0]) / pitch - 1e-6))) + 2
        ny = max(1, int(np.ceil((high[1] - low[1]) / pitch - 1e-6))) + 2
        offsets, z, face = dexel_lines(pix, faces, nx, ny)
        part = face_sums(pix, faces, normals, areas, show, r[2], low[2], bed_mm, overhang_cos, flat_cos, 1024)
        shadow = shadow_mm2(offsets, pitch)
        lifted = part[0] < plate_shares[s] * shadow
        volume = support_columns(offsets, z, face, normals, r[2], pitch, low[2], bed_mm, overhang_cos, lifted)
        height = high[2] - low[2]
        profiles[s] = layer_profile(offsets, z, nx, ny, pitch, low[2], height / n, n, bed_mm, lifted)
        sums[s, 0] = height
        sums[s, 1] = pitch
        sums[s, 2:7] = part
        sums[s, 7] = volume
        sums[s, 8] = shadow
        sums[s, 9] = 1.0 if lifted else 0.0
    return sums, profiles


@njit(cache=True)
def root_of(parent, k):  # type: ignore[no-untyped-def]
    """The root of a tree of a union-find forest, halving the path."""
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@njit(cache=True)
def join_solids(starts, links, order, levels, lasting):  # type: ignore[no-untyped-def]
    """Which solid spans begin an island: start with nothing below, and stay apart for `lasting` mm or more.

    `starts` (m,) level at which each span begins; `links` (k, 2) spans that touch; `order` sorts `levels` (k,), the
    level at which each link closes. The younger of two joined islands ends there (elder rule).
    """
    m = starts.shape[0]
    parent = np.arange(m)
    ends = np.full(m, np.inf)
    for k in order:
        a, b = root_of(parent, links[k, 0]), root_of(parent, links[k, 1])
        if a == b:
            continue
        if starts[b] < starts[a]:
            a, b = b, a
        parent[b] = a
        ends[b] = levels[k]
    island = np.zeros(m, np.bool_)
    for k in range(m):
        island[k] = ends[k] - starts[k] >= lasting
    return island


@njit(cache=True)
def touching_spans(offsets, z, nx, ny):  # type: ignore[no-untyped-def]
    """Pairs of solid spans on neighbouring lines that overlap: (k, 2), spans numbered offsets[line]/2 + q."""
    count = 0
    for fill in range(2):
        links = np.empty((count, 2), np.int64)
        count = 0
        for j in range(ny):
            for i in range(nx):
                here = j * nx + i
                for side in range(2):
                    if (side == 0 and i == 0) or (side == 1 and j == 0):
                        continue
                    there = here - (1 if side == 0 else nx)
                    k = offsets[here]
                    m = offsets[there]
                    while k < offsets[here + 1] - 1 and m < offsets[there + 1] - 1:
                        if max(z[k], z[m]) < min(z[k + 1], z[m + 1]):
                            if fill == 1:
                                links[count, 0] = k // 2
                                links[count, 1] = m // 2
                            count += 1
                        if z[k + 1] < z[m + 1]:
                            k += 2
                        else:
                            m += 2
    return links
