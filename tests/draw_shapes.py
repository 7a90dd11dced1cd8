"""Ordinary things that people cast, for the tests of the draw; every axis is z, every size in mm."""

import manifold3d
import numpy as np

Solid = manifold3d.Manifold


def turned_about_z(points: list[tuple[float, float]], segments: int = 96) -> Solid:
    return Solid.revolve(manifold3d.CrossSection([points]), segments)


def drill(radius: float, *, long: float = 200.0, segments: int = 48) -> Solid:
    return Solid.cylinder(long, radius, radius, segments, True)


def wheel() -> Solid:
    """A disc of 80 × 12 with an axle hole of 8 and five windows of 16."""
    solid = Solid.cylinder(12.0, 40.0, 40.0, 128) - drill(4.0)
    for turn in 2 * np.pi * np.arange(5) / 5:
        solid -= drill(8.0).translate((22 * np.cos(turn), 22 * np.sin(turn), 0.0))
    return solid


def spoked_wheel() -> Solid:
    rim = Solid.cylinder(12.0, 40.0, 40.0, 128) - drill(33.0, segments=128)
    solid = rim + Solid.cylinder(16.0, 9.0, 9.0, 64).translate((0.0, 0.0, -2.0))
    for k in range(6):
        solid += Solid.cube((30.0, 5.0, 7.0)).translate((5.0, -2.5, 2.5)).rotate((0.0, 0.0, 60.0 * k))
    return solid - drill(4.0)


def tyre(slant_deg: float) -> Solid:
    """A hollow tyre with 24 cross grooves; beads of 24 radius hold a ring of silicone of 36.5."""
    profile = [(24, -8), (30, -12), (38, -11), (40, -8), (40, 8), (38, 11), (30, 12), (24, 8)]
    inside = [(27, 7), (31, 9.5), (35, 8.5), (36.5, 6), (36.5, -6), (35, -8.5), (31, -9.5), (27, -7)]
    solid = turned_about_z([(float(r), float(z)) for r, z in profile + inside], 128)
    for k in range(24):
        groove = Solid.cube((6.0, 2.4, 40.0), True).rotate((slant_deg, 0.0, 0.0)).translate((40.5, 0.0, 0.0))
        solid -= groove.rotate((0.0, 0.0, 15.0 * k))
    return solid


def bowl() -> Solid:
    """A round bowl of 2.5 wall."""
    angles = np.linspace(0.0, 0.48 * np.pi, 24)
    shells = [[(r * np.sin(a), 45.0 - r * np.cos(a)) for a in angles] for r in (45.0, 42.5)]
    return turned_about_z(shells[0] + shells[1][::-1], 128)


def bottle() -> Solid:
    """A hollow bottle, 38 within and 16 in the neck."""
    outside = [(0.0, 0.0), (22.0, 0.0), (22.0, 60.0), (10.0, 75.0), (10.0, 90.0)]
    return turned_about_z([*outside, (8.0, 90.0), (8.0, 74.0), (19.0, 59.0), (19.0, 3.0), (0.0, 3.0)])


def jug() -> Solid:
    """A pot of 44 within and 36 in the neck: its plug is squeezed by 18 %."""
    outside = [(0.0, 0.0), (26.0, 0.0), (26.0, 50.0), (22.0, 54.0), (22.0, 60.0)]
    return turned_about_z([*outside, (18.0, 60.0), (18.0, 54.0), (22.0, 49.0), (22.0, 4.0), (0.0, 4.0)])


def bracket() -> Solid:
    """Two flanges of 40 × 30 × 5 with two holes in each."""
    solid = Solid.cube((40.0, 30.0, 5.0)) + Solid.cube((5.0, 30.0, 40.0))
    for y in (8.0, 22.0):
        hole = drill(3.0, long=20.0, segments=32)
        solid -= hole.translate((28.0, y, 2.0))
        solid -= hole.rotate((0.0, 90.0, 0.0)).translate((2.0, y, 28.0))
    return solid


def gear() -> Solid:
    """18 teeth and a bore."""
    turns = 2 * np.pi * np.arange(72) / 72
    radii = np.where(np.arange(72) % 4 < 2, 24.0, 19.0)
    outline = manifold3d.CrossSection([np.column_stack([radii * np.cos(turns), radii * np.sin(turns)])])
    return Solid.extrude(outline, 10.0) - drill(4.0, segments=40)


def pulley() -> Solid:
    """A groove of 20 between flanges of 26, and a bore of 5, radii."""
    return turned_about_z([(5, 0), (26, 0), (26, 3), (20, 8), (20, 10), (26, 15), (26, 18), (5, 18)], 128)


def knob() -> Solid:
    return turned_about_z([(0, 0), (8, 0), (8, 12), (17, 16), (18, 24), (14, 30), (0, 32)]) - drill(2.5, long=20.0)


def mug() -> Solid:
    """A cup with a ring for a handle, in the plane y = 0."""
    cup = turned_about_z([(0, 0), (35, 0), (38, 80), (35, 80), (32, 4), (0, 4)], 128)
    turns = 2 * np.pi * np.arange(20) / 20
    ring = turned_about_z([(20 + 5 * np.cos(a), 5 * np.sin(a)) for a in turns], 64)
    return cup + (ring.rotate((90.0, 0.0, 0.0)).translate((42.0, 0.0, 40.0)) - drill(34.0, segments=64))


def lattice() -> Solid:
    """A cube with four square windows through each pair of its sides."""
    solid = Solid.cube((40.0, 40.0, 40.0), True)
    for turn in ((0.0, 0.0, 0.0), (90.0, 0.0, 0.0), (0.0, 90.0, 0.0)):
        for x in (-10.0, 10.0):
            for y in (-10.0, 10.0):
                solid -= Solid.cube((12.0, 12.0, 60.0), True).translate((x, y, 0.0)).rotate(turn)
    return solid


def posts_between_plates(count: int) -> Solid:
    """Two plates held apart by posts: each post after the first closes a ring of silicone."""
    plate = Solid.cube((60.0, 60.0, 4.0), True)
    solid = plate + plate.translate((0.0, 0.0, 14.0))
    for k in range(count):
        turn = 2 * np.pi * k / count
        away = 0.0 if count == 1 else 18.0
        post = Solid.cylinder(14.0, 4.0, 4.0, 32).translate((away * np.cos(turn), away * np.sin(turn), 0.0))
        solid += post
    return solid


def grooved_rod(neck_mm: float, undercut_mm: float) -> Solid:
    """A rod with a groove of 8 around it, `neck_mm` in radius within."""
    out = neck_mm + undercut_mm
    return turned_about_z([(0, 0), (out, 0), (out, 12), (neck_mm, 12), (neck_mm, 20), (out, 20), (out, 32), (0, 32)])


def necked_pot(plug_mm: float, undercut_mm: float) -> Solid:
    """A pot of `plug_mm` in radius within, its neck narrower by the undercut."""
    neck = plug_mm - undercut_mm
    outside = [(0.0, 0.0), (plug_mm + 6, 0.0), (plug_mm + 6, 50.0)]
    return turned_about_z([*outside, (neck, 50.0), (neck, 38.0), (plug_mm, 38.0), (plug_mm, 6.0), (0.0, 6.0)])


ORDINARY = {
    "wheel": wheel,
    "spoked wheel": spoked_wheel,
    "treaded tyre": lambda: tyre(0.0),
    "slanted tyre": lambda: tyre(20.0),
    "bowl": bowl,
    "bottle": bottle,
    "jug": jug,
    "bracket": bracket,
    "gear": gear,
    "pulley": pulley,
    "knob": knob,
    "mug": mug,
    "lattice": lattice,
}
