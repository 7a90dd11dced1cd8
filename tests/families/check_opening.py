"""Everything that must come apart is moved apart in steps, and what it runs into is counted."""

import numpy as np

from families.solids import Solid, joined
from families.written import Fault, Piece, WrittenMould

STEPS_MM = (0.3, 1.0, 3.0, 8.0, 20.0)
HAIR_MM = 1e-3
RIGID_MM3 = 1.0
"""Rigid pieces may share no more: what rounding leaves along walls that slide on each other."""
MOST_WIDENING_RATIO = 0.25
"""A plug that leaves through silicone may stretch its hole by so much (our own limit for the checks)."""


def worst_overlap(moving: Solid, fixed: Solid, *, way: float) -> float:
    """The most volume (mm³) that `moving`, led along z, shares with `fixed` at any step."""
    reach = moving.bounding_box()[5] - moving.bounding_box()[2]
    steps = [step for step in STEPS_MM if step < reach] + [0.6 * reach]
    return max(float((moving.translate((0.0, 0.0, way * step)) ^ fixed).volume()) for step in steps)


def lifts_off_part(mould: WrittenMould) -> list[Fault]:
    """Each half lifts off the part through no more silicone than the undercut that the plan tells of."""
    if mould.kind == "block":
        return []
    faults = []
    allowed = 1.1 * mould.undercut_mm3 + 0.5 + HAIR_MM * mould.part.surface_area()
    for piece, way in mould.halves:
        held = worst_overlap(piece.solid, mould.part, way=way)
        if held > allowed:
            faults.append(
                Fault(
                    check="lift",
                    what=f"{piece.name} holds {held:.0f} mm³ of part; undercut told {mould.undercut_mm3:.0f}",
                )
            )
    return faults


def lifts_off_sprue(mould: WrittenMould) -> list[Fault]:
    """Each half lifts off what gate and vents hold, or the plug widens outwards no more than silicone gives."""
    if len(mould.halves) < 2:
        return []
    faults = []
    for rod in mould.rods:
        sprue = rod.solid - mould.part
        for piece, way in mould.halves:
            held = worst_overlap(piece.solid, sprue, way=way)
            if held <= 1.0 + HAIR_MM * sprue.surface_area():
                continue
            if _along_draw(rod.path_mm):
                widening = rod.end_mm / rod.start_mm - 1.0
                if widening > MOST_WIDENING_RATIO:
                    faults.append(
                        Fault(check="sprue", what=f"{rod.use} widens by {100 * widening:.0f} % in {piece.name}")
                    )
                continue
            faults.append(Fault(check="sprue", what=f"{piece.name} holds {held:.0f} mm³ of the {rod.use}"))
    return faults


def _along_draw(path_mm: np.ndarray) -> bool:
    """Whether a path runs straight along z."""
    steps = np.diff(path_mm, axis=0)
    return bool((np.linalg.norm(steps[:, :2], axis=1) < 0.02 * np.linalg.norm(steps, axis=1)).all())


def leaves_tray(mould: WrittenMould) -> list[Fault]:
    """Cured silicone leaves its rigid tray: nothing but the part's own undercut holds it."""
    faults = []
    for piece, way in mould.halves:
        word = next((word for word in ("upper", "lower") if word in piece.name), "")
        trays = [tray for tray in mould.of("tray", word) if tray.solid is not None]
        if not trays:
            continue
        tray = joined([one.solid for one in trays]) - mould.part
        held = worst_overlap(piece.solid, tray, way=way)
        if held > RIGID_MM3 + HAIR_MM * 0.2 * piece.solid.surface_area():
            faults.append(
                Fault(check="tray", what=f"{held:.0f} mm³ of {piece.name} are locked in its tray beside the part")
            )
    return faults


def master_goes_in(mould: WrittenMould) -> list[Fault]:
    """The rigid master goes into its rigid bedding, and the master of a block onto its base."""
    masters = [piece.solid for piece in mould.of("master") if piece.solid is not None]
    if not masters:
        return []
    master = joined(masters)
    faults = []
    for piece, ways in _beds(mould):
        held = min(worst_overlap(master, piece.solid, way=way) for way in ways)
        if held > RIGID_MM3:
            faults.append(Fault(check="bedding", what=f"{held:.0f} mm³ of {piece.name} are in the master's way"))
    return faults


def _beds(mould: WrittenMould) -> list[tuple[Piece, tuple[float, ...]]]:
    beds: list[tuple[Piece, tuple[float, ...]]] = [(piece, (1.0,)) for piece in mould.of("bedding") if piece.solid]
    return beds + [(piece, (1.0, -1.0)) for piece in mould.of("box", "base") if piece.solid]
