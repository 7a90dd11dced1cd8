"""Signed distances of the sample parts: x, y, z (n,) in mm give the distance (n,) in mm, negative inside.

They are bounds rather than true distances: never steeper than 1, zero on the surface. All sizes are invented.
"""

import numpy as np

from firstpour.values import FloatArray

RING_BORE_MM = 23.0
"""Radius of the porthole ring's opening."""


def blended(a: FloatArray, b: FloatArray, *, over_mm: float) -> FloatArray:
    """Union of two solids with a fillet: the smaller distance, rounded over where both are alike.

    >>> blended(np.array([1.0]), np.array([5.0]), over_mm=2.0).tolist()
    [1.0]
    """
    near = np.maximum(over_mm - np.abs(a - b), 0.0) / over_mm
    result: FloatArray = np.minimum(a, b) - near * near * over_mm / 4
    return result


def cut_with(a: FloatArray, b: FloatArray, *, over_mm: float) -> FloatArray:
    """What two solids share, with its edge rounded."""
    return -blended(-a, -b, over_mm=over_mm)


_ARM_LENGTH_MM = (45.0, 43.0, 46.0, 42.5, 44.0)
_ARM_BEND_MM = (3.0, -2.0, 1.5, -3.0, 2.5)
_ARM_FLAT = 0.82
"""Height of an arm against its width."""
_TIP_MM = 3.6
"""Radius of an arm at its tip."""
_BUMP_MM = 1.1
_BUMP_APART_MM = 5.0


def sea_star(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """Five tapering arms with rows of bumps on the back, flat underneath, the tips raised a little."""
    body, nearest, second = np.full((3, len(x)), 1e3)
    along, aside, length_mm = np.zeros((3, len(x)))
    for arm in range(5):
        rod, arm_along, arm_aside = _star_arm(x, y, z, arm=arm)
        closer = rod < nearest
        second = np.where(closer, nearest, np.minimum(second, rod))
        nearest = np.where(closer, rod, nearest)
        along = np.where(closer, arm_along, along)
        aside = np.where(closer, arm_aside, aside)
        length_mm = np.where(closer, _ARM_LENGTH_MM[arm] - _TIP_MM, length_mm)
        body = blended(body, rod, over_mm=5.0)
    radius_mm = np.hypot(x, y)
    bumps = _arm_bumps(along, aside, length_mm) * np.clip((second - nearest) / 1.5, 0.0, 1.0)
    bumps += _middle_bumps(x, y, radius_mm)
    bumps *= _BUMP_MM * np.clip((z - 4.0) / 3.0, 0.0, 1.0)
    lift_mm = 4.0 * np.clip((radius_mm - 24.0) / 22.0, 0.0, 1.0) ** 2
    return cut_with(0.7 * (body - bumps), (lift_mm - z) / 1.1, over_mm=1.6)


def _star_arm(x: FloatArray, y: FloatArray, z: FloatArray, *, arm: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Distance to one arm without bumps, how far out along it, and how far aside of its middle."""
    turn = np.radians(90.0 + 72.0 * arm)
    along = x * np.cos(turn) + y * np.sin(turn)
    length_mm = _ARM_LENGTH_MM[arm] - _TIP_MM
    share = np.clip(along / length_mm, 0.0, 1.0)
    aside = y * np.cos(turn) - x * np.sin(turn) - _ARM_BEND_MM[arm] * share * share
    above = z / _ARM_FLAT - 1.0 - 5.0 * share**3
    beyond = along - share * length_mm
    radius_mm = 12.0 - 6.0 * share - (6.0 - _TIP_MM) * share * share
    return np.sqrt(aside * aside + above * above + beyond * beyond) - radius_mm, along, aside


def _arm_bumps(along: FloatArray, aside: FloatArray, length_mm: FloatArray) -> FloatArray:
    """Height (0 to 1) of a row of round bumps along the ridge and one down each side, smaller towards the tip."""
    share = np.clip(along / length_mm, 0.0, 1.0)
    width_mm2 = (1.7 - 0.5 * share) ** 2
    ridge = _to_row(along, shift_mm=0.0) ** 2 + aside**2
    flank = _to_row(along, shift_mm=_BUMP_APART_MM / 2) ** 2 + (np.abs(aside) - 6.2 + 3.6 * share) ** 2
    height = np.exp(-ridge / width_mm2) + 0.8 * np.exp(-flank / width_mm2)
    ends = np.clip((along - 9.0) / 2.0, 0.0, 1.0) * np.clip((length_mm + 1.0 - along) / 3.0, 0.0, 1.0)
    bumps: FloatArray = (1.0 - 0.4 * share) * height * ends
    return bumps


def _middle_bumps(x: FloatArray, y: FloatArray, radius_mm: FloatArray) -> FloatArray:
    """Height (0 to 1) of one bump in the middle and a ring of ten around it."""
    steps = (np.arctan2(y, x) - np.pi / 2) / (np.pi / 5)
    aside = (steps - np.round(steps)) * (np.pi / 5) * radius_mm
    ring = (radius_mm - 6.0) ** 2 + aside**2
    bumps: FloatArray = np.exp(-(radius_mm**2) / 2.6) + 0.85 * np.exp(-ring / 2.0)
    return bumps


def _to_row(along: FloatArray, *, shift_mm: float) -> FloatArray:
    """Distance along the arm to the nearest bump of a row."""
    offset: FloatArray = np.abs((along - shift_mm + _BUMP_APART_MM / 2) % _BUMP_APART_MM - _BUMP_APART_MM / 2)
    return offset


_LIMPET_HALF_MM = (30.0, 25.0)
_LIMPET_HEIGHT_MM = 24.0
_LIMPET_WALL_MM = 3.0
_LIMPET_RIBS = 26


def limpet(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """A ribbed cone of a shell with its tip off the middle, and a deep smooth cone inside."""
    lean_mm = 6.0 * np.clip(z / _LIMPET_HEIGHT_MM, 0.0, 1.0)
    long, wide = (x - lean_mm) / _LIMPET_HALF_MM[0], y / _LIMPET_HALF_MM[1]
    radius = np.sqrt(long**2 + wide**2 + 0.004)
    angle = np.arctan2(wide, long)
    fade = np.clip(radius - 0.1, 0.0, None)
    ribs = 1.15 * np.abs(np.cos(angle * _LIMPET_RIBS / 2)) ** 1.5 + 0.35 * np.cos(angle * 5.0 + 1.0)
    rings = 0.16 * np.sin(radius * 34.0 + 0.8 * np.cos(2 * angle))
    outer = z - _cone_mm(radius, tip_mm=_LIMPET_HEIGHT_MM) - fade * (ribs + rings)
    inner = z - _cone_mm(radius, tip_mm=_LIMPET_HEIGHT_MM) + 1.62 * _LIMPET_WALL_MM
    shell = cut_with(0.5 * outer, -0.62 * inner, over_mm=0.8)
    return cut_with(shell, -z, over_mm=1.8)


def _cone_mm(radius: FloatArray, *, tip_mm: float) -> FloatArray:
    """Height of the shell's side over the share of the way to its rim: a cone that bulges a little."""
    side: FloatArray = tip_mm * (1.06 - 0.72 * radius - 0.34 * radius**2)
    return side


def porthole_ring(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """A ring of softened section with a bead on its front, a flat back, and four lugs with a hole each."""
    radius_mm = np.hypot(x, y)
    ring = _soft_box(radius_mm - 28.5, z - 3.5, half=(28.5 - RING_BORE_MM, 6.5), corner_mm=2.6)
    bead = np.hypot(radius_mm - 28.5, z - 9.0) - 2.6
    body = blended(ring, bead, over_mm=2.0)
    across, along = np.minimum(np.abs(x), np.abs(y)), np.maximum(np.abs(x), np.abs(y))
    from_hole_mm = np.hypot(across, along - 35.0)
    lug = _soft_box(from_hole_mm, z - 1.5, half=(5.2, 4.5), corner_mm=1.2)
    body = blended(body, lug, over_mm=3.0)
    body = cut_with(body, 2.1 - from_hole_mm, over_mm=0.8)
    return cut_with(body, -z, over_mm=0.6)


def _soft_box(u: FloatArray, v: FloatArray, *, half: tuple[float, float], corner_mm: float) -> FloatArray:
    """A rectangle about the origin of the (u, v) plane with rounded corners."""
    du, dv = np.abs(u) - half[0] + corner_mm, np.abs(v) - half[1] + corner_mm
    outside = np.hypot(np.maximum(du, 0.0), np.maximum(dv, 0.0))
    result: FloatArray = outside + np.minimum(np.maximum(du, dv), 0.0) - corner_mm
    return result


def bollard(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    """A mooring post: a bolted flange, a trunk drawn in to a neck, a domed head wider than the neck."""
    radius_mm = np.hypot(x, y)
    flange = _soft_box(radius_mm, z - 3.5, half=(22.0, 3.5), corner_mm=1.8)
    turn = np.arctan2(y, x)
    nearest = np.round(turn / (np.pi / 3)) * (np.pi / 3)
    bolt = np.sqrt((x - 18.0 * np.cos(nearest)) ** 2 + (y - 18.0 * np.sin(nearest)) ** 2 + (z - 6.2) ** 2) - 2.3
    flange = blended(flange, bolt, over_mm=0.6)
    waist_mm = 9.5 + 4.5 * ((z - 38.0) / 32.0) ** 2
    trunk = np.maximum(0.86 * (radius_mm - waist_mm), np.abs(z - 27.0) - 24.0)
    head = 0.62 * 17.0 * (np.sqrt((radius_mm / 17.0) ** 2 + ((z - 57.0) / 13.0) ** 2) - 1.0)
    band = np.hypot(radius_mm - 15.6, z - 54.0) - 2.2
    head = blended(head, band, over_mm=1.6)
    body = blended(flange, trunk, over_mm=7.0)
    return cut_with(blended(body, head, over_mm=3.0), -z, over_mm=0.6)
