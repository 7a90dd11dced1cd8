"""Solids made with manifold3d, for the tests of files and pictures: a knob and a mould round it."""

import manifold3d
import numpy as np

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.values import Mould, Piece, Role
from firstpour.part.part import Part
from firstpour.parting.values import Draw, MouldKind, Reach
from firstpour.surface.solids import from_solid
from firstpour.values import Finding, FloatArray, Mesh, Severity, face_normals

UP = np.array([0.0, 0.0, 1.0])
TURN_OVER = np.diag([1.0, -1.0, -1.0])


def cube_mesh(side_mm: float = 10.0) -> Mesh:
    return from_solid(manifold3d.Manifold.cube([side_mm] * 3))


def sphere_mesh(radius_mm: float = 10.0, segments: int = 64) -> Mesh:
    return from_solid(manifold3d.Manifold.sphere(radius_mm, segments))


def knob_solid() -> manifold3d.Manifold:
    arm = manifold3d.Manifold.cylinder(40, 6, 6, 24, True).rotate([0, 90, 0])
    return manifold3d.Manifold.sphere(15, 32) + arm


def knob_part() -> Part:
    mesh = from_solid(knob_solid())
    return Part(name="knob", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))


def knob_draw(mesh: Mesh, *, undercut: bool = False) -> Draw:
    """A draw along z with each face's reach by its slope alone; with `undercut` the lowest faces count as held."""
    nz = face_normals(mesh)[:, 2]
    reach = np.where(np.abs(nz) < 1e-6, Reach.BOTH, np.where(nz > 0, Reach.ABOVE, Reach.BELOW)).astype(np.uint8)
    if undercut:
        reach[nz < -0.9] = Reach.NEITHER
    return Draw(
        direction=UP,
        undercut_mm3=12.0 if undercut else 0.0,
        seam_on_show_mm=0.0,
        height_mm=30.0,
        pitch_mm=0.1,
        undercut_mm2=3.0,
        undercut_depth_mm=1.0,
        regions=(),
        reach=reach,
    )


def piece(name: str, role: Role, solid: manifold3d.Manifold, turn: FloatArray | None = None) -> Piece:
    return Piece(
        name=name,
        role=role,
        mesh=from_solid(solid),
        volume_mm3=solid.volume(),
        print_turn=np.eye(3) if turn is None else turn,
    )


def knob_mould(*, findings: tuple[Finding, ...] = ()) -> Mould:
    """Two halves of silicone and two trays, plain but closed."""
    part, half = knob_solid(), manifold3d.Manifold.cube([60, 50, 24], True)
    outer, inner = manifold3d.Manifold.cube([66, 56, 30], True), manifold3d.Manifold.cube([60, 50, 30], True)
    tray = outer - inner.translate([0, 0, 3])
    upper, lower = half.translate([0, 0, 12]) - part, half.translate([0, 0, -12]) - part
    return Mould(
        kind=MouldKind.TRAYS,
        draw=knob_draw(from_solid(part)),
        pieces=(
            piece("upper half", Role.SILICONE, upper),
            piece("lower half", Role.SILICONE, lower),
            piece("upper tray", Role.TRAY, tray.translate([0, 0, 12])),
            piece("lower tray", Role.TRAY, tray.rotate([180, 0, 0]).translate([0, 0, -12]), TURN_OVER),
        ),
        channels=(
            Channel(
                use=ChannelUse.GATE,
                path_mm=np.array([[0.0, 0, 15], [0, 0, 30]]),
                radius_start_mm=3.0,
                radius_end_mm=6.0,
            ),
        ),
        seam_mm=(circle_mm(15.0),),
        silicone_ml=(upper.volume() + lower.volume()) / 1000.0,
        casting_ml=part.volume() / 1000.0,
        print_ml=2.0 * tray.volume() / 1000.0,
        stretch_ratio=0.0,
        scale=1.0,
        findings=findings,
    )


def circle_mm(radius_mm: float, *, height_mm: float = 0.0, count: int = 200) -> FloatArray:
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return np.stack([radius_mm * np.cos(angle), radius_mm * np.sin(angle), np.full(count, height_mm)], axis=1)


def finding(severity: Severity, what: str = "air stays under the arm") -> Finding:
    return Finding(severity=severity, code="trapped-air", what=what, remedy="add a vent there")
