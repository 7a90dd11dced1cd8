"""Round features: scoring guesses against a cloud of points, and the profile that a printer makes of a circle."""

import numpy as np
from numba import njit, prange


@njit(cache=True)
def score_revolved(points, normals, weights, guesses, near, aligned):  # type: ignore[no-untyped-def]
    """Weight of the points that agree with each guess (k, 9): (k,).

    A guess is axis point (3), axis (3), then p, q, s: for s < 0 a straight profile ρ = p + q·ζ, else an arc of radius s
    about (ρ, ζ) = (p, q). A point agrees within `near[k]` mm, its normal within the angle whose cosine is `aligned`.
    """
    scores = np.zeros(guesses.shape[0])
    for g in range(guesses.shape[0]):
        for k in range(points.shape[0]):
            distance, cosine = revolved_distance(points[k], normals[k], guesses[g])
            if abs(distance) <= near[g] and abs(cosine) >= aligned:
                scores[g] += weights[k]
    return scores


@njit(cache=True)
def agreeing_points(points, normals, guess, near, aligned):  # type: ignore[no-untyped-def]
    """Which points (k,) agree with one guess (9,), as `score_revolved` judges it."""
    agrees = np.zeros(points.shape[0], np.bool_)
    for k in range(points.shape[0]):
        distance, cosine = revolved_distance(points[k], normals[k], guess)
        agrees[k] = abs(distance) <= near and abs(cosine) >= aligned
    return agrees


@njit(cache=True, inline="always")
def revolved_distance(point, normal, guess):  # type: ignore[no-untyped-def]
    """Signed distance of a point from a surface of revolution, and the cosine between its normal and the surface's."""
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


@njit(cache=True)
def table_at(table, angle):  # type: ignore[no-untyped-def]
    """Radius at `angle` by straight interpolation in a table over one turn; NaN where the profile has a gap."""
    n = table.shape[0]
    place = angle / (2.0 * np.pi) * n
    k = int(np.floor(place))
    share = place - k
    return table[k % n] * (1.0 - share) + table[(k + 1) % n] * share


@njit(cache=True)
def printed_profile(table, turn, tilt, layer, pixel, phase):  # type: ignore[no-untyped-def]
    """The outline that layers and pixels make of a round profile: (k, 3) angle, radius (mm), weight (mm of arc).

    `table` holds the radius of the section over one turn, its angle counted from the section's own x axis; `turn` is
    where the rising direction w lies in it. `tilt` (sin, cos of the angle between axis and print direction). The
    section plane is cut along w by layers (height `layer`, foreshortened by sin) and by pixels (foreshortened by cos),
    across w by pixels. Both corners of every step are given; `phase` shifts the layers by a share of one.
    """
    sine, cosine = tilt
    radius = np.nanmax(table)
    room = 8 * (int(2.0 * radius * (sine / layer + cosine / pixel)) + 8)
    out = np.empty((room, 3))
    count = 0
    low = -radius - layer - pixel
    while low < radius + layer + pixel and count + 4 <= room:
        high = next_edge(low, sine, layer, phase)
        high = min(high, next_edge(low, cosine, pixel, 0.0))
        middle = 0.5 * (low + high)
        row = sine * snapped(middle * sine, layer, phase) + cosine * snapped(middle * cosine, pixel, 0.0)
        for side in range(2):
            sign = 1.0 if side == 0 else -1.0
            across = crossing(table, turn, row, sign)
            if np.isnan(across):
                continue
            edge = np.floor(abs(across) / pixel + 0.5) * pixel
            slant = max(abs(across), 0.5 * np.sqrt(radius * (high - low))) / radius
            for end in range(2):
                s = low if end == 0 else high
                out[count, 0] = np.arctan2(sign * edge, s)
                out[count, 1] = np.hypot(edge, s)
                out[count, 2] = 0.5 * (high - low) / slant
                count += 1
        low = high
    return out[:count]


@njit(cache=True, inline="always")
def next_edge(s, share, step, phase):  # type: ignore[no-untyped-def]
    """The next place above s, along the section, at which a step (foreshortened by `share`) ends."""
    if share < 1e-9:
        return np.inf
    k = np.floor(s * share / step - phase + 1e-9) + 1.0
    return (k + phase) * step / share


@njit(cache=True, inline="always")
def snapped(x, step, phase):  # type: ignore[no-untyped-def]
    """The middle of the step in which x lies."""
    return (np.floor(x / step - phase) + 0.5 + phase) * step


@njit(cache=True)
def crossing(table, turn, row, sign):  # type: ignore[no-untyped-def]
    """Where the section's outline crosses the level `row` on one side; NaN where it does not."""
    radius = table_at(table, turn if row > 0.0 else turn + np.pi)
    if np.isnan(radius):
        radius = np.nanmax(table)
    across = np.nan
    for _ in range(4):
        if abs(row) >= radius:
            return np.nan
        angle = np.arccos(row / radius)
        radius = table_at(table, turn + sign * angle)
        if np.isnan(radius) or abs(row) >= radius:
            return np.nan
        across = np.sqrt(radius * radius - row * row)
    return sign * across


@njit(cache=True)
def shaped_by_printer(profile, radius, material, tilt, slope, overhang_cos, allowances):  # type: ignore[no-untyped-def]
    """Radii of `profile` after growth, sag and errors of size: (k,) mm.

    `material` is 1 for a shaft, −1 for a hole; `slope` is dr/da of the feature along its axis. `allowances`: sag ratio,
    sideways growth (mm), downward growth (mm), height error ratio, error ratio of one level axis.
    """
    sine, cosine = tilt
    slant = np.sqrt(1.0 + slope * slope)
    span = 2.0 * radius * np.sqrt(max(0.0, 1.0 - (overhang_cos / sine) ** 2)) if sine > overhang_cos else 0.0
    out = np.empty(profile.shape[0])
    for k in range(profile.shape[0]):
        c, s = np.cos(profile[k, 0]), np.sin(profile[k, 0])
        up = material * (c * sine - slope * cosine) / slant
        moved = allowances[1] * np.sqrt(max(0.0, 1.0 - up * up))
        if up < 0.0:
            moved -= allowances[2] * up
            sag = allowances[0] * span * max(0.0, (-up - overhang_cos) / (1.0 - overhang_cos))
            moved -= sag * up
        size = radius * (allowances[3] * (c * sine) ** 2 + allowances[4] * s * s)
        out[k] = profile[k, 1] + material * moved * slant + size
    return out


@njit(cache=True)
def circle_spread(angles, radii, weights):  # type: ignore[no-untyped-def]
    """Farthest less nearest distance from the least-squares circle of a nearly round profile, and its mean radius.

    r = R + a·cos θ + b·sin θ solved by weighted least squares, then once more about the centre found.
    """
    cx = 0.0
    cy = 0.0
    mean = 0.0
    normal = np.empty((3, 3))
    right = np.empty(3)
    row = np.empty(3)
    for _ in range(2):
        normal[:] = 0.0
        right[:] = 0.0
        for k in range(angles.shape[0]):
            x = radii[k] * np.cos(angles[k]) - cx
            y = radii[k] * np.sin(angles[k]) - cy
            r = np.hypot(x, y)
            row[0], row[1], row[2] = 1.0, x / r, y / r
            for i in range(3):
                right[i] += weights[k] * row[i] * r
                for j in range(3):
                    normal[i, j] += weights[k] * row[i] * row[j]
        solved = np.linalg.solve(normal, right)
        mean = solved[0]
        cx += solved[1]
        cy += solved[2]
    low = np.inf
    high = -np.inf
    for k in range(angles.shape[0]):
        r = np.hypot(radii[k] * np.cos(angles[k]) - cx, radii[k] * np.sin(angles[k]) - cy)
        low = min(low, r)
        high = max(high, r)
    return high - low, mean


@njit(cache=True, parallel=True)
def spreads_printed(  # type: ignore[no-untyped-def]
    tables, radii, materials, slopes, frames, whole, directions, layer, pixel, phases, overhang_cos, allowances
):
    """Out-of-round (features, directions) in mm, about the least-squares circle, the worst over the layers' `phases`.

    `tables` (f, 720), `frames` (f, 3, 3) with the axis as third row; a `whole` sphere is cut along the print direction.
    Under 6 corner points count as round.
    """
    out = np.zeros((tables.shape[0], directions.shape[0]))
    for job in prange(tables.shape[0] * directions.shape[0]):
        f, d = job // directions.shape[0], job % directions.shape[0]
        along = frames[f] @ directions[d]
        sine, cosine = np.hypot(along[0], along[1]), along[2]
        if whole[f]:
            sine, cosine = 1.0, 0.0
        turn = np.arctan2(along[1], along[0]) if sine > 1e-6 else 0.0
        for phase in phases:
            profile = printed_profile(tables[f], turn, (sine, abs(cosine)), layer, pixel, phase)
            if profile.shape[0] < 6:
                continue
            shaped = shaped_by_printer(
                profile, radii[f], materials[f], (sine, cosine), slopes[f], overhang_cos, allowances
            )
            out[f, d] = max(out[f, d], circle_spread(profile[:, 0], shaped, profile[:, 2])[0])
    return out
