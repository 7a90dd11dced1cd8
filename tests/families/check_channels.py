"""Gate and vents: clear of the part, open to the outside, and the air of cast and silicone gets out."""

import re

import numpy as np
import trimesh
from scipy import ndimage

from families.grids import Grid, air_left, grid_over, inside, joined_inside, reached_from
from families.solids import Solid
from families.written import Fault, Rod, WrittenMould
from firstpour.values import FloatArray

CLEAR_MM = 1.5
"""Silicone between a channel and the part, beyond its start: the least wall."""
MOST_POINTS = 150
"""Grid points along the longest side, to keep the flood quick."""
SMALL_AIR_MM3 = 4.0
AIR_POINTS = (110, 220, 330)
"""Grid points along the part's longest side: the finer ones only where the coarser one finds too much air."""
AWAY_RATIO = 0.1
NO_VENT_CODES = ("vent-near-gate", "vent-no-place", "vent-blocked")
LEAST_RISE, ROOF_FACING, ROOF_SHARE = 0.5, 0.7, 0.1
"""Cosines of the draw with up and of a roof with the draw; the share of the height that counts as the roof."""
ROOM_MM = 3.5
"""Radius that a straight vent and the silicone around it want."""


def clear_of_part(mould: WrittenMould) -> list[Fault]:
    """No channel runs through the part, pierces a thin wall of it, or comes nearer than the least wall."""
    faults = []
    for k, rod in enumerate(mould.rods):
        name = f"{rod.use} {k}"
        bodies = [body for body in (rod.solid - mould.part).decompose() if body.volume() > 0.05]
        if len(bodies) > 1:
            inner = sum(sorted(body.volume() for body in bodies)[:-1])
            faults.append(Fault(check="channel", what=f"{name} pierces the part: {inner:.1f} mm³ come out inside it"))
            continue
        start = rod.radii_mm[0]
        later = rod.grown(0.0, skip_mm=2.0 * start + 2.0 * CLEAR_MM)
        through = (later ^ mould.part).volume()
        if through > 0.5:
            faults.append(Fault(check="channel", what=f"{name} runs through the part: {through:.1f} mm³"))
            continue
        gap = later.min_gap(mould.part, CLEAR_MM)
        if gap < 0.95 * CLEAR_MM:
            faults.append(Fault(check="channel", what=f"{name} runs {gap:.2f} mm beside the part"))
    return faults


def vented(mould: WrittenMould) -> list[Fault]:
    """A closed mould has a gate, and a vent away from it unless a finding says why not, and says so truly."""
    if mould.kind == "open-face":
        return []
    gates = [rod for rod in mould.rods if rod.use == "gate"]
    if not gates:
        return [Fault(check="vent", what="no gate")]
    vents = [rod for rod in mould.rods if rod.use == "vent"]
    apart_mm = AWAY_RATIO * float(np.linalg.norm(np.ptp(mould.part_mesh.vertices, axis=0)))
    if any(_from_gates_mm(rod.path_mm[:1], gates)[0] > apart_mm for rod in vents):
        return []
    if "vent-not-needed" in mould.codes:
        return _wide_enough(mould, gates)
    if not mould.codes & set(NO_VENT_CODES):
        return [Fault(check="vent", what="no vent away from the gate, and nothing said of it")]
    free = _free_place(mould, gates, apart_mm=apart_mm)
    if free is None:
        return []
    at = np.round(free, 1).tolist()
    return [Fault(check="vent", what=f"said that no vent can be away from the gate; a straight one is free at {at}")]


def _from_gates_mm(points: FloatArray, gates: list[Rod]) -> FloatArray:
    """Distance (k,) of each point from the nearest gate's start."""
    away: FloatArray = np.min([np.linalg.norm(points - gate.path_mm[0], axis=1) for gate in gates], axis=0)
    return away


def _wide_enough(mould: WrittenMould, gates: list[Rod]) -> list[Fault]:
    """Whether the written gate passes the written part's air in a minute, at the thickness that the finding states.

    By the limit for thick liquids, 0.01 ρ g D² / μ (Wallis 1969, ch. 10, from memory), which no long bubble exceeds.
    """
    said = next(one["what"] for one in mould.entry["findings"] if one["code"] == "vent-not-needed")
    figures = re.search(r"([0-9.]+) Pa·s, ([0-9.]+) g/ml", said)
    if figures is None:
        return [Fault(check="vent", what=f"no thickness of what is poured is said: {said}")]
    viscosity_pa_s, density_g_ml = map(float, figures.groups())
    across_m = 2e-3 * max(min(rod.start_mm, rod.foot_mm or rod.start_mm) for rod in gates)
    speed_m_s = 0.01 * 1000.0 * density_g_ml * 9.81 * across_m**2 / max(viscosity_pa_s, 1e-3)
    passed_ml = speed_m_s * np.pi * across_m**2 / 4.0 * 60.0 * 1e6
    held_ml = mould.part.volume() / 1000.0
    if passed_ml < 0.97 * held_ml:
        what = f"the gate passes {passed_ml:.1f} ml of air in a minute, the part holds {held_ml:.1f} ml"
        return [Fault(check="vent", what=what)]
    return []


def _free_place(mould: WrittenMould, gates: list[Rod], *, apart_mm: float) -> FloatArray | None:
    """A place on the part's roof away from the gate from where a straight round vent along the draw would be clear.

    Only for moulds whose draw looks upwards enough; ways along the seam are not looked for.
    """
    if mould.entry["fill"] is None:
        return None
    up = mould.frame @ np.array(mould.entry["fill"]["up"])
    if abs(up[2]) < LEAST_RISE:
        return None
    along = np.array([0.0, 0.0, np.sign(up[2])])
    mesh = mould.part_mesh
    points, faces = trimesh.sample.sample_surface(mesh, 4_000, seed=1)
    level = mesh.vertices @ up
    roof = mesh.face_normals[faces] @ along > ROOF_FACING
    roof &= points @ up > level.max() - ROOF_SHARE * np.ptp(level)
    roof &= _from_gates_mm(points, gates) > 1.3 * apart_mm
    points = points[roof]
    if not len(points):
        return None
    rim = np.array([[0, 0, 0], *([np.cos(t), np.sin(t), 0] for t in np.arange(8) * np.pi / 4)]) * ROOM_MM
    free = np.ones(len(points), bool)
    for off in rim:
        free &= ~mesh.ray.intersects_any(points + off + 0.5 * along, np.tile(along, (len(points), 1)))
        free &= ~(off.any() & mesh.contains(points + off + 0.5 * along))
    return points[np.argmax(free)] if free.any() else None


def open_to_outside(mould: WrittenMould) -> list[Fault]:
    """A flood through the mouth of each channel reaches the cavity; one too thin for the grid is looked along."""
    if len(mould.halves) < 2 or not mould.rods:
        return []
    low, high = mould.block_mm
    pitch = max(0.4, float((high - low).max()) / MOST_POINTS)
    grid = grid_over(low, high, pitch_mm=pitch, margin=3)
    room = ~joined_inside([piece.solid for piece, _ in mould.halves], grid)
    cavity = inside(mould.part, grid) & room
    core = ndimage.binary_erosion(cavity)
    core = core if core.any() else cavity
    outside = ~_within(grid, low + 0.6 * pitch, high - 0.6 * pitch)
    faults = []
    for k, rod in enumerate(mould.rods):
        if rod.radii_mm.min() < 0.9 * pitch:
            beside = np.array([0.0, 0.0, 0.4 * rod.radii_mm.min()])
            points = np.concatenate([_line(rod, 0.2) + beside, _line(rod, 0.2) - beside])
            leads = not any(piece.mesh.contains(points).any() for piece, _ in mould.halves)
        else:
            way = (room & inside(rod.grown(pitch), grid)) | cavity | outside
            leads = bool((reached_from(way, outside) & core).any())
        if not leads:
            faults.append(Fault(check="flood", what=f"{rod.use} {k} does not lead from the cavity to the outside"))
    return faults


def _line(rod: Rod, step_mm: float) -> FloatArray:
    """Points along the middle line of a channel, from half a radius on."""
    path = rod.path_mm
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    at = np.arange(0.5 * rod.start_mm, way[-1], step_mm)
    return np.stack([np.interp(at, way, path[:, k]) for k in range(3)], axis=1)


def _within(grid: Grid, low: FloatArray, high: FloatArray) -> np.ndarray:
    axes = [grid.origin_mm[k] + grid.pitch_mm * np.arange(grid.shape[2 - k]) for k in range(3)]
    x, y, z = ((axis > low[k]) & (axis < high[k]) for k, axis in enumerate(axes))
    return z[:, None, None] & y[None, :, None] & x[None, None, :]


def air_in_cast(mould: WrittenMould) -> tuple[float | None, list[Fault]]:
    """Air (mm³) that stays in the cast by a flood of the part itself, held against what the plan says.

    On a grid as coarse as a level rim is wide, the rim's top layer falls apart and seems to keep air (tyre with a
    recess: 31, 8, 0 mm³ at 110, 160, 220 points). So what seems to be a fault is counted again on finer grids.
    """
    fill = mould.entry["fill"]
    if fill is None:
        return None, []
    turn = _turn_up(mould.frame @ np.array(fill["up"]))
    air, faults = 0.0, list[Fault]()
    for points in AIR_POINTS:
        air, faults = _air_counted(mould, turn, points=points)
        if not faults:
            break
    return air, faults


def _air_counted(mould: WrittenMould, turn: FloatArray, *, points: int) -> tuple[float, list[Fault]]:
    """`air_in_cast` with so many grid points along the part's longest side."""
    part = _turned(mould.part, turn)
    bounds = np.array(part.bounding_box()).reshape(2, 3)
    pitch = max(0.2, float(np.ptp(bounds, axis=0).max()) / points)
    grid = grid_over(bounds[0], bounds[1], pitch_mm=pitch)
    cavity = inside(part, grid)
    openings = [opening for rod in mould.rods for opening in _openings(rod, turn, cavity, grid)]
    kept = air_left(cavity, openings, grid)
    pockets = _pockets_mm3(kept, grid)
    air = float(pockets.sum())
    said = float(mould.entry["fill"]["trapped_vented_mm3"]) * mould.scale**3
    half_a_layer = 0.5 * grid.pitch_mm**3 * float(kept.any(axis=0).sum())
    slack = max(SMALL_AIR_MM3, 0.1 * said, 0.002 * part.volume()) + half_a_layer
    if air > said + slack:
        return air, [Fault(check="air", what=f"{air:.0f} mm³ of air stay in the cast; {said:.0f} said")]
    if pockets.max(initial=0.0) > 1.5 * SMALL_AIR_MM3 and not mould.told("air"):
        return air, [
            Fault(check="air", what=f"a pocket of {pockets.max():.0f} mm³ of air, and nothing is said of it")
        ]
    return air, []


def _pockets_mm3(kept: np.ndarray, grid: Grid) -> FloatArray:
    """Volumes (k,) of the pockets, without those too small for the grid (12 points)."""
    labels, _ = ndimage.label(kept)
    sizes = np.bincount(labels.ravel())[1:]
    volumes: FloatArray = sizes[sizes >= 12] * grid.pitch_mm**3
    return volumes


def _openings(rod: Rod, turn: FloatArray, cavity: np.ndarray, grid: Grid) -> list[tuple[tuple[int, int, int], float]]:
    """Cavity points within the channel's start, with the level down to which its way lets air out."""
    path = rod.path_mm @ turn.T
    reach = rod.radii_mm[0] + grid.pitch_mm
    box_low, box_high = grid.index_of(path[0] - reach), grid.index_of(path[0] + reach)
    found: list[tuple[tuple[int, int, int], float]] = []
    lowest = float(path[:, 2].min())
    for k in range(int(box_low[0][0]), int(box_high[0][0]) + 1):
        for j in range(int(box_low[1][0]), int(box_high[1][0]) + 1):
            for i in range(int(box_low[2][0]), int(box_high[2][0]) + 1):
                at = grid.origin_mm + grid.pitch_mm * np.array([i, j, k])
                if cavity[k, j, i] and np.linalg.norm(at - path[0]) <= reach:
                    found.append(((k, j, i), lowest + rod.radii_mm[0] + grid.pitch_mm))
    return found


def air_in_silicone(mould: WrittenMould) -> list[Fault]:
    """Air under tray, bed or master while each silicone is poured, unless a finding tells of it."""
    faults = []
    told = mould.told("silicone-air") or mould.told("air-in-silicone") or mould.told("pour-air")
    for piece, way in mould.halves:
        up = -way if mould.kind == "block" else way
        turn = np.diag([1.0, up, up])
        solid = _turned(piece.solid, turn)
        bounds = np.array(solid.bounding_box()).reshape(2, 3)
        grid = grid_over(bounds[0], bounds[1], pitch_mm=max(0.4, float(np.ptp(bounds, axis=0).max()) / 90))
        filled = inside(solid, grid)
        top = int(np.flatnonzero(filled.any(axis=(1, 2))).max())
        openings = [((top, int(j), int(i)), np.inf) for j, i in np.argwhere(filled[top])]
        air = float(_pockets_mm3(air_left(filled, openings, grid), grid).sum())
        if air > max(20.0, 1e-3 * solid.volume()) and not told:
            faults.append(Fault(check="silicone-air", what=f"{air:.0f} mm³ of air stay while {piece.name} is poured"))
    return faults


def _turn_up(up: FloatArray) -> FloatArray:
    """A rotation (3, 3) whose last row is `up`."""
    up = up / np.linalg.norm(up)
    side = np.cross(up, np.eye(3)[np.argmin(np.abs(up))])
    side /= np.linalg.norm(side)
    return np.stack([side, np.cross(up, side), up])


def _turned(solid: Solid, turn: FloatArray) -> Solid:
    return solid.transform(np.column_stack([turn, np.zeros(3)]))
