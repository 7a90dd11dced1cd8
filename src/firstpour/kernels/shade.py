"""Pictures by a depth buffer: which face each pixel sees, and how light falls on it.

Vertices come in the frame of the picture (`pix`): x to the right and y up in pixels, z towards the viewer in mm.
The flat number of a pixel is j·nx + i.
"""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled(inline="always")
def edge_at_row(ax, ay, bx, by, y):  # type: ignore[no-untyped-def]
    """x of the edge a–b at height y, the same to the bit whichever way round the edge is named."""
    if ay > by or (ay == by and ax > bx):
        ax, ay, bx, by = bx, by, ax, ay
    return ax + (y - ay) * ((bx - ax) / (by - ay))


@compiled(inline="always")
def row_span(ax, ay, bx, by, cx, cy, y, nx):  # type: ignore[no-untyped-def]
    """First and last pixel of the row y inside the face a, b, c; the last is below the first where none is."""
    n = 0
    xa = 0.0
    xb = 0.0
    if (ay <= y) != (by <= y):
        xa = edge_at_row(ax, ay, bx, by, y)
        n = 1
    if (by <= y) != (cy <= y):
        x = edge_at_row(bx, by, cx, cy, y)
        if n == 0:
            xa = x
        else:
            xb = x
        n += 1
    if n < 2 and (cy <= y) != (ay <= y):
        xb = edge_at_row(cx, cy, ax, ay, y)
        n += 1
    if n < 2:
        return 0, -1
    if xa > xb:
        xa, xb = xb, xa
    return max(0, int(np.ceil(xa))), min(nx - 1, int(np.ceil(xb)) - 1)


@compiled()
def nearest_faces(pix, faces, nx, ny):  # type: ignore[no-untyped-def]
    """Depth (nx·ny,) float32 in mm and number (nx·ny,) int32 of the face nearest the viewer; −inf and −1 where none.

    Faces turned away are left out: behind them a closed solid always has a nearer one.
    """
    depth = np.full(nx * ny, -np.inf, np.float32)
    face = np.full(nx * ny, -1, np.int32)
    for f in range(faces.shape[0]):
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        ax, ay, az = pix[ia, 0], pix[ia, 1], pix[ia, 2]
        bx, by, bz = pix[ib, 0], pix[ib, 1], pix[ib, 2]
        cx, cy, cz = pix[ic, 0], pix[ic, 1], pix[ic, 2]
        area2 = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if area2 <= 0.0:
            continue
        slope_x = ((bz - az) * (cy - ay) - (cz - az) * (by - ay)) / area2
        slope_y = ((cz - az) * (bx - ax) - (bz - az) * (cx - ax)) / area2
        low, high = min(az, bz, cz), max(az, bz, cz)
        for j in range(max(0, int(np.ceil(min(ay, by, cy)))), min(ny, int(np.ceil(max(ay, by, cy))))):
            i0, i1 = row_span(ax, ay, bx, by, cx, cy, float(j), nx)
            for i in range(i0, i1 + 1):
                z = az + slope_x * (i - ax) + slope_y * (j - ay)
                z = np.float32(min(max(z, low), high))
                k = j * nx + i
                if z > depth[k]:
                    depth[k] = z
                    face[k] = f
    return depth, face


@compiled()
def corner_normals(vertices, faces, cos_crease):  # type: ignore[no-untyped-def]
    """Unit normal of each face's corner (m, 3, 3) float32: the mean over the faces round the vertex, by area.

    Only faces within the crease angle of the corner's own count. A vertex with more than 512 faces (the hub of a
    fan) keeps each face's own.
    """
    n, m = vertices.shape[0], faces.shape[0]
    vectors = np.empty((m, 3))
    normals = np.zeros((m, 3))
    offsets = np.zeros(n + 2, np.int64)
    for f in range(m):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        ux, uy, uz = vertices[b, 0] - vertices[a, 0], vertices[b, 1] - vertices[a, 1], vertices[b, 2] - vertices[a, 2]
        wx, wy, wz = vertices[c, 0] - vertices[a, 0], vertices[c, 1] - vertices[a, 1], vertices[c, 2] - vertices[a, 2]
        x, y, z = uy * wz - uz * wy, uz * wx - ux * wz, ux * wy - uy * wx
        length = np.sqrt(x * x + y * y + z * z)
        vectors[f, 0], vectors[f, 1], vectors[f, 2] = x, y, z
        if length > 0.0:
            normals[f, 0], normals[f, 1], normals[f, 2] = x / length, y / length, z / length
        for v in (a, b, c):
            offsets[v + 2] += 1
    for v in range(n):
        offsets[v + 2] += offsets[v + 1]
    round_vertex = np.empty(3 * m, np.int64)
    for corner in range(3 * m):
        v = faces[corner // 3, corner % 3]
        round_vertex[offsets[v + 1]] = corner
        offsets[v + 1] += 1
    out = np.empty((m, 3, 3), np.float32)
    for v in range(n):
        first, last = offsets[v], offsets[v + 1]
        for p in range(first, last):
            f, k = round_vertex[p] // 3, round_vertex[p] % 3
            x, y, z = normals[f, 0], normals[f, 1], normals[f, 2]
            sx, sy, sz = x, y, z
            if last - first <= 512:
                sx = sy = sz = 0.0
                for q in range(first, last):
                    g = round_vertex[q] // 3
                    if normals[g, 0] * x + normals[g, 1] * y + normals[g, 2] * z >= cos_crease:
                        sx += vectors[g, 0]
                        sy += vectors[g, 1]
                        sz += vectors[g, 2]
            length = np.sqrt(sx * sx + sy * sy + sz * sz)
            if length < 1e-300:
                sx, sy, sz, length = x, y, z, 1.0
            out[f, k, 0], out[f, k, 1], out[f, k, 2] = sx / length, sy / length, sz / length
    return out


@compiled()
def pixel_normals(face, pix, faces, corner, frame, nx, ny):  # type: ignore[no-untyped-def]
    """Unit normal (nx·ny, 3) float32 at each pixel, blended from the corners of the face it sees; 0 where none.

    `corner` is in the frame of the mesh; the rows of `frame` (3, 3) turn it into the picture's.
    """
    out = np.zeros((nx * ny, 3), np.float32)
    for j in range(ny):
        for i in range(nx):
            f = face[j * nx + i]
            if f < 0:
                continue
            ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
            ax, ay = pix[ia, 0], pix[ia, 1]
            bx, by = pix[ib, 0] - ax, pix[ib, 1] - ay
            cx, cy = pix[ic, 0] - ax, pix[ic, 1] - ay
            area2 = bx * cy - cx * by
            px, py = i - ax, j - ay
            wb = min(1.0, max(0.0, (px * cy - cx * py) / area2))
            wc = min(1.0 - wb, max(0.0, (bx * py - px * by) / area2))
            wa = 1.0 - wb - wc
            x = wa * corner[f, 0, 0] + wb * corner[f, 1, 0] + wc * corner[f, 2, 0]
            y = wa * corner[f, 0, 1] + wb * corner[f, 1, 1] + wc * corner[f, 2, 1]
            z = wa * corner[f, 0, 2] + wb * corner[f, 1, 2] + wc * corner[f, 2, 2]
            length = max(1e-12, np.sqrt(x * x + y * y + z * z))
            k = j * nx + i
            for c in range(3):
                out[k, c] = (frame[c, 0] * x + frame[c, 1] * y + frame[c, 2] * z) / length
    return out


@compiled()
def lit_pixels(face, normal, colours, background, lights, ambient, gloss):  # type: ignore[no-untyped-def]
    """Linear colour (n, 3) float32: sky-and-ground ambient plus `lights` (k, 4: unit direction, strength).

    `colours` (m, 3) are linear and by face; `background` (3,) shows where there is none; `gloss` is the strength of
    the highlight of the first light.
    """
    out = np.empty((len(face), 3), np.float32)
    hx, hy, hz = lights[0, 0], lights[0, 1], lights[0, 2] + 1.0
    h = np.sqrt(hx * hx + hy * hy + hz * hz)
    for k in range(len(face)):
        f = face[k]
        if f < 0:
            out[k, 0], out[k, 1], out[k, 2] = background[0], background[1], background[2]
            continue
        x, y, z = normal[k, 0], normal[k, 1], normal[k, 2]
        light = ambient * (0.75 + 0.25 * y)
        for s in range(lights.shape[0]):
            light += lights[s, 3] * max(0.0, lights[s, 0] * x + lights[s, 1] * y + lights[s, 2] * z)
        shine = max(0.0, (hx * x + hy * y + hz * z) / h)
        shine = gloss * shine**24
        for c in range(3):
            out[k, c] = colours[f, c] * light + shine
    return out


@compiled()
def darken_edges(rgb, face, depth, normal, nx, ny, pitch, cos_edge, outline, crease):  # type: ignore[no-untyped-def]
    """Darken, in place, pixels on an outline (by the factor `outline`) or on a sharp edge (by `crease`).

    A pixel is on an outline if a neighbour shows nothing, or lies deeper than the slope there accounts for.
    """
    for j in range(ny):
        for i in range(nx):
            k = j * nx + i
            if face[k] < 0:
                continue
            slope = np.sqrt(normal[k, 0] ** 2 + normal[k, 1] ** 2) / max(0.05, normal[k, 2])
            gap = pitch * (2.0 + 3.0 * slope)
            factor = 1.0
            for step in range(4):
                u = i + (1 if step == 0 else -1 if step == 1 else 0)
                v = j + (1 if step == 2 else -1 if step == 3 else 0)
                if u < 0 or v < 0 or u >= nx or v >= ny:
                    continue
                n = v * nx + u
                if face[n] < 0 or depth[k] - depth[n] > gap:
                    factor = min(factor, outline)
                elif (
                    face[n] != face[k]
                    and normal[k, 0] * normal[n, 0] + normal[k, 1] * normal[n, 1] + normal[k, 2] * normal[n, 2]
                    < cos_edge
                ):
                    factor = min(factor, crease)
            if factor < 1.0:
                for c in range(3):
                    rgb[k, c] *= factor


@compiled()
def dots_in_sight(depth, points, slack, nx, ny):  # type: ignore[no-untyped-def]
    """Which points (k, 3: pixels, pixels, mm) are in the picture and not hidden by more than `slack` mm."""
    out = np.zeros(points.shape[0], np.bool_)
    for p in range(points.shape[0]):
        i, j = int(np.floor(points[p, 0] + 0.5)), int(np.floor(points[p, 1] + 0.5))
        out[p] = i >= 0 and j >= 0 and i < nx and j < ny and depth[j * nx + i] <= points[p, 2] + slack
    return out


@compiled()
def draw_dots(rgb, points, colour, radius, nx, ny):  # type: ignore[no-untyped-def]
    """Paint a disc of `radius` pixels at each point (k, 3: pixels, pixels, mm)."""
    reach = int(np.ceil(radius))
    for p in range(points.shape[0]):
        x, y = points[p, 0], points[p, 1]
        i, j = int(np.floor(x + 0.5)), int(np.floor(y + 0.5))
        for v in range(max(0, j - reach), min(ny, j + reach + 1)):
            for u in range(max(0, i - reach), min(nx, i + reach + 1)):
                if (u - x) ** 2 + (v - y) ** 2 <= radius * radius:
                    for c in range(3):
                        rgb[v * nx + u, c] = colour[c]


@compiled()
def shade_hollows(rgb, depth, around, step, reach_mm, strength, nx, ny):  # type: ignore[no-untyped-def]
    """Darken, in place, what lies behind the mean depth round it: by `strength` where it is `reach_mm` behind.

    `around` (h, w) float32 is that mean in mm at every `step`-th pixel; between them it is blended.
    """
    h, w = around.shape
    for j in range(ny):
        v = min(j / step, h - 1.000001)
        j0 = max(0, int(v))
        fv = v - j0
        j1 = min(j0 + 1, h - 1)
        for i in range(nx):
            k = j * nx + i
            if depth[k] == -np.inf:
                continue
            u = min(i / step, w - 1.000001)
            i0 = max(0, int(u))
            fu = u - i0
            i1 = min(i0 + 1, w - 1)
            low = around[j0, i0] * (1.0 - fu) + around[j0, i1] * fu
            high = around[j1, i0] * (1.0 - fu) + around[j1, i1] * fu
            behind = (low * (1.0 - fv) + high * fv - depth[k]) / reach_mm
            factor = 1.0 - strength * min(1.0, max(0.0, behind))
            for c in range(3):
                rgb[k, c] *= factor
