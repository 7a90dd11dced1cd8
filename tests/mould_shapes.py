"""Parts for the tests of the mould room, built by exact solids; their closed forms stand beside them."""

from functools import cache

import manifold3d
import numpy as np

from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Mould
from firstpour.part.part import FaceMark, Part
from firstpour.part.read import read_part
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.seam import Seamed, cut_seam
from firstpour.parting.values import Draw, MouldKind
from firstpour.surface.solids import from_solid
from firstpour.values import FloatArray, Mesh, face_normals, frame_along, turned
from sample_shapes import shipped_path

X, Y, Z = (np.eye(3)[k] for k in range(3))

HEAD_MM, NECK_MM, FOOT_MM = 15.0, 10.0, 12.0
HEAD_HIGH_MM, NECK_HIGH_MM, FOOT_HIGH_MM = 6.0, 20.0, 8.0
"""The bollard: a foot (cylinder of radius FOOT_MM), a neck and a head above each other, turned about z."""
BOLLARD_SEGMENTS = 96


def as_part(name: str, solid: manifold3d.Manifold) -> Part:
    """A solid as an unmarked part."""
    return with_marks(name, from_solid(solid))


def with_marks(name: str, mesh: Mesh, *, show: FloatArray | None = None, hidden: FloatArray | None = None) -> Part:
    """A part whose faces along `show` are show faces and those along `hidden` hidden ones (within 8°)."""
    marks = np.zeros(len(mesh.faces), np.uint8)
    for direction, mark in ((show, FaceMark.SHOW), (hidden, FaceMark.HIDDEN)):
        if direction is not None:
            marks[face_normals(mesh) @ direction > 0.99] |= int(mark)
    return Part(name=name, mesh=mesh, marks=marks)


def turned_profile(points_mm: list[tuple[float, float]], *, segments: int = 64) -> manifold3d.Manifold:
    """A profile of (radius, height) points, counter-clockwise, turned about z."""
    return manifold3d.Manifold.revolve(manifold3d.CrossSection([points_mm]), segments)


def cube() -> manifold3d.Manifold:
    return manifold3d.Manifold.cube((20.0, 20.0, 20.0), True)


def cylinder() -> manifold3d.Manifold:
    return manifold3d.Manifold.cylinder(24.0, 10.0, 10.0, 64)


def sphere() -> manifold3d.Manifold:
    return manifold3d.Manifold.sphere(15.0, 64)


def tilted_box() -> manifold3d.Manifold:
    return manifold3d.Manifold.cube((30.0, 20.0, 12.0), True).rotate((20.0, 35.0, 10.0))


def torus() -> manifold3d.Manifold:
    angles = 2 * np.pi * np.arange(40) / 40
    return turned_profile([(20 + 6 * np.cos(a), 6 * np.sin(a)) for a in angles], segments=80)


def tilted_torus() -> manifold3d.Manifold:
    return torus().rotate((12.0, 7.0, 0.0))


def bollard() -> manifold3d.Manifold:
    """Head over neck over foot; the groove at the neck is the undercut along z."""
    neck, head = FOOT_HIGH_MM + NECK_HIGH_MM, FOOT_HIGH_MM + NECK_HIGH_MM + HEAD_HIGH_MM
    profile = [(0.0, 0.0), (FOOT_MM, 0.0), (FOOT_MM, FOOT_HIGH_MM), (NECK_MM, FOOT_HIGH_MM)]
    profile += [(NECK_MM, neck), (HEAD_MM, neck), (HEAD_MM, head), (0.0, head)]
    return turned_profile(profile, segments=BOLLARD_SEGMENTS)


def hourglass() -> manifold3d.Manifold:
    angles = np.linspace(0, 2 * np.pi, 41)
    wave = [(12.0 + 4.0 * np.cos(a), 30.0 * a / (2 * np.pi)) for a in angles]
    return turned_profile([(0.0, 0.0), *wave, (0.0, 30.0)])


def star_prism() -> manifold3d.Manifold:
    """Five arms with vertical walls: its seam may lie at any height along them."""
    angles = 2 * np.pi * np.arange(10) / 10
    radii = np.where(np.arange(10) % 2 == 0, 22.0, 10.0)
    points = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    return manifold3d.Manifold.extrude(manifold3d.CrossSection([points]), 12.0)


def warped_ring() -> manifold3d.Manifold:
    """A torus whose height waves twice around: two seam loops, neither of them flat."""

    def wave(xyz: FloatArray) -> FloatArray:
        turn = np.arctan2(xyz[:, 1], xyz[:, 0])
        return np.column_stack([xyz[:, :2], xyz[:, 2] + 2.0 * np.cos(2 * turn)])

    return torus().warp_batch(wave)


def l_bracket() -> manifold3d.Manifold:
    box = manifold3d.Manifold.cube
    return box((30.0, 16.0, 6.0)) + box((6.0, 16.0, 25.0))


def mushroom() -> manifold3d.Manifold:
    """A round cap on a stalk: everything under the cap is reached from below."""
    cap = manifold3d.Manifold.sphere(16.0, 64).trim_by_plane((0.0, 0.0, 1.0), 0.0)
    return cap + manifold3d.Manifold.cylinder(18.0, 5.0, 5.0, 48).translate((0.0, 0.0, -17.0))


def limpet_cup() -> manifold3d.Manifold:
    """A thin cone shell, open below."""
    return turned_profile([(20.0, 0.0), (3.0, 18.0), (0.0, 18.0), (0.0, 15.0), (2.0, 15.0), (16.5, 0.0)])


def two_hole_plate() -> manifold3d.Manifold:
    plate = manifold3d.Manifold.cube((50.0, 24.0, 6.0), True)
    drill = manifold3d.Manifold.cylinder(20.0, 5.0, 5.0, 40, True)
    return plate - drill.translate((13.0, 0.0, 0.0)) - drill.translate((-13.0, 0.0, 0.0))


def half_ball() -> manifold3d.Manifold:
    """A flat back at z = 0."""
    return manifold3d.Manifold.sphere(15.0, 64).trim_by_plane((0.0, 0.0, 1.0), 0.0)


def pyramid() -> manifold3d.Manifold:
    """A truncated pyramid, a plate with 10° of draft on its four walls, standing on z = 0."""
    points = np.array([[-14, -10], [14, -10], [14, 10], [-14, 10]], dtype=np.float64)
    return manifold3d.Manifold.extrude(manifold3d.CrossSection([points]), 10.0, 0, 0.0, (0.874, 0.824))


SOLIDS = {
    "cube": cube,
    "cylinder": cylinder,
    "sphere": sphere,
    "tilted box": tilted_box,
    "torus": torus,
    "tilted torus": tilted_torus,
    "bollard": bollard,
    "hourglass": hourglass,
    "star prism": star_prism,
    "warped ring": warped_ring,
    "L-bracket": l_bracket,
    "mushroom": mushroom,
    "limpet cup": limpet_cup,
    "two-hole plate": two_hole_plate,
    "half ball": half_ball,
    "pyramid": pyramid,
}

WITHOUT_UNDERCUT: list[tuple[str, FloatArray]] = [
    ("cube", Z),
    ("cylinder", Z),
    ("cylinder", X),
    ("sphere", Z),
    ("sphere", np.array([0.3, -0.5, 0.8])),
    ("tilted box", Z),
    ("tilted box", X),
    ("torus", Z),
    ("bollard", X),
    ("hourglass", X),
    ("star prism", Z),
    ("warped ring", Z),
    ("L-bracket", Y),
    ("mushroom", Z),
    ("limpet cup", Z),
    ("two-hole plate", Z),
    ("half ball", Z),
    ("pyramid", Z),
]
"""Shapes and draws along which they have no undercut; vertical walls, holes and waves included."""
LABELS = [f"{name} along {np.round(direction, 1).tolist()}" for name, direction in WITHOUT_UNDERCUT]


@cache
def sample(name: str) -> Part:
    """The part of that name, built once."""
    return as_part(name, SOLIDS[name]())


@cache
def shipped(name: str) -> Part:
    """`nut`, `ant` or `sphere` as a general-purpose library ships them (MIT); else the test is skipped."""
    return read_part(shipped_path(name))


@cache
def draw_of(name: str, direction: tuple[float, float, float]) -> Draw:
    """The draw of a sample along a direction, worked out once."""
    return draw_along(sample(name), np.array(direction))


@cache
def mould_of(name: str, direction: tuple[float, float, float], kind: MouldKind) -> Mould:
    """The mould of a sample with the ordinary settings, worked out once."""
    return make_mould(lay_parting(sample(name), draw_of(name, direction), kind=kind))


def in_frame(part: Part, draw: Draw) -> Mesh:
    """The part turned so that the draw is +z."""
    return turned(part.mesh, rotation=frame_along(draw.direction))


def seam_of(part: Part, draw: Draw) -> Seamed:
    """The seam cut into the part in the frame of the draw."""
    return cut_seam(in_frame(part, draw), reach=draw.reach, marks=part.marks)


SETTINGS = MouldSettings()
