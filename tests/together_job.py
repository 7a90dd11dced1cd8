"""The job of a shelf for the touch table: brackets, knobs and washers of one rigid plastic, in one mould."""

from pathlib import Path

import manifold3d

from firstpour.files.stl import stl_bytes
from mould_shapes import as_part, turned_profile

Solid = manifold3d.Manifold

JOB = """\
[job]
name = "shelf for the touch table"

[[part]]
name = "bracket"
file = "bracket.stl"
copies = 4
hardness = "rigid"
draw = [0, 0, 1]

[[part]]
name = "knob"
file = "knob.stl"
copies = 8
hardness = "rigid"
draw = [0, 0, 1]
cavities = 2

[[part]]
name = "washer"
file = "washer.stl"
copies = 3
draw = [0, 1, 0]

[[together]]
name = "shelf set"
parts = ["bracket", "knob", "washer"]
"""


def bracket() -> Solid:
    """An L from above: whatever lies in its corner saves silicone."""
    return Solid.cube((38.0, 9.0, 6.0)) + Solid.cube((9.0, 30.0, 6.0))


def knob() -> Solid:
    """A dome on a shorter neck: the seam lies around its widest place, at another height than the others'."""
    profile = [(0.0, 0.0), (7.0, 0.0), (7.0, 4.0), (9.0, 6.0), (8.0, 9.5), (4.5, 12.0), (0.0, 12.6)]
    return turned_profile(profile, segments=64)


def washer() -> Solid:
    """A ring that stands upright in its file, its axis along y: it is laid down in the mould."""
    ring = turned_profile([(5.0, 0.0), (11.0, 0.0), (11.0, 5.0), (5.0, 5.0)], segments=64)
    return ring.rotate((90.0, 0.0, 0.0)).translate((40.0, 3.0, 20.0))


SOLIDS = {"bracket": bracket, "knob": knob, "washer": washer}


def write_together(folder: Path) -> Path:
    """The job file, its parts beside it."""
    for name, make in SOLIDS.items():
        (folder / f"{name}.stl").write_bytes(stl_bytes(as_part(name, make()).mesh))
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    return folder / "job.toml"
