"""Families cut from plates and bars: bracket, gear, lattice, grille, hook, plate, leaf, chain link, fan."""

import manifold3d
import numpy as np

from families.solids import (
    Solid,
    arc,
    around_z,
    box,
    cylinder,
    joined,
    raised_words,
    rod,
    rounded_profile,
    skin,
    swept,
    wall_mm,
)


def bracket(size_mm: float, segments: int) -> Solid:
    """An angle with a gusset and a hole in each leg: holes along two draws, one of them must be a pin or give."""
    w = wall_mm(size_mm, ratio=0.08)
    x, y, z = size_mm, 0.5 * size_mm, 0.7 * size_mm
    legs = box((0, 0, 0), (x, y, w)) + box((0, 0, 0), (w, y, z))
    side = manifold3d.CrossSection([[(0.5 * w, 0.5 * w), (0.55 * x, 0.5 * w), (0.5 * w, 0.55 * z)]])
    gusset = Solid.extrude(side, w).rotate((90.0, 0.0, 0.0)).translate((0.0, 0.5 * (y + w), 0.0))
    hole = cylinder(0.09 * size_mm, low_mm=-1.0, high_mm=w + 1.0, segments=max(24, segments // 2))
    return (
        (legs + gusset)
        - hole.translate((0.78 * x, 0.5 * y, 0))
        - hole.rotate((0, 90, 0)).translate((0, 0.5 * y, 0.78 * z))
    )


def gear(size_mm: float, segments: int) -> Solid:
    """A spur gear of 16 teeth with a hub, a web and a bore with keyway: many edges without draft."""
    r, wide, teeth = 0.5 * size_mm, 0.2 * size_mm, 16
    outline = []
    for tooth in range(teeth):
        for share, radius in ((-0.3, 0.84), (-0.22, 0.86), (-0.1, 1.0), (0.1, 1.0), (0.22, 0.86), (0.3, 0.84)):
            turn = 2 * np.pi * (tooth + share) / teeth
            outline.append((radius * r * np.cos(turn), radius * r * np.sin(turn)))
    disc = Solid.extrude(manifold3d.CrossSection([outline]), wide)
    web = cylinder(0.7 * r, low_mm=0.65 * wide, high_mm=wide + 1.0, segments=segments)
    web += cylinder(0.7 * r, low_mm=-1.0, high_mm=0.35 * wide, segments=segments)
    hub = cylinder(0.34 * r, low_mm=-0.15 * wide, high_mm=1.15 * wide, segments=max(24, segments // 2))
    bore = cylinder(0.16 * r, low_mm=-wide, high_mm=3 * wide, segments=max(24, segments // 2))
    key = box((0.0, -0.05 * r, -wide), (0.22 * r, 0.05 * r, 3 * wide))
    return (disc - web) + hub - bore - key


def grille(size_mm: float, segments: int) -> Solid:
    """A flat frame with twelve windows: many loops of the seam in one plane, thin bars."""
    del segments
    bar, high = wall_mm(size_mm, ratio=0.05), wall_mm(size_mm, ratio=0.08)
    x, y = size_mm, 0.75 * size_mm
    frame = box((0, 0, 0), (x, y, high))
    wide, deep = (x - 5 * bar) / 4, (y - 4 * bar) / 3
    window = box((bar, bar, -1.0), (bar + wide, bar + deep, high + 1.0))
    windows = [window.translate((k * (wide + bar), j * (deep + bar), 0.0)) for k in range(4) for j in range(3)]
    return frame - joined(windows)


def lattice(size_mm: float, segments: int) -> Solid:
    """A cage of bars, 2 × 2 × 2 cells: rings of silicone close round the bars whichever way it opens."""
    del segments
    bar, cells = wall_mm(size_mm, ratio=0.1), 2
    places = np.linspace(0.0, size_mm - bar, cells + 1)
    bars = []
    for a in places:
        for b in places:
            bars.append(box((0, a, b), (size_mm, a + bar, b + bar)))
            bars.append(box((a, 0, b), (a + bar, size_mm, b + bar)))
            bars.append(box((a, b, 0), (a + bar, b + bar, size_mm)))
    return joined(bars)


def hook(size_mm: float, segments: int) -> Solid:
    """A bent rod on a plate with two holes: the seam must follow the bend; the tip traps air."""
    rad = wall_mm(size_mm, ratio=0.07)
    bend = 0.22 * size_mm
    curl = arc(bend, start_deg=180.0, end_deg=380.0, steps=24)
    stem = np.array([[-bend, 0.6 * size_mm - 0.3 * rad]])
    path = np.concatenate([stem, curl])
    bent = rod(
        np.column_stack([path[:, 0], np.zeros(len(path)), path[:, 1]]), radius_mm=rad, segments=max(16, segments // 4)
    )
    plate = box(
        (-bend - 0.18 * size_mm, -0.18 * size_mm, 0.6 * size_mm),
        (-bend + 0.18 * size_mm, 0.18 * size_mm, 0.6 * size_mm + rad),
    )
    hole = cylinder(0.04 * size_mm, low_mm=0.5 * size_mm, high_mm=size_mm, segments=24)
    return (
        (bent + plate)
        - hole.translate((-bend + 0.12 * size_mm, 0.12 * size_mm, 0))
        - hole.translate((-bend - 0.12 * size_mm, -0.12 * size_mm, 0))
    )


def plate_with_words(size_mm: float, segments: int) -> Solid:
    """A flat back with raised letters: the plain open-face case; small corners in which air clings."""
    w = wall_mm(size_mm, ratio=0.06)
    words = raised_words(
        "OAR4",
        high_mm=0.3 * size_mm / 1.3,
        stroke_mm=0.05 * size_mm,
        rise_mm=max(0.8, 0.03 * size_mm),
        segments=max(12, segments // 6),
    )
    low = words.bounding_box()
    middle = (0.5 * (low[0] + low[3]), 0.5 * (low[1] + low[4]))
    corner = rounded_profile(
        [
            (-0.5 * size_mm, -0.25 * size_mm),
            (0.5 * size_mm, -0.25 * size_mm),
            (0.5 * size_mm, 0.25 * size_mm),
            (-0.5 * size_mm, 0.25 * size_mm),
        ],
        radius_mm=0.06 * size_mm,
    )
    plate = Solid.extrude(manifold3d.CrossSection([corner]), w)
    return plate + words.translate((-middle[0], -middle[1], w))


def leaf(size_mm: float, segments: int) -> Solid:
    """A thin curved blade with a raised vein: a seam that climbs and falls, pointed tips, a wall of 1.2–4 mm."""
    along, across = max(24, segments // 2), max(12, segments // 4)
    thick = wall_mm(size_mm, ratio=0.04)
    s = np.linspace(0.0, 1.0, along + 1)
    half = 0.24 * size_mm * np.sin(np.pi * s) ** 0.8 + 0.35 * thick
    t = np.concatenate([np.linspace(-1, 1, across + 1), np.linspace(1, -1, across + 1)[1:-1]])
    top = np.concatenate([np.ones(across + 1), -np.ones(across - 1)])
    rings = []
    for share, wide in zip(s, half, strict=True):
        x = (share - 0.5) * size_mm
        bend = 0.1 * size_mm * np.sin(2.2 * np.pi * share) + 0.25 * wide * t**2
        body = 0.5 * thick * np.sqrt(np.clip(1 - t**2, 0.0, 1.0)) + 0.1 * thick * (np.abs(t) < 1)
        vein = 0.5 * thick * np.exp(-((t * wide / (0.7 * thick)) ** 2)) * (top > 0)
        rings.append(np.stack([np.full_like(t, x), t * wide, bend + top * body + vein], axis=1))
    return _outward(np.stack(rings))


def _outward(rings: np.ndarray) -> Solid:
    """The skin through the rings, turned inside out if that is what it is."""
    try:
        return skin(rings)
    except ValueError:
        return skin(rings[:, ::-1])


def chain_link(size_mm: float, segments: int) -> Solid:
    """A stretched ring of round wire with a twist: the seam leaves the plane, the window is closed by silicone."""
    turns = 2 * np.pi * np.arange(segments) / segments
    x = 0.43 * size_mm * np.cos(turns)
    y = 0.22 * size_mm * np.sin(turns)
    z = 0.05 * size_mm * np.sin(2 * turns)
    return swept(
        np.stack([x, y, z], axis=1),
        radius_mm=wall_mm(size_mm, ratio=0.07),
        segments=max(16, segments // 4),
        looped=True,
    )


def fan(size_mm: float, segments: int) -> Solid:
    """A hub with six pitched blades: blades overlap the draw a little, a seam along each blade's edges."""
    r, wide = 0.5 * size_mm, 0.2 * size_mm
    w = wall_mm(size_mm, ratio=0.035)
    outline = rounded_profile(
        [
            (-0.13 * size_mm, -0.5 * w),
            (0.13 * size_mm, -0.5 * w),
            (0.13 * size_mm, 0.5 * w),
            (-0.13 * size_mm, 0.5 * w),
        ],
        radius_mm=0.45 * w,
    )
    blade = Solid.extrude(manifold3d.CrossSection([outline]), 0.85 * r, max(8, segments // 8), -18.0)
    blade = blade.rotate((0.0, 0.0, 38.0)).rotate((0.0, 90.0, 0.0)).translate((0.14 * r, 0.0, 0.0))
    hub = cylinder(0.26 * r, low_mm=-0.5 * wide, high_mm=0.5 * wide, segments=segments)
    bore = cylinder(0.08 * r, low_mm=-wide, high_mm=wide, segments=max(24, segments // 2))
    return (hub + around_z(blade, 6)) - bore
