"""Cutting a closed mesh into layers, and sweeping many print directions."""

import numpy as np

from firstpour.kernels.compiled import compiled
from firstpour.kernels.dexels import dexel_lines


@compiled()
def edge_at_plane(ax, az, bx, bz, z):  # type: ignore[no-untyped-def]
    """x of the edge a–b at height z, the same to the bit whichever way round the edge is named."""
    if az > bz:
        ax, az, bx, bz = bx, bz, ax, az
    return ax + (z - az) * ((bx - ax) / (bz - az))


@compiled()
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
            x, y = ends[1, 0] - ends[0, 0], ends[1, 1] - ends[0, 1]
            perimeter[k] += np.sqrt(x * x + y * y)
    return area, perimeter


@compiled()
def add_span(steps, low, high, z0, layer, weight):  # type: ignore[no-untyped-def]
    """Add `weight` to the layers whose middle z0 + (k + ½)·layer lies in [low, high); `steps` holds differences."""
    n = steps.shape[0] - 1
    first = max(0, int(np.ceil((low - z0) / layer - 0.5)))
    last = min(float(n), np.ceil((high - z0) / layer - 0.5))
    if last > first:
        steps[first] += weight
        steps[int(last)] -= weight


@compiled()
def gap_ends(offsets, z, line, q, floor):  # type: ignore[no-untyped-def]
    """Ends of the q-th void of a line, counted from below; the first starts at `floor`, the last never ends."""
    low = floor if q == 0 else z[offsets[line] + 2 * q - 1]
    high = np.inf if 2 * q == offsets[line + 1] - offsets[line] else z[offsets[line] + 2 * q]
    return low, high


@compiled()
def heap_in(levels, nodes, count, level, node):  # type: ignore[no-untyped-def]
    """Put a node into the heap of `count` nodes, the lowest level first."""
    k = count
    while k > 0 and levels[(k - 1) >> 1] > level:
        up = (k - 1) >> 1
        levels[k], nodes[k] = levels[up], nodes[up]
        k = up
    levels[k], nodes[k] = level, node


@compiled()
def heap_out(levels, nodes, count):  # type: ignore[no-untyped-def]
    """Take the lowest node out of the heap of `count` nodes: its level and number."""
    level, node = levels[0], nodes[0]
    last, last_node = levels[count - 1], nodes[count - 1]
    k = 0
    while 2 * k + 1 < count - 1:
        child = 2 * k + 1
        if child + 1 < count - 1 and levels[child + 1] < levels[child]:
            child += 1
        if levels[child] >= last:
            break
        levels[k], nodes[k] = levels[child], nodes[child]
        k = child
    levels[k], nodes[k] = last, last_node
    return level, node


@compiled()
def open_levels(offsets, z, nx, ny, floor, passage, lifted):  # type: ignore[no-untyped-def]
    """For each void of each line: the lowest level z at which it meets the outside through void not above z.

    Voids are numbered offsets[line]/2 + line + q; two of neighbouring lines meet where they overlap by more than
    `passage`: a slit no higher (half a layer) is not printed open. The outermost lines are empty and open; the plate
    at `floor` closes the lowest voids unless the part is `lifted` off it. Void that never opens keeps +inf.

    Voids are visited from the lowest level up, each once: those at the level now reached wait on a stack, the others
    in a heap (Dijkstra's order, with the highest level on the way for its length).
    """
    lines = nx * ny
    n = offsets[lines] // 2 + lines
    opens, line_of = np.full(n, np.inf), np.empty(n, np.int32)
    visited, stack, waiting = np.zeros(n, np.bool_), np.empty(n, np.int32), 0
    levels, nodes, count = np.empty(4 * n), np.empty(4 * n, np.int32), 0
    for line in range(lines):
        first = offsets[line] // 2 + line
        for v in range(first, offsets[line + 1] // 2 + line + 1):
            line_of[v] = line
        i, j = line % nx, line // nx
        if lifted or i == 0 or j == 0 or i == nx - 1 or j == ny - 1:
            opens[first] = floor
            stack[waiting] = first
            waiting += 1
    now = floor
    while waiting > 0 or count > 0:
        if waiting > 0:
            waiting -= 1
            v = stack[waiting]
        else:
            now, v = heap_out(levels, nodes, count)
            count -= 1
        if visited[v]:
            continue
        visited[v] = True
        line = line_of[v]
        i, j = line % nx, line // nx
        low, high = gap_ends(offsets, z, line, v - offsets[line] // 2 - line, floor)
        for side in range(4):
            if (side == 0 and i == 0) or (side == 1 and j == 0):
                continue
            if (side == 2 and i == nx - 1) or (side == 3 and j == ny - 1):
                continue
            there = line + (-1 if side == 0 else -nx if side == 1 else 1 if side == 2 else nx)
            first = offsets[there] // 2 + there
            for r in range((offsets[there + 1] - offsets[there]) // 2 + 1):
                low_r, high_r = gap_ends(offsets, z, there, r, floor)
                if low_r >= high:
                    break
                level = max(now, low, low_r)
                if max(low, low_r) + passage < min(high, high_r) and level < opens[first + r]:
                    opens[first + r] = level
                    if level <= now:
                        stack[waiting] = first + r
                        waiting += 1
                    else:
                        heap_in(levels, nodes, count, level, first + r)
                        count += 1
    return opens


@compiled()
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


@compiled()
def layer_profile(offsets, z, nx, ny, pitch, z0, layer, n, passage, lifted, out):  # type: ignore[no-untyped-def]
    """By layer into `out` (n, 3): area (mm²), perimeter (mm), and area of the void that the film would shut in (mm²).

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
    for c in range(3):
        total = 0.0
        for k in range(n):
            total += steps[c, k]
            out[k, c] = max(0.0, total)


@compiled()
def pixel_turn(normals, areas, show, frame):  # type: ignore[no-untyped-def]
    """Cosine and sine of the turn about the print direction that lays most upright show area along the pixels.

    The angle θ of a wall and θ + 90° are alike to square pixels, so e^{4iθ} is averaged, by area and uprightness.
    """
    re = im = 0.0
    for f in range(areas.shape[0]):
        if show[f]:
            p = normals[f, 0] * frame[0, 0] + normals[f, 1] * frame[0, 1] + normals[f, 2] * frame[0, 2]
            q = normals[f, 0] * frame[1, 0] + normals[f, 1] * frame[1, 1] + normals[f, 2] * frame[1, 2]
            a, b = p * p - q * q, 2.0 * p * q
            re += areas[f] * (a * a - b * b)
            im += areas[f] * 2.0 * a * b
    turn = 0.25 * np.arctan2(im, re)
    return np.cos(turn), np.sin(turn)


@compiled()
def face_sums(  # type: ignore[no-untyped-def]
    vertices, faces, normals, areas, show, frame, z0, bed_mm, overhang_cos, flat_cos, layer, side, pixel, bins, out
):
    """Areas (mm²) on the bed, overhanging, the same on show faces; and the step (mm) of 95 % of the show area.

    Writes bed, overhang, bed on show, overhang on show, step into `out` (5,). A face is on the bed when it is level
    and within `bed_mm` of z0; overhanging when n·d < −overhang_cos and not on the bed. A face's step is the largest
    of layer·|n·d|, side·√(1 − (n·d)²) and its pixel stair; level faces (|n·d| > flat_cos) show none.
    """
    most = max(layer, side, pixel * 0.70711)
    stairs = pixel * 0.70711 > side
    cosine, sine = pixel_turn(normals, areas, show, frame) if stairs else (1.0, 0.0)
    ux, uy, uz = frame[0, 0], frame[0, 1], frame[0, 2]
    vx, vy, vz = frame[1, 0], frame[1, 1], frame[1, 2]
    dx, dy, dz = frame[2, 0], frame[2, 1], frame[2, 2]
    weight = np.zeros(bins + 1)
    total = 0.0
    for k in range(5):
        out[k] = 0.0
    for f in range(faces.shape[0]):
        x, y, z = normals[f, 0], normals[f, 1], normals[f, 2]
        slope = x * dx + y * dy + z * dz
        if show[f]:
            steep = min(1.0, abs(slope))
            step = 0.0
            if steep <= flat_cos:
                step = max(layer * steep, side * np.sqrt(1.0 - steep * steep))
                if stairs:
                    p, q = x * ux + y * uy + z * uz, x * vx + y * vy + z * vz
                    step = max(step, pixel * min(abs(p * cosine + q * sine), abs(q * cosine - p * sine)))
            weight[min(bins, int(step / most * bins))] += areas[f]
            total += areas[f]
        if slope < -overhang_cos:
            k = 1
            if slope < -0.999:
                top = -np.inf
                for c in range(3):
                    v = faces[f, c]
                    top = max(top, vertices[v, 0] * dx + vertices[v, 1] * dy + vertices[v, 2] * dz)
                k = 0 if top < z0 + bed_mm else 1
            out[k] += areas[f]
            if show[f]:
                out[2 + k] += areas[f]
    wanted = 0.95 * total
    below = 0.0
    for b in range(bins + 1):
        if wanted > 0.0 and below + weight[b] >= wanted:
            out[4] = most * min(1.0, (b + (wanted - below) / weight[b]) / bins) if b > 0 or below > 0.0 else 0.0
            break
        below += weight[b]


@compiled(nogil=True)
def sweep_faces(  # type: ignore[no-untyped-def]
    vertices, faces, normals, areas, show, frames, lows, bed_mm, overhang_cos, flat_cos, layer, side, pixel, out
):
    """`face_sums` for each of the frames (k, 3, 3), whose lowest vertices lie at `lows` (k,), into `out` (k, 5)."""
    for s in range(frames.shape[0]):
        face_sums(
            vertices, faces, normals, areas, show, frames[s], lows[s], bed_mm, overhang_cos, flat_cos,
            layer, side, pixel, 1024, out[s],
        )  # fmt: skip


@compiled()
def support_columns(offsets, z, face, normals, d, pitch, z0, bed_mm, overhang_cos, lifted, lift_mm):  # type: ignore[no-untyped-def]
    """Volume (mm³) below overhanging faces, down to the plate, `lift_mm` below z0 if `lifted`, or to the part."""
    volume = 0.0
    plate = z0 - lift_mm if lifted else z0
    for line in range(offsets.shape[0] - 1):
        for k in range(offsets[line], offsets[line + 1], 2):
            f = face[k]
            slope = normals[f, 0] * d[0] + normals[f, 1] * d[1] + normals[f, 2] * d[2]
            if slope < -overhang_cos and (lifted or z[k] > z0 + bed_mm):
                volume += z[k] - (plate if k == offsets[line] else z[k - 1])
    return volume * pitch * pitch


@compiled()
def shadow_mm2(offsets, pitch):  # type: ignore[no-untyped-def]
    """Area of the part seen along the lines."""
    hits = 0
    for line in range(offsets.shape[0] - 1):
        if offsets[line + 1] > offsets[line]:
            hits += 1
    return hits * pitch * pitch


@compiled(nogil=True)
def sweep_lines(  # type: ignore[no-untyped-def]
    vertices, faces, normals, frames, beds, resolution, n, bed_mm, overhang_cos, plate_share, lift_mm, sums, profiles
):
    """For each frame (k, 3, 3) into `sums` (k, 4): height, support mm³, shadow mm², lifted; layer profiles (k, n, 3).

    The part is lifted on supports where less than `plate_share` of its shadow rests on the plate, `beds` (k,) mm².
    """
    low, high = np.empty(3), np.empty(3)
    pix = np.empty((vertices.shape[0], 3))
    for s in range(frames.shape[0]):
        r = frames[s]
        for c in range(3):
            low[c], high[c] = np.inf, -np.inf
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
        shadow = shadow_mm2(offsets, pitch)
        lifted = beds[s] < plate_share * shadow
        height = high[2] - low[2]
        layer_profile(offsets, z, nx, ny, pitch, low[2], height / n, n, bed_mm, lifted, profiles[s])
        sums[s, 0] = height
        sums[s, 1] = support_columns(
            offsets, z, face, normals, r[2], pitch, low[2], bed_mm, overhang_cos, lifted, lift_mm
        )
        sums[s, 2] = shadow
        sums[s, 3] = 1.0 if lifted else 0.0


@compiled()
def root_of(parent, k):  # type: ignore[no-untyped-def]
    """The root of a tree of a union-find forest, halving the path."""
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@compiled()
def join_solids(starts, links, order, levels, lasting):  # type: ignore[no-untyped-def]
    """Which solid spans begin a piece in the air: start with nothing below, and stay apart for `lasting` mm or more.

    `starts` (m,) level at which each span begins; `links` (k, 2) spans that touch; `order` sorts `levels` (k,), the
    level at which each link closes. The younger of two joined pieces ends there (elder rule).
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
    begun = np.zeros(m, np.bool_)
    for k in range(m):
        begun[k] = ends[k] - starts[k] >= lasting
    return begun


@compiled()
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
