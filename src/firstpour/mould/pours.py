"""Every pour of a mould, of silicone and of the cast: how it stands, what comes before, the air that stays.

The space that silicone fills is filled as the cast is (`fill.pockets`), in the pose in which it is poured, open over
the whole of its top.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from firstpour.fill.channels import ChannelPlan
from firstpour.fill.pockets import find_pockets
from firstpour.fill.values import SMALL_AIR_MM3
from firstpour.mould.values import Mould, Piece, Pose, Role
from firstpour.part.part import Part
from firstpour.parting.values import MouldKind
from firstpour.units import MM3_PER_ML
from firstpour.values import Finding, FloatArray, Mesh, Severity, frame_along, place_words, scaled

CAST = "copy"
"""What the last pour makes."""
TILTS_DEG = (15.0, 30.0)
"""Tilts of the box that are tried where air stays; the steeper one spills more (our own choice, decision 0048)."""
AROUND = 8
"""Ways of leaning that are tried: over each side and each corner."""
WORTH_TILTING = 0.9
"""A tilt is named where it leaves no more than this share of the air."""
FROM_WALL_MM = 4.0
"""How far from both walls of its corner the stream goes in: the middle of a wall of silicone of 8 mm."""
LEVEL_COS, OVER_COS = 0.99, -0.7


class Carrier(StrEnum):
    """What holds the part, or its print, where it is while this is poured."""

    ROD = "rod"
    """The master hangs on the rod of its gate, which stands in the base."""
    BEDDING = "bedding"
    CURED_SILICONE = "cured-silicone"
    TRAY = "tray"
    """It is one with the tray."""
    NOTHING = "nothing"
    """The cast fills the cavity itself."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Air:
    """Air that cannot leave: how much, in how many places larger than a bubble, and where the most of it is."""

    volume_mm3: float
    places: int
    at_mm: FloatArray | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MouldPour:
    """One pour. Places are in the part's own coordinates; `bubble_mm` is None where it is not known or not asked."""

    pose: Pose
    after: tuple[str, ...]
    """What must have cured before."""
    turned_over: tuple[str, ...]
    """Which of that now stands upside down, seen from its own pour."""
    air: Air
    """As the pose has it."""
    tilt_deg: float
    """The lean of the box that leaves the least air; 0 where it stands as the pose has it."""
    tilt_up: FloatArray
    """Which way is up in the box that leans so (3,)."""
    tilted_air: Air
    at_mm: FloatArray
    """Where the stream goes in: the corner with the most room, or the gate."""
    carrier: Carrier
    lift_n: float = 0.0
    lean_mm: float = 0.0
    bubble_mm: float | None = None
    """Smaller bubbles stay in the mix."""


def pours_of(
    mould: Mould, part: Part, plan: ChannelPlan | None, *, whole: Part | None = None
) -> tuple[MouldPour, ...]:
    """All pours of the mould in the order of the work; `plan` has gate, vents and air of a closed mould's cast.

    `whole` is what all cavities together are, where there are several: each fills through a gate of its own, so that
    the air of the cast is that of one cavity, so many times.
    """
    poured = {piece.name: piece for piece in mould.pieces if piece.role is Role.SILICONE}
    pours: list[MouldPour] = []
    for pose in mould.poses:
        pours.append(_silicone_pour(mould, whole or part, pose, poured[pose.pours], before=pours))
    return (*pours, _cast_pour(mould, part, plan, list(poured.values()), before=pours))


def _silicone_pour(mould: Mould, part: Part, pose: Pose, piece: Piece, *, before: Sequence[MouldPour]) -> MouldPour:
    space = scaled(piece.mesh, factor=1.0 / mould.scale)
    around = [pour for pour in before if pour.pose.pours in pose.around]
    openings = tuple(pose.openings_mm / mould.scale)
    air = air_while_poured(space, pose.up, openings)
    tilt_deg, tilt_up, left = (
        (0.0, pose.up, air) if openings else _best_tilt(space, (), up=pose.up, draw=mould.draw.direction, level=air)
    )
    carried = mould.carried
    return MouldPour(
        pose=pose,
        after=tuple(pour.pose.pours for pour in around),
        turned_over=_turned(around, pose.up),
        air=air,
        tilt_deg=tilt_deg,
        tilt_up=tilt_up,
        tilted_air=left,
        at_mm=openings[0] if openings else _corner(space, part.mesh, tilt_up, pose.up, mould.draw.direction),
        carrier=_carrier(mould.kind, cured=bool(around)),
        lift_n=0.0 if carried is None else carried.lift_n,
        lean_mm=0.0 if carried is None else carried.lean_mm,
    )


def _cast_pour(
    mould: Mould, part: Part, plan: ChannelPlan | None, silicones: list[Piece], *, before: Sequence[MouldPour]
) -> MouldPour:
    """The cast: through its gate with its vents, or into the open face, flat back up."""
    up = -mould.draw.direction if plan is None else plan.vented.up
    height = part.mesh.vertices_mm @ up
    at_mm, level_mm = part.mesh.vertices_mm[int(np.argmin(height))], float(height.max()) * mould.scale
    own = mould.channels[: len(mould.channels) // mould.cavities]
    ends_mm = [channel.path_mm[-1] / mould.scale for channel in own]
    openings: tuple[FloatArray, ...] = ()
    if plan is None:
        air = air_while_poured(part.mesh, up)
    else:
        openings = tuple(channel.at_mm for channel in plan.channels)
        air = _air([(pocket.volume_mm3, pocket.top_mm) for pocket in plan.vented.pockets])
        at_mm = plan.vented.gate_mm if plan.gate is None else ends_mm[0]
        level_mm = level_mm if plan.gate is None else float(ends_mm[0] @ up) * mould.scale
    tilt_deg, tilt_up, left = _best_tilt(
        part.mesh, openings, up=up, draw=mould.draw.direction, level=air, ends_mm=ends_mm
    )
    foot_mm = min(float((piece.mesh.vertices_mm @ up).min()) for piece in silicones)
    pose = Pose(
        pours=CAST,
        up=up,
        around=tuple(piece.name for piece in silicones),
        level_mm=level_mm - foot_mm,
        volume_mm3=mould.cavities * mould.casting_ml * MM3_PER_ML,
    )
    return MouldPour(
        pose=pose,
        after=pose.around,
        turned_over=_turned(before, up),
        air=_in_all(air, mould.cavities),
        tilt_deg=tilt_deg,
        tilt_up=tilt_up,
        tilted_air=_in_all(left, mould.cavities),
        at_mm=at_mm,
        carrier=Carrier.NOTHING,
    )


def _in_all(air: Air, cavities: int) -> Air:
    """The air of so many equal cavities."""
    return Air(volume_mm3=cavities * air.volume_mm3, places=cavities * air.places, at_mm=air.at_mm)


def _turned(before: Sequence[MouldPour], up: FloatArray) -> tuple[str, ...]:
    return tuple(pour.pose.pours for pour in before if float(pour.pose.up @ up) < OVER_COS)


def _carrier(kind: MouldKind, *, cured: bool) -> Carrier:
    """What holds the master in a pour of silicone."""
    if cured:
        return Carrier.CURED_SILICONE
    if kind is MouldKind.BLOCK:
        return Carrier.ROD
    return Carrier.BEDDING if kind is MouldKind.BEDDING else Carrier.TRAY


def air_while_poured(space: Mesh, up: FloatArray, openings_mm: tuple[FloatArray, ...] = ()) -> Air:
    """The air that stays in the space filled with `up` on top: through its highest place, or through the openings."""
    solid = Part(name="poured", mesh=space, marks=np.zeros(len(space.faces), np.uint8))
    gate = openings_mm[0] if openings_mm else None
    fill = find_pockets(solid, up=up, gate_mm=gate, vents_mm=openings_mm[1:])
    return _air([(pocket.volume_mm3, pocket.top_mm) for pocket in fill.pockets])


def _air(pockets: list[tuple[float, FloatArray]]) -> Air:
    large = [(volume, top) for volume, top in pockets if volume > SMALL_AIR_MM3]
    at_mm = max(large, key=lambda pocket: pocket[0])[1] if large else None
    return Air(volume_mm3=sum(volume for volume, _ in large), places=len(large), at_mm=at_mm)


def _best_tilt(
    space: Mesh,
    openings_mm: tuple[FloatArray, ...],
    *,
    up: FloatArray,
    draw: FloatArray,
    level: Air,
    ends_mm: Sequence[FloatArray] = (),
) -> tuple[float, FloatArray, Air]:
    """The lean with the least air, the smallest such lean; level where no lean helps.

    No channel, open at its end of `ends_mm`, may come to lie below the top of the space: it would run out.
    """
    best = (0.0, up, level)
    if level.volume_mm3 == 0.0:
        return best
    for tilt_deg in TILTS_DEG:
        tilt = np.radians(tilt_deg)
        for lean in _leans(up, draw):
            tilted_up = np.cos(tilt) * up + np.sin(tilt) * lean
            top_mm = float((space.vertices_mm @ tilted_up).max())
            if any(float(end @ tilted_up) < top_mm for end in ends_mm):
                continue
            air = air_while_poured(space, tilted_up, openings_mm)
            if air.volume_mm3 < min(WORTH_TILTING * level.volume_mm3, best[2].volume_mm3 - SMALL_AIR_MM3):
                best = (tilt_deg, tilted_up, air)
    return best


def _leans(up: FloatArray, draw: FloatArray) -> FloatArray:
    """Level directions (k, 3) over which the box leans: over its sides and corners where it lies flat."""
    flat = abs(float(up @ draw)) > LEVEL_COS
    u, v = frame_along(draw if flat else up)[:2]
    turns = 2.0 * np.pi * np.arange(AROUND) / AROUND
    leans: FloatArray = np.outer(np.cos(turns), u) + np.outer(np.sin(turns), v)
    return leans


def _corner(space: Mesh, part: Mesh, tilted_up: FloatArray, up: FloatArray, draw: FloatArray) -> FloatArray:
    """Where the stream goes in: at the level, in the lowest corner of the box, with the most room to the part."""
    plan = frame_along(draw)[:2]
    flat, around = part.vertices_mm @ plan.T, space.vertices_mm @ plan.T
    low, high = around.min(axis=0) + FROM_WALL_MM, around.max(axis=0) - FROM_WALL_MM
    top_mm = float((space.vertices_mm @ up).max())
    corners = [np.array([x, y]) @ plan + top_mm * up for x in (low[0], high[0]) for y in (low[1], high[1])]
    room = [float(np.linalg.norm(flat - corner @ plan.T, axis=1).min()) for corner in corners]
    return min(
        zip(corners, room, strict=True), key=lambda one: (round(float(one[0] @ tilted_up)), -round(one[1], 1))
    )[0]


def pour_findings(pours: Sequence[MouldPour]) -> tuple[Finding, ...]:
    """Say which silicone keeps how much air and where, and which lean leaves less, of the cast as well."""
    findings = []
    for pour in pours:
        if pour.carrier is not Carrier.NOTHING and pour.air.at_mm is not None:
            findings.append(_air_finding(pour, pour.air.at_mm))
        elif pour.carrier is Carrier.NOTHING and pour.tilt_deg:
            findings.append(_lean_finding(pour))
    return tuple(findings)


def _lean_finding(pour: MouldPour) -> Finding:
    """Say that the cast keeps less air where the mould leans; that it keeps air is told by the fill."""
    up = ", ".join(f"{value:.2f}" for value in pour.tilt_up + 0.0)
    return Finding(
        severity=Severity.INFO,
        code="lean-leaves-less",
        what=f"leaning by {pour.tilt_deg:.0f}° as it fills, with ({up}) on top, the mould keeps "
        f"{pour.tilted_air.volume_mm3:.0f} instead of {pour.air.volume_mm3:.0f} mm³ of air",
        remedy="prop the mould up so for the pour, and set it straight once it is full",
    )


def _air_finding(pour: MouldPour, at_mm: FloatArray) -> Finding:
    air = pour.air
    where = "in one place" if air.places == 1 else f"in {air.places} places, the most of it here"
    tilt = "tilt and tap the box as it fills"
    if pour.tilt_deg:
        tilt = (
            f"fill it leaning by {pour.tilt_deg:.0f}°, lowest at the corner where it is poured "
            f"{place_words(pour.at_mm)}, which leaves {pour.tilted_air.volume_mm3:.0f} mm³"
        )
    return Finding(
        severity=Severity.WARNING,
        code="air-in-silicone",
        what=f"{air.volume_mm3:.0f} mm³ of air stay {where} while {pour.pose.pours} is poured: "
        "the copy would carry a lump there",
        remedy=f"brush silicone in there first, {tilt}; or take another draw direction",
        where=place_words(at_mm),
    )
