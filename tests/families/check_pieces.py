"""The pieces by themselves and together: measured, no gap, no overlap, open where they are poured, no ring closed."""

import numpy as np

from families.solids import Solid, box, joined
from families.written import UPPER, Fault, Piece, WrittenMould
from firstpour.errors import WorkshopError
from firstpour.part.measure import measure_part
from firstpour.part.read import read_part
from firstpour.values import Severity

HAIR_MM = 2e-4
"""Surfaces that should meet are this near after rounding in the files."""
LEAST_GAP_MM3 = 1.0
ARROW_ML = 0.04
"""An arrow cut beside a mouth opens into the cavity and holds no more than this."""
NOTHING_MM3 = 0.5


def measured(mould: WrittenMould) -> list[Fault]:
    """Every written piece passes our own `measure` without an error."""
    faults = []
    for piece in mould.pieces:
        try:
            measures = measure_part(read_part(piece.file))
        except WorkshopError as error:
            faults.append(Fault(check="measure", what=f"{piece.name}: {error.problem}"))
            continue
        bad = [finding for finding in measures.findings if finding.severity is Severity.ERROR]
        if bad or not measures.watertight:
            faults.append(Fault(check="measure", what=f"{piece.name}: {bad[0].what if bad else 'not closed'}"))
    faults += [Fault(check="measure", what=f"{piece.name} is no closed solid") for piece in unclosed(mould)]
    return faults


def unclosed(mould: WrittenMould) -> list[Piece]:
    """Pieces that a general-purpose library does not take for closed solids."""
    return [piece for piece in mould.pieces if piece.solid is None]


def balanced(mould: WrittenMould) -> list[Fault]:
    """Silicone, part and channels fill the block and share nothing; volumes said are volumes written."""
    faults = []
    part, silicone = mould.part, [piece.solid for piece in mould.of("silicone")]
    rods = joined([rod.solid for rod in mould.rods])
    hair = NOTHING_MM3 + HAIR_MM * part.surface_area()
    for piece in mould.of("silicone"):
        shared = (piece.solid ^ part).volume()
        if shared > hair:
            faults.append(Fault(check="balance", what=f"{piece.name} and the part share {shared:.1f} mm³"))
    if len(silicone) == 2:
        shared = (silicone[0] ^ silicone[1]).volume()
        if shared > NOTHING_MM3 + HAIR_MM * silicone[0].surface_area():
            faults.append(Fault(check="balance", what=f"the halves share {shared:.1f} mm³"))
    low, high = mould.block_mm
    inner = box(low + 0.05, high - 0.05)
    rest = inner - joined(silicone) - part - joined([rod.grown(0.15) for rod in mould.rods])
    for gap in rest.decompose():
        if gap.volume() < LEAST_GAP_MM3 or not _thick(gap) or gap.min_gap(rods, 0.5) < 0.2:
            continue
        if gap.min_gap(part, 0.5) < 0.02:
            at = np.round(np.array(gap.bounding_box()).reshape(2, 3).mean(axis=0), 1)
            faults.append(Fault(check="balance", what=f"a gap of {gap.volume():.1f} mm³ at the part, {at.tolist()}"))
    said_ml = mould.entry["mould"]["silicone_ml"]
    held_ml = sum(solid.volume() for solid in silicone) / 1000.0
    if abs(said_ml - held_ml) > 1e-3 * held_ml:
        faults.append(Fault(check="balance", what=f"{said_ml:.1f} ml of silicone said, {held_ml:.1f} ml written"))
    shot_ml = sum(room.volume() for room in _rooms(box(low, high) - joined(silicone), part)) / 1000.0
    cast_ml = mould.entry["mould"]["casting_ml"]
    if mould.rods and abs(cast_ml - shot_ml) > 0.02 * shot_ml + ARROW_ML * len(mould.rods):
        faults.append(Fault(check="balance", what=f"{cast_ml:.2f} ml a shot said, {shot_ml:.2f} ml of room"))
    return faults


def _rooms(hollow: Solid, part: Solid) -> list[Solid]:
    """What of the hollow of the written block holds the part, with all that opens into it; voids count against it."""
    bodies = hollow.decompose()
    return [body for body in bodies if body.volume() < 0.0 or (body ^ part).volume() > NOTHING_MM3]


def _thick(gap: Solid) -> bool:
    """Whether a gap is more than the hair that rounding leaves between surfaces that meet."""
    return bool(2.0 * gap.volume() / gap.surface_area() > 1e-3)


def open_on_top(mould: WrittenMould) -> list[Fault]:
    """What silicone is poured into is open above it: nothing stands or lies over the level to pour to."""
    faults = []
    if mould.kind == "block":
        pairs = [(mould.of("silicone")[0], -UPPER, [p for p in mould.of("box") if "base" not in p.name])]
    elif mould.of("tray"):
        pairs = [(piece, way, _trays_of(mould, piece)) for piece, way in mould.halves]
    else:
        pairs = [(piece, way, mould.of("box")) for piece, way in mould.halves]
    for silicone, way, around in pairs:
        around = [piece for piece in around if piece.solid is not None and "wedge" not in piece.name]
        if not around:
            faults.append(Fault(check="open", what=f"no box or tray for {silicone.name}"))
            continue
        low, high = silicone.mesh.bounds.copy()
        inset = np.array([0.3, 0.3, 0.0])
        level = high[2] if way > 0 else low[2]
        above = (low + inset, high - inset)
        above[0][2], above[1][2] = (level + 0.001, level + 60.0) if way > 0 else (level - 60.0, level - 0.001)
        walls = joined([piece.solid for piece in around])
        standing = (walls ^ box(*above)) - joined([rod.grown(0.3) for rod in mould.rods])
        if standing.volume() > NOTHING_MM3:
            faults.append(
                Fault(check="open", what=f"{standing.volume():.0f} mm³ of {around[0].name} over {silicone.name}")
            )
        lid_mm2 = sum(_lid_mm2(piece, level, low, high) for piece in around)
        stubs_mm2 = sum(np.pi * (rod.end_mm + 0.3) ** 2 for rod in mould.rods)
        if lid_mm2 > 2.0 + 2.0 * stubs_mm2:
            faults.append(
                Fault(check="open", what=f"{around[0].name} has {lid_mm2:.0f} mm² of lid at the pour level")
            )
    return faults


def _lid_mm2(piece: Piece, level: float, low: np.ndarray, high: np.ndarray) -> float:
    """Area of level faces at the pour level within the footprint of the silicone."""
    mesh = piece.mesh
    corners = mesh.triangles
    level_faces = np.abs(corners[:, :, 2] - level).max(axis=1) < 0.01
    middle = mesh.triangles_center
    within = ((middle[:, :2] > low[:2] + 0.5) & (middle[:, :2] < high[:2] - 0.5)).all(axis=1)
    return float(mesh.area_faces[level_faces & within].sum())


def _trays_of(mould: WrittenMould, silicone: Piece) -> list[Piece]:
    """The tray that a silicone half is poured in, in as many parts as it was cut into."""
    word = next((word for word in ("upper", "lower") if word in silicone.name), "")
    return mould.of("tray", word)


def no_closed_ring(mould: WrittenMould) -> list[Fault]:
    """No half closes a ring around the part; where one does, a finding says so."""
    if mould.told("closed-ring") or mould.told("locked"):
        return []
    faults = []
    if len(mould.halves) < 2:
        return []
    for piece, _ in mould.halves:
        rings = min(_handles(piece.solid, mould, by_mm) for by_mm in (0.0, 0.15, 0.3))
        if rings:
            faults.append(Fault(check="ring", what=f"{piece.name} closes {rings} ring(s) around the part"))
    return faults


def _handles(half: Solid, mould: WrittenMould, by_mm: float) -> int:
    """Handles of a half as it is (0), or with its channels filled a little too wide so that surfaces do not meet."""
    filled = [rod.grown(by_mm) - mould.part for rod in mould.rods] if by_mm > 0.0 else []
    bodies = joined([half, *filled]).decompose()
    return sum(max(0, body.genus()) for body in bodies if body.volume() > NOTHING_MM3)
