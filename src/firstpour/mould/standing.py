"""How the mould stands: for each pour of silicone, and strapped between boards for the casts."""

import math
from collections.abc import Mapping, Sequence

import numpy as np

from firstpour.mould.values import Boards, Piece, Pose, Role
from firstpour.parting.values import MouldKind
from firstpour.values import FloatArray

BOARD_STEPS_MM = ((120.0, 6.0), (250.0, 9.0), (math.inf, 12.0))
"""Longest side up to which a board of this thickness does (common practice, no source; decision 0040)."""
STRAP_EACH_MM = 60.0
"""One strap for so much of the longer side, two at least (common practice, no source; decision 0040)."""


def boards_for(kind: MouldKind, block_mm: FloatArray) -> Boards | None:
    """The two boards and the straps that hold a mould in two halves shut; None where there are no halves to hold.

    `block_mm` (3,): the block in the frame of the draw; the boards lie on the two sides across the draw.
    """
    if kind is MouldKind.OPEN_FACE:
        return None
    longer, shorter = sorted((float(side) for side in block_mm[:2]), reverse=True)
    thick_mm = next(thick for most, thick in BOARD_STEPS_MM if longer <= most)
    return Boards(
        size_mm=(float(math.ceil(longer)), float(math.ceil(shorter)), thick_mm),
        straps=max(2, math.ceil(longer / STRAP_EACH_MM)),
    )


def poses_of(
    kind: MouldKind,
    pieces: Sequence[Piece],
    draw: FloatArray,
    *,
    holes_mm: Mapping[str, FloatArray] | None = None,
) -> tuple[Pose, ...]:
    """How each silicone is poured, in the order of the work; the two trays may be filled one beside the other.

    `holes_mm` are those of the jackets by the name of their silicone, in the part's coordinates (k, 3).
    """
    holes_mm = holes_mm or {}
    wanted: tuple[tuple[str, float, tuple[str, ...]], ...]
    if kind is MouldKind.BEDDING:
        wanted = (
            ("silicone-upper", 1.0, ("bedding", "box", "master")),
            ("silicone-lower", -1.0, ("box", "master", "silicone-upper")),
        )
    elif kind is MouldKind.BLOCK:
        wanted = (("silicone", -1.0, ("base", "box", "master")),)
    elif kind is MouldKind.OPEN_FACE:
        wanted = (("silicone", 1.0, ("tray",)),)
    else:
        wanted = (("silicone-upper", 1.0, ("tray-upper",)), ("silicone-lower", -1.0, ("tray-lower",)))
    return tuple(
        _pose(name, way * draw, _with_jacket(name, around, holes_mm), pieces, holes_mm.get(name))
        for name, way, around in wanted
    )


def _with_jacket(name: str, around: tuple[str, ...], holes_mm: Mapping[str, FloatArray]) -> tuple[str, ...]:
    return (*around, jacket_name(name)) if name in holes_mm else around


def jacket_name(silicone: str) -> str:
    """What the jacket over a silicone is called.

    >>> jacket_name("silicone-upper")
    'jacket-upper'
    """
    return silicone.replace("silicone", "jacket")


def _pose(
    name: str, up: FloatArray, around: tuple[str, ...], pieces: Sequence[Piece], holes_mm: FloatArray | None
) -> Pose:
    standing = [piece for piece in pieces if _is(piece.name, around)]
    poured = next(piece for piece in pieces if piece.name == name)
    foot_mm = min(
        float((piece.mesh.vertices_mm @ up).min())
        for piece in [*standing, poured]
        if piece.role is not Role.BOX or _is(piece.name, ("base",))
    )
    level_mm = float((poured.mesh.vertices_mm @ up).max())
    return Pose(
        pours=name,
        up=up,
        around=tuple(piece.name for piece in standing),
        level_mm=level_mm - foot_mm,
        volume_mm3=poured.volume_mm3,
        openings_mm=np.empty((0, 3)) if holes_mm is None else holes_mm,
    )


def _is(name: str, wanted: tuple[str, ...]) -> bool:
    """Whether a piece is one of those wanted, or a part that one of them was cut into to fit the printer."""
    return any(name == one or (name.startswith(one + "-") and name[len(one) + 1 :].isdigit()) for one in wanted)
