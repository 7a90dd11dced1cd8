"""Families turned about an axis: wheel, tyres, bowl, mug, bottle, pulley, knob, dome, ball, shaft, tube, box, lid."""

import numpy as np

from families.solids import (
    Solid,
    around_z,
    box,
    cylinder,
    joined,
    rounded_profile,
    swept,
    turned_profile,
    wall_mm,
)


def wheel(size_mm: float, segments: int) -> Solid:
    """Hub, five spokes, rim with a shallow well, axle hole: opens along its axle, the bore whole in one half."""
    r = 0.5 * size_mm
    wide = 0.26 * size_mm
    rim = turned_profile(
        rounded_profile(
            [
                (0.78 * r, 0.0), (r, 0.0), (r, 0.18 * wide), (0.93 * r, 0.3 * wide), (0.93 * r, 0.7 * wide),
                (r, 0.82 * wide), (r, wide), (0.78 * r, wide), (0.82 * r, 0.5 * wide),
            ],
            radius_mm=0.03 * r,
        ),
        segments=segments,
    )  # fmt: skip
    hub = cylinder(0.27 * r, low_mm=0.1 * wide, high_mm=0.95 * wide, segments=segments)
    spoke_mm = wall_mm(size_mm, ratio=0.06)
    spoke = box((0.15 * r, -0.5 * spoke_mm, 0.3 * wide), (0.85 * r, 0.5 * spoke_mm, 0.7 * wide))
    bore = cylinder(0.1 * r, low_mm=-1.0, high_mm=wide + 1.0, segments=max(24, segments // 2))
    return joined([rim, hub, around_z(spoke, 5)]) - bore


def _tyre(size_mm: float, segments: int, *, slant_deg: float, recess: bool) -> Solid:
    """A ring with tread blocks between cross grooves and one groove around; `recess` sinks the side walls."""
    r, wide = 0.5 * size_mm, 0.32 * size_mm
    deep = max(0.8, 0.04 * size_mm)
    profile = [
        (0.62 * r, 0.1 * wide), (0.7 * r, 0.0), (0.92 * r, 0.0), (r, 0.16 * wide),
        (r, 0.84 * wide), (0.92 * r, wide), (0.7 * r, wide), (0.62 * r, 0.9 * wide),
    ]  # fmt: skip
    if recess:
        low, high = [(0.72 * r, 0.0), (0.74 * r, 0.09 * wide), (0.86 * r, 0.09 * wide), (0.88 * r, 0.0)], []
        high = [(x, wide - y) for x, y in reversed(low)]
        profile = [profile[0], profile[1], *low, *profile[2:6], *high, *profile[6:]]
    tyre = turned_profile(rounded_profile(profile, radius_mm=0.02 * r), segments=segments)
    count = 18
    groove_mm = 0.3 * np.pi * size_mm / count
    cut = box((r - deep, -0.5 * groove_mm, -0.6 * wide), (r + 2.0, 0.5 * groove_mm, 0.6 * wide))
    cut = cut.rotate((slant_deg, 0.0, 0.0)).translate((0.0, 0.0, 0.5 * wide))
    ring = cylinder(r + 2.0, low_mm=0.46 * wide, high_mm=0.54 * wide, segments=segments)
    ring -= cylinder(r - deep, low_mm=0.4 * wide, high_mm=0.6 * wide, segments=segments)
    return tyre - around_z(cut, count) - ring


def tyre_straight(size_mm: float, segments: int) -> Solid:
    """Tread of straight cross grooves, which open along the axle, and one groove around, which is undercut."""
    return _tyre(size_mm, segments, slant_deg=0.0, recess=False)


def tyre_slanted(size_mm: float, segments: int) -> Solid:
    """Slanted cross grooves: undercut along the axle everywhere on the tread, a little; the silicone must give."""
    return _tyre(size_mm, segments, slant_deg=25.0, recess=False)


def tyre_recess(size_mm: float, segments: int) -> Solid:
    """Straight tread with recessed side walls: cones of silicone, rings in both halves, air in the upper recess."""
    return _tyre(size_mm, segments, slant_deg=0.0, recess=True)


def bowl(size_mm: float, segments: int) -> Solid:
    """A thin shell on a foot ring: no block poured rim down (air), thin walls for a gate; the rim wants to be up."""
    r, w = 0.5 * size_mm, wall_mm(size_mm, ratio=0.045)
    angles = np.radians(np.linspace(-82.0, 0.0, 15))
    outer = [(r * np.cos(a), r * (1 + np.sin(a)) * 0.8) for a in angles]
    inner = [((r - w) * np.cos(a), w + (r - w) * (1 + np.sin(a)) * 0.8 + 0.0) for a in angles[::-1]]
    top = max(outer[-1][1], inner[0][1])
    foot = turned_profile(
        [(0.3 * r, -0.08 * r), (0.42 * r, -0.08 * r), (0.42 * r, 0.1 * r), (0.3 * r, 0.1 * r)], segments=segments
    )
    shell = turned_profile(
        [(0.0, outer[0][1]), *outer, (outer[-1][0], top), (inner[0][0], top), *inner, (0.0, inner[-1][1])],
        segments=segments,
    )
    hollow = turned_profile(
        [(0.0, inner[-1][1]), *inner[::-1], (inner[0][0], top + 1.0), (0.0, top + 1.0)], segments=segments
    )
    return (shell + foot) - hollow


def mug(size_mm: float, segments: int) -> Solid:
    """A cup with a handle: the handle's loop and the inside want different draws; a seam through the handle."""
    high, r, w = size_mm, 0.36 * size_mm, wall_mm(size_mm, ratio=0.05)
    turns = np.radians(np.linspace(-105.0, 105.0, 33))
    x = 0.92 * r + 0.3 * size_mm * np.cos(turns)
    z = 0.5 * high + 0.27 * size_mm * np.sin(turns)
    handle = swept(
        np.stack([x, np.zeros_like(x), z], axis=1), radius_mm=0.055 * size_mm, segments=max(12, segments // 4)
    )
    outside = turned_profile(
        rounded_profile([(0.0, 0.0), (0.9 * r, 0.0), (r, high), (0.0, high)], radius_mm=0.08 * r), segments=segments
    )
    inside = turned_profile(
        rounded_profile([(0.0, w), (0.9 * r - w, w), (r - w, high + 2.0), (0.0, high + 2.0)], radius_mm=0.1 * r),
        segments=segments,
    )
    return (outside + handle) - inside


def bottle(size_mm: float, segments: int) -> Solid:
    """A hollow bottle with a narrow neck: a plug of silicone must squeeze through the neck; a 2 mm wall."""
    high, r, w = size_mm, 0.22 * size_mm, wall_mm(size_mm, ratio=0.035)
    neck = 0.45 * r
    outer = [(0.0, 0.0), (r, 0.0), (r, 0.62 * high), (neck, 0.8 * high), (neck, high)]
    inner = [(neck - w, high + 1.0), (neck - w, 0.8 * high), (r - w, 0.62 * high - 0.2 * w), (r - w, w), (0.0, w)]
    outside = turned_profile(rounded_profile([*outer, (0.0, high)], radius_mm=0.12 * r), segments=segments)
    inside = turned_profile(rounded_profile([*inner[::-1], (0.0, high + 1.0)], radius_mm=0.12 * r), segments=segments)
    return outside - inside


def pulley(size_mm: float, segments: int) -> Solid:
    """A V groove between two flanges and a bore: a real undercut around; opens across the axle or stretches."""
    r, wide = 0.5 * size_mm, 0.3 * size_mm
    profile = [(0.12 * r, 0.0), (r, 0.0), (r, 0.15 * wide), (0.72 * r, 0.42 * wide)]
    profile += [(radius, wide - z) for radius, z in reversed(profile)]
    return turned_profile(rounded_profile(profile, radius_mm=0.02 * r), segments=segments)


def knob(size_mm: float, segments: int) -> Solid:
    """Scalloped grip, domed top, blind hole from below: no draft, a pocket that traps air one way up."""
    r, high = 0.5 * size_mm, 0.6 * size_mm
    body = turned_profile(
        rounded_profile(
            [(0.0, 0.0), (r, 0.0), (0.92 * r, 0.85 * high), (0.6 * r, high), (0.0, high)], radius_mm=0.1 * r
        ),
        segments=segments,
    )
    scallop = Solid.cylinder(high + 4.0, 0.14 * r, 0.14 * r, max(16, segments // 4)).translate(
        (1.02 * r, 0.0, 0.18 * high)
    )
    hole = cylinder(0.22 * r, low_mm=-1.0, high_mm=0.55 * high, segments=max(24, segments // 2))
    return body - around_z(scallop, 12) - hole


def dome(size_mm: float, segments: int) -> Solid:
    """A solid dome on a flat back with a rim: the plainest open-face or two-part mould."""
    r = 0.5 * size_mm
    cap = Solid.sphere(0.88 * r, segments).trim_by_plane((0.0, 0.0, 1.0), 0.0)
    return cap + cylinder(r, low_mm=0.0, high_mm=wall_mm(size_mm, ratio=0.06), segments=segments)


def ball(size_mm: float, segments: int) -> Solid:
    """A ball: every draw is as good; the seam is a great circle."""
    return Solid.sphere(0.5 * size_mm, segments)


def shaft(size_mm: float, segments: int) -> Solid:
    """Steps of four widths, a keyway and a groove: lies in the mould, the seam along its length."""
    high = size_mm
    profile = [
        (0.0, 0.0), (0.09 * high, 0.0), (0.09 * high, 0.25 * high), (0.14 * high, 0.25 * high),
        (0.14 * high, 0.4 * high), (0.12 * high, 0.4 * high), (0.12 * high, 0.44 * high), (0.16 * high, 0.44 * high),
        (0.16 * high, 0.7 * high), (0.07 * high, 0.7 * high), (0.07 * high, high), (0.0, high),
    ]  # fmt: skip
    key = box((-0.02 * high, 0.055 * high, 0.75 * high), (0.02 * high, 0.2 * high, 1.1 * high))
    return turned_profile(rounded_profile(profile, radius_mm=0.008 * high), segments=segments) - key


def tube(size_mm: float, segments: int) -> Solid:
    """An open tube with a flange: thin walls, a bore right through, a core that leaves along the axis."""
    high, r, w = size_mm, 0.3 * size_mm, wall_mm(size_mm, ratio=0.05)
    flange = wall_mm(size_mm, ratio=0.07)
    profile = [(r - w, 0.0), (1.4 * r, 0.0), (1.4 * r, flange), (r, flange), (r, high), (r - w, high)]
    return turned_profile(rounded_profile(profile, radius_mm=0.2 * w), segments=segments)


def open_box(size_mm: float, segments: int) -> Solid:
    """The lower part of a box with lid: thin straight walls without draft and a stepped rim."""
    del segments
    w = wall_mm(size_mm, ratio=0.05)
    x, y, z = size_mm, 0.7 * size_mm, 0.4 * size_mm
    outside = box((0, 0, 0), (x, y, z))
    inside = box((w, w, w), (x - w, y - w, z + 1.0))
    step = box((-1, -1, z - 0.08 * size_mm), (x + 1, y + 1, z + 1.0)) - box(
        (0.5 * w, 0.5 * w, 0.0), (x - 0.5 * w, y - 0.5 * w, z + 2.0)
    )
    return outside - inside - step


def lid(size_mm: float, segments: int) -> Solid:
    """The lid of the box: a shallow tray with a ball for a handle, a neck under the ball."""
    w = wall_mm(size_mm, ratio=0.05)
    x, y, z = size_mm, 0.7 * size_mm, 0.14 * size_mm
    outside = box((0, 0, 0), (x, y, z))
    inside = box((0.5 * w, 0.5 * w, -1.0), (x - 0.5 * w, y - 0.5 * w, z - w))
    neck = cylinder(0.05 * size_mm, low_mm=z - 0.5 * w, high_mm=z + 0.1 * size_mm, segments=max(24, segments // 2))
    grip = Solid.sphere(0.085 * size_mm, max(24, segments // 2)).translate((0, 0, z + 0.13 * size_mm))
    return (outside - inside) + joined([neck, grip]).translate((0.5 * x, 0.5 * y, 0.0))
