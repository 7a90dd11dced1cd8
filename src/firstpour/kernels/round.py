"""Round features: scoring guesses against a cloud of points, and the profile that a printer makes of a circle."""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def score_revolved(points, normals, weights, guesses, near, aligned):  # type: ignore[no-untyped-def]
    """Weight of the points that agree with each guess (k, 9): (k,).

    A guess is axis point (3), axis (3), then p, q, s: for s < 0 a straight profile ρ = p + q·ζ, else an arc of radius
    s about (ρ, ζ) = (p, q). A point agrees within `near[k]` mm, its normal within the angle of cosine `aligned`.
    """
    scores = np.zeros(guesses.shape[0])
    for g in range(guesses.shape[0]):
        for k in range(points.shape[0]):
            distance, cosine = revolved_distance(points[k], normals[k], guesses[g])
            if abs(distance) <= near[g] and abs(cosine) >= aligned:
                scores[g] += weights[k]
    return scores


@compiled()
def score_axes(points, normals, weights, axes, sine, least):  # type: ignore[no-untyped-def]
    """Weight of the walls that are turned about each axis (k, 6: point, direction): (k,).

    A wall is a point whose normal is nearer to square to the axis than to along it. It agrees when its normal leaves
    the plane through the axis by no more than the angle of which `sine` is given, at least `least` mm from the axis.
    """
    scores = np.zeros(axes.shape[0])
    for g in range(axes.shape[0]):
        ax, ay, az = axes[g, 3], axes[g, 4], axes[g, 5]
        for k in range(points.shape[0]):
            nx, ny, nz = normals[k, 0], normals[k, 1], normals[k, 2]
            if abs(nx * ax + ny * ay + nz * az) > 0.7:
                continue
            dx, dy, dz = points[k, 0] - axes[g, 0], points[k, 1] - axes[g, 1], points[k, 2] - axes[g, 2]
            tx, ty, tz = ay * dz - az * dy, az * dx - ax * dz, ax * dy - ay * dx
            rho = np.sqrt(tx * tx + ty * ty + tz * tz)
            if rho >= least and abs(nx * tx + ny * ty + nz * tz) <= sine * rho:
                scores[g] += weights[k]
    return scores


@compiled()
def agreeing_points(points, normals, guess, near, aligned):  # type: ignore[no-untyped-def]
    """Which points (k,) agree with one guess (9,), as `score_revolved` judges it."""
    agrees = np.zeros(points.shape[0], np.bool_)
    for k in range(points.shape[0]):
        distance, cosine = revolved_distance(points[k], normals[k], guess)
        agrees[k] = abs(distance) <= near and abs(cosine) >= aligned
    return agrees


@compiled(inline="always")
def revolved_distance(point, normal, guess):  # type: ignore[no-untyped-def]
    """Signed distance of a point from a surface of revolution, and the cosine between the two normals."""
    dx, dy, dz = point[0] - guess[0], point[1] - guess[1], point[2] - guess[2]
    ax, ay, az = guess[3], guess[4], guess[5]
    zeta = dx * ax + dy * ay + dz * az
    rx, ry, rz = dx - zeta * ax, dy - zeta * ay, dz - zeta * az
    rho = np.sqrt(rx * rx + ry * ry + rz * rz)
    if rho < 1e-12:
        return np.inf, 0.0
    n_rho = (normal[0] * rx + normal[1] * ry + normal[2] * rz) / rho
    n_zeta = normal[0] * ax + normal[1] * ay + normal[2] * az
    if guess[8] < 0.0:
        slant = np.sqrt(1.0 + guess[7] * guess[7])
        return (rho - guess[6] - guess[7] * zeta) / slant, (n_rho - guess[7] * n_zeta) / slant
    u, v = rho - guess[6], zeta - guess[7]
    away = np.sqrt(u * u + v * v)
    if away < 1e-12:
        return -guess[8], 0.0
    return away - guess[8], (n_rho * u + n_zeta * v) / away


@compiled()
def widest(table):  # type: ignore[no-untyped-def]
    """The largest radius of a table that may have gaps (NaN)."""
    most = 0.0
    for r in table:
        if r > most:
            most = r
    return most


@compiled()
def table_at(table, angle):  # type: ignore[no-untyped-def]
    """Radius at `angle` by straight interpolation in a table over one turn; NaN where the profile has a gap."""
    n = table.shape[0]
    place = angle / (2.0 * np.pi) * n
    k = int(np.floor(place))
    share = place - k
    return table[k % n] * (1.0 - share) + table[(k + 1) % n] * share


@compiled()
def printed_profile(table, turn, tilt, layer, pixel, phase, least):  # type: ignore[no-untyped-def]
    """The outline that layers and pixels make of a round profile: (k, 3) s along w, t across, weight, mm.

    `table` holds the radius of the section over one turn, its angle counted from the section's own x axis; `turn` is
    where the rising direction w lies in it. `tilt` (sin, cos of the angle between axis and print direction). The
    section plane is cut along w by layers (height `layer`, foreshortened by sin) and by pixels (foreshortened by
    cos), across w by pixels. Both corners of every step are given, each with its arc; `phase` shifts the
    layers by a share of one. Of steps finer than `least` mm one that far on is given for all of
    them.
    """
    sine, cosine = tilt
    radius = widest(table)
    room = 8 * (int(2.0 * radius * (sine / layer + cosine / pixel)) + 8)
    out = np.empty((room, 3))
    count = 0
    low = -radius - layer - pixel
    while low < radius + layer + pixel and count + 4 <= room:
        edge = min(next_edge(low, sine, layer, phase), next_edge(low, cosine, pixel, 0.0))
        high = edge
        if edge < low + least:
            high = min(next_edge(low + least, sine, layer, phase), next_edge(low + least, cosine, pixel, 0.0))
        middle = 0.5 * (low + edge)
        row = sine * snapped(middle * sine, layer, phase) + cosine * snapped(middle * cosine, pixel, 0.0)
        for side in range(2):
            sign = 1.0 if side == 0 else -1.0
            across = crossing(table, turn, row, sign, radius)
            if np.isnan(across):
                continue
            aside = np.floor(abs(across) / pixel + 0.5) * pixel
            slant = max(abs(across), 0.5 * np.sqrt(radius * (high - low))) / radius
            for end in range(2):
                out[count, 0] = low if end == 0 else edge
                out[count, 1] = sign * aside
                out[count, 2] = 0.5 * (high - low) / slant
                count += 1
        low = high
    return out[:count]


@compiled(inline="always")
def next_edge(s, share, step, phase):  # type: ignore[no-untyped-def]
    """The next place above s, along the section, at which a step (foreshortened by `share`) ends."""
    if share < 1e-9:
        return np.inf
    k = np.floor(s * share / step - phase + 1e-9) + 1.0
    return (k + phase) * step / share


@compiled(inline="always")
def snapped(x, step, phase):  # type: ignore[no-untyped-def]
    """The middle of the step in which x lies."""
    return (np.floor(x / step - phase) + 0.5 + phase) * step


@compiled()
def crossing(table, turn, row, sign, most):  # type: ignore[no-untyped-def]
    """Where the section's outline crosses the level `row` on one side; NaN where it does not. `most`: its radius."""
    radius = table_at(table, turn if row > 0.0 else turn + np.pi)
    if np.isnan(radius):
        radius = most
    across = np.nan
    for _ in range(3):
        if abs(row) >= radius:
            return np.nan
        angle = np.arccos(row / radius)
        before, radius = radius, table_at(table, turn + sign * angle)
        if np.isnan(radius) or abs(row) >= radius:
            return np.nan
        across = np.sqrt(radius * radius - row * row)
        if abs(radius - before) < 1e-6 * radius:
            break
    return sign * across


@compiled()
def shape_by_printer(profile, radius, material, tilt, slope, overhang_cos, allowances):  # type: ignore[no-untyped-def]
    """Move the corner points of `profile` (k, 3) in place by growth, sag and errors of size.

    `material` is 1 for a shaft, −1 for a hole; `slope` is dr/da of the feature along its axis. `allowances`: sag
    ratio, sideways growth (mm), downward growth (mm), height error ratio, error ratio of one level axis.
    """
    sine, cosine = tilt
    slant = np.sqrt(1.0 + slope * slope)
    span = 2.0 * radius * np.sqrt(max(0.0, 1.0 - (overhang_cos / sine) ** 2)) if sine > overhang_cos else 0.0
    for k in range(profile.shape[0]):
        r = np.sqrt(profile[k, 0] * profile[k, 0] + profile[k, 1] * profile[k, 1])
        if r == 0.0:
            continue
        c, s = profile[k, 0] / r, profile[k, 1] / r
        up = material * (c * sine - slope * cosine) / slant
        moved = allowances[1] * np.sqrt(max(0.0, 1.0 - up * up))
        if up < 0.0:
            moved -= allowances[2] * up
            sag = allowances[0] * span * max(0.0, (-up - overhang_cos) / (1.0 - overhang_cos))
            moved -= sag * up
        size = radius * (allowances[3] * (c * sine) ** 2 + allowances[4] * s * s)
        longer = 1.0 + (material * moved * slant + size) / r
        profile[k, 0] *= longer
        profile[k, 1] *= longer


@compiled()
def solve_symmetric(a, b, c, d, e, f, x, y, z):  # type: ignore[no-untyped-def]
    """Solution of [[a, b, c], [b, d, e], [c, e, f]] · s = (x, y, z), by Cramer's rule."""
    p, q, r = d * f - e * e, c * e - b * f, b * e - c * d
    whole = a * p + b * q + c * r
    return (
        (p * x + q * y + r * z) / whole,
        (q * x + (a * f - c * c) * y + (b * c - a * e) * z) / whole,
        (r * x + (b * c - a * e) * y + (a * d - b * b) * z) / whole,
    )


@compiled()
def circle_spread(points):  # type: ignore[no-untyped-def]
    """Farthest less nearest distance from the least-squares circle of a nearly round profile, and its mean radius.

    `points` (k, 3): x, y, weight. r = R + a·cos θ + b·sin θ by weighted least squares, then once more about the
    centre found.
    """
    cx = 0.0
    cy = 0.0
    mean = 0.0
    for _ in range(2):
        w0 = wc = ws = wcc = wss = wcs = r0 = rc = rs = 0.0
        for k in range(points.shape[0]):
            x, y, w = points[k, 0] - cx, points[k, 1] - cy, points[k, 2]
            r = np.sqrt(x * x + y * y)
            c, s = x / r, y / r
            w0 += w
            wc += w * c
            ws += w * s
            wcc += w * c * c
            wss += w * s * s
            wcs += w * c * s
            r0 += w * r
            rc += w * c * r
            rs += w * s * r
        mean, x, y = solve_symmetric(w0, wc, ws, wcc, wcs, wss, r0, rc, rs)
        cx += x
        cy += y
    low = np.inf
    high = -np.inf
    for k in range(points.shape[0]):
        x, y = points[k, 0] - cx, points[k, 1] - cy
        r = np.sqrt(x * x + y * y)
        low = min(low, r)
        high = max(high, r)
    return high - low, mean


@compiled()
def smoothed_turn(profile, undulations):  # type: ignore[no-untyped-def]
    """The profile (k, 3) on the parts of a turn (720,), after the Gaussian filter for `undulations` a turn.

    Gives (m, 3): x, y and weight 1 of the parts that the profile touches, or fewer where it has gaps. Weight in the
    filter: exp(−π (angle / αλ)²), λ = a turn / undulations, α = √(ln 2 / π): half is let through at the cut-off.
    """
    parts = 720
    sums = np.zeros(parts)
    weights = np.zeros(parts)
    for k in range(profile.shape[0]):
        angle = np.arctan2(profile[k, 1], profile[k, 0])
        part = int(np.floor(angle / (2.0 * np.pi) * parts + 0.5)) % parts
        r = np.sqrt(profile[k, 0] * profile[k, 0] + profile[k, 1] * profile[k, 1])
        sums[part] += profile[k, 2] * r
        weights[part] += profile[k, 2]
    width = np.sqrt(np.log(2.0) / np.pi) * parts / undulations
    half = int(np.ceil(width))
    out = np.empty((parts, 3))
    count = 0
    for part in range(parts):
        total = 0.0
        weight = 0.0
        for step in range(-half, half + 1):
            other = (part + step) % parts
            if weights[other] > 0.0:
                share = np.exp(-np.pi * (step / width) ** 2)
                total += share * sums[other] / weights[other]
                weight += share
        if weights[part] > 0.0 or weight > 0.5 * width:
            angle = part * 2.0 * np.pi / parts
            out[count, 0] = total / weight * np.cos(angle)
            out[count, 1] = total / weight * np.sin(angle)
            out[count, 2] = 1.0
            count += 1
    return out[:count]


@compiled(nogil=True)
def spreads_printed(  # type: ignore[no-untyped-def]
    tables, radii, materials, slopes, frames, whole, directions, layer, pixel, phases, overhang_cos, allowances,
    undulations, out,
):  # fmt: skip
    """Out-of-round in mm into `out` (directions, features), about the least-squares circle, the worst of `phases`.

    `tables` (f, 720), `frames` (f, 3, 3) with the axis as third row; a `whole` sphere is cut along the print
    direction. Pixels finer than a thousandth of the radius are sampled, steps finer than `undulations` a turn are
    filtered out. Under 6 corner points count as round.
    """
    for job in range(tables.shape[0] * directions.shape[0]):
        f, d = job // directions.shape[0], job % directions.shape[0]
        u = v = cosine = 0.0
        for c in range(3):
            u += frames[f, 0, c] * directions[d, c]
            v += frames[f, 1, c] * directions[d, c]
            cosine += frames[f, 2, c] * directions[d, c]
        sine = np.sqrt(u * u + v * v)
        if whole[f]:
            sine, cosine = 1.0, 0.0
        turn = np.arctan2(v, u) if sine > 1e-6 else 0.0
        least = 0.001 * radii[f] if pixel < 0.001 * radii[f] else 0.0
        for phase in phases:
            profile = printed_profile(tables[f], turn, (sine, abs(cosine)), layer, pixel, phase, least)
            if profile.shape[0] < 6:
                continue
            shape_by_printer(profile, radii[f], materials[f], (sine, cosine), slopes[f], overhang_cos, allowances)
            turn_around = smoothed_turn(profile, undulations)
            if turn_around.shape[0] >= 6:
                out[d, f] = max(out[d, f], circle_spread(turn_around)[0])
