"""The job of a cart's wheels: a soft tyre with a tread, cast around a rigid hub that turns on an axle."""

from pathlib import Path

import manifold3d

from firstpour.files.stl import stl_bytes
from mould_shapes import as_part, turned_profile

Solid = manifold3d.Manifold
WIDE_MM, BORE_MM = 12.0, 2.5

JOB = """\
[job]
name = "cart wheels"

[[part]]
name = "tyre"
file = "tyre.stl"
copies = 4
hardness = "A 40"
draw = [0, 0, 1]
around = "hub"

[[part]]
name = "hub"
file = "hub.stl"
copies = 6
hardness = "rigid"
draw = [0, 0, 1]
"""


def hub() -> Solid:
    """A rim with a rib around it that the tyre holds on to, and a bore for the axle."""
    profile = [(BORE_MM, 0.0), (11.0, 0.0), (11.0, 4.0), (13.0, 5.0), (13.0, 7.0), (11.0, 8.0), (11.0, WIDE_MM)]
    return turned_profile([*profile, (BORE_MM, WIDE_MM)], segments=96)


def tyre() -> Solid:
    """As wide as the hub, with a round tread; the hub's place is left out, drawn with other facets than the hub's."""
    tread = [(9.0, 0.0), (16.0, 0.0), (18.0, 3.0), (18.5, 6.0), (18.0, 9.0), (16.0, WIDE_MM), (9.0, WIDE_MM)]
    groove = [(11.0, -1.0), (11.0, 4.0), (13.0, 5.0), (13.0, 7.0), (11.0, 8.0), (11.0, 13.0)]
    hollow = turned_profile([(0.0, -1.0), *groove, (0.0, 13.0)], segments=72)
    return turned_profile(tread, segments=90) - hollow


def wheel() -> Solid:
    """Tyre and hub in one: what the mould of the tyre holds once the copy is laid in and the shot poured."""
    outside = [(0.0, 0.0), (16.0, 0.0), (18.0, 3.0), (18.5, 6.0), (18.0, 9.0), (16.0, WIDE_MM), (0.0, WIDE_MM)]
    return turned_profile(outside, segments=90) - Solid.cylinder(4.0 * WIDE_MM, BORE_MM, BORE_MM, 96, True)


SOLIDS = {"hub": hub, "tyre": tyre}


def write_wheels(folder: Path) -> Path:
    """The job file, its parts beside it."""
    for name, make in SOLIDS.items():
        (folder / f"{name}.stl").write_bytes(stl_bytes(as_part(name, make()).mesh))
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    return folder / "job.toml"
