"""The job of a turning table: eight soft ribbed rollers and eight rigid pulleys, each with a tube for its axle."""

from pathlib import Path

import manifold3d

from firstpour.files.stl import stl_bytes
from mould_shapes import as_part, turned_profile

Solid = manifold3d.Manifold
RIBS = 16
TUBE_MM, BORE_MM, WIDE_MM = 4.0, 3.0, 10.0

JOB = f"""\
[job]
name = "turning table"
due = DUE

[[part]]
name = "ribbed roller"
file = "roller.stl"
copies = 8
hardness = "A 30"
draw = [0, 0, 1]
kind = "trays"
cavities = "date"

[[part]]
name = "pulley"
file = "pulley.stl"
copies = 8
hardness = "rigid"
draw = [0, 0, 1]
kind = "trays"
cavities = "date"

[[part.insert]]
shape = "tube"
at_mm = [0, 0, {0.5 * WIDE_MM}]
along = [0, 0, 1]
diameter_mm = {TUBE_MM}
bore_mm = {BORE_MM}
length_mm = {WIDE_MM}
"""


def roller() -> Solid:
    """A tube of 20 mm with ribs along it."""
    body = turned_profile([(3.0, 0.0), (10.0, 0.0), (10.0, 16.0), (3.0, 16.0)], segments=96)
    rib = Solid.cylinder(16.0, 0.9, 0.9, 24).translate((10.0, 0.0, 0.0))
    ribs = [rib.rotate((0.0, 0.0, 360.0 * k / RIBS)) for k in range(RIBS)]
    return Solid.batch_boolean([body, *ribs], manifold3d.OpType.Add)


def pulley() -> Solid:
    """A groove between two flanges, and a hole for the tube."""
    bore = 0.5 * TUBE_MM
    profile = [(bore, 0.0), (13.0, 0.0), (13.0, 2.0), (11.0, 4.4), (11.0, 5.6), (13.0, 8.0), (13.0, WIDE_MM)]
    return turned_profile([*profile, (bore, WIDE_MM)], segments=96)


def pulley_with_tube() -> Solid:
    """What the mould of the pulley holds once the shot is poured."""
    tube = Solid.cylinder(WIDE_MM, 0.5 * TUBE_MM + 0.01, 0.5 * TUBE_MM + 0.01, 96)
    return pulley() + tube - Solid.cylinder(3.0 * WIDE_MM, 0.5 * BORE_MM, 0.5 * BORE_MM, 96, True)


def write_turning_table(folder: Path, *, due: str) -> dict[str, Path]:
    """The job and its parts; for each part's name what its mould holds."""
    for name, solid in (("roller", roller()), ("pulley", pulley()), ("held", pulley_with_tube())):
        (folder / f"{name}.stl").write_bytes(stl_bytes(as_part(name, solid).mesh))
    (folder / "job.toml").write_text(JOB.replace("DUE", due), encoding="utf-8")
    return {"ribbed roller": folder / "roller.stl", "pulley": folder / "held.stl"}
