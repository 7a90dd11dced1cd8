"""From one cavity to the mould with several: how many go in, where they lie, and what each number would take."""

from dataclasses import dataclass

import numpy as np

from firstpour.cavities.arrange import arrangements, lattices_of
from firstpour.cavities.footprint import footprint_of
from firstpour.cavities.joint import Cavity, joint_channels, joint_draw, joint_part
from firstpour.cavities.values import DATE, MOST, Arrangement, Cavities, Footprint
from firstpour.errors import BadRequest
from firstpour.fill.values import Channel
from firstpour.mould.box import box_wall_mm
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.part.part import Part
from firstpour.parting.block import Block
from firstpour.parting.parting import Parting, lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import to_solid
from firstpour.units import MM3_PER_ML
from firstpour.values import FloatArray

SHOWN = 16
"""Numbers of cavities that are compared at the most, unless more are asked for."""
COMPARED = 8
"""Up to so many cavities are compared where one is asked for."""
IN_ONE_TRAY = (MouldKind.TRAYS, MouldKind.OPEN_FACE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """What a mould of so many cavities takes, reckoned from the block about them; keys and rims are left out."""

    cavities: int
    block_mm: tuple[float, float, float]
    silicone_ml: float
    print_ml: float
    """Plastic of its trays."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Several:
    """A mould of several cavities: all as one part, its parting, every channel, and the numbers compared."""

    part: Part
    parting: Parting
    channels: tuple[Channel, ...]
    arrangement: Arrangement
    options: tuple[Option, ...]

    @property
    def cavities(self) -> int:
        """How many there are."""
        return len(self.arrangement.places)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bounds:
    """What the arrangement must keep to."""

    one: Parting
    settings: MouldSettings
    materials: MouldMaterials
    printer_mm: tuple[float, float, float]

    def block(self, arrangement: Arrangement) -> Block:
        """The block about an arrangement, at the part's own size: that of one cavity, stretched."""
        low, high = self.one.block.low_mm, self.one.block.high_mm
        one_low, one_high = self.one.mesh.vertices_mm.min(axis=0), self.one.mesh.vertices_mm.max(axis=0)
        return Block(
            low_mm=np.array([*(arrangement.low_mm - (one_low - low)[:2]), low[2]]),
            high_mm=np.array([*(arrangement.high_mm + (high - one_high)[:2]), high[2]]),
        )

    def tray_mm(self, arrangement: Arrangement) -> FloatArray:
        """Length and width (2,) of the printed tray."""
        return tray_mm(self.block(arrangement), self.settings, self.materials)

    def fits(self, arrangement: Arrangement) -> bool:
        """Whether the tray fits the printer's bed."""
        return fits_bed(self.tray_mm(arrangement), self.printer_mm)


def tray_mm(block: Block, settings: MouldSettings, materials: MouldMaterials) -> FloatArray:
    """Length and width (2,) of the printed tray of a block at the part's own size."""
    grown = Block(low_mm=block.low_mm * materials.scale, high_mm=block.high_mm * materials.scale)
    wall_mm = box_wall_mm(grown, settings, silicone_g_ml=materials.silicone_g_ml)
    size: FloatArray = (grown.high_mm - grown.low_mm)[:2] + 2.0 * wall_mm
    return size


def fits_bed(tray_mm: FloatArray, printer_mm: tuple[float, float, float]) -> bool:
    """Whether a tray (2,) fits the printer's bed, as it lies or turned a quarter."""
    return bool((np.sort(tray_mm) <= np.sort(np.array(printer_mm[:2]))).all())


def lay_cavities(
    part: Part,
    one: Parting,
    channels: tuple[Channel, ...],
    *,
    up: FloatArray | None,
    wanted: Cavities,
    settings: MouldSettings,
    materials: MouldMaterials,
    printer_mm: tuple[float, float, float],
    room: int,
) -> Several | None:
    """Lay the cavities side by side and part them together; None where one is made.

    For the date one is laid and all numbers are compared: which is the best is known when each has its days.

    `one` is the parting of one cavity with its `channels` and its pour `up` (None: poured into the open face), `room`
    how many of them one mix of casting material fills in its time and the silicone at hand is enough for.

    Raises
    ------
    BadRequest
        If so many cavities fit no printer, or the mould is one that is made with one cavity only.
    """
    if wanted == 1:
        return None
    if one.kind not in IN_ONE_TRAY:
        if isinstance(wanted, str):
            return None
        raise BadRequest(
            f"{wanted} cavities in a mould of kind {one.kind}: its master is printed and hung by itself",
            remedy="take cavities = 1 and more moulds (moulds = 2), or a draw direction along which two halves open, "
            'with kind = "trays"',
        )
    foot = footprint_of(one, channels, up=up)
    bounds = _Bounds(one=one, settings=settings, materials=materials, printer_mm=printer_mm)
    most = max(2, min(SHOWN, room)) if isinstance(wanted, str) else max(int(wanted), SHOWN)
    found = arrangements(foot, wall_mm=settings.wall_mm, most=most, fits=bounds.fits)
    if len(found) == 1 and not isinstance(wanted, str) and not lattices_of(foot, wall_mm=settings.wall_mm):
        raise _in_the_way()
    count = _count(wanted, found, room, bounds)
    if count == 1:
        return _alone(part, one, channels, found[1], _options(one, found, bounds)) if wanted == DATE else None
    return _several(part, one, channels, foot, found[count], bounds, options=_options(one, found, bounds))


def cavity_options(
    one: Parting,
    channels: tuple[Channel, ...],
    *,
    up: FloatArray | None,
    settings: MouldSettings,
    materials: MouldMaterials,
    printer_mm: tuple[float, float, float],
) -> tuple[Option, ...]:
    """What a mould of one cavity would take, and of more that fit the printer; empty where it takes one only.

    The arguments are those of `lay_cavities`.
    """
    if one.kind not in IN_ONE_TRAY:
        return ()
    bounds = _Bounds(one=one, settings=settings, materials=materials, printer_mm=printer_mm)
    foot = footprint_of(one, channels, up=up)
    return _options(one, arrangements(foot, wall_mm=settings.wall_mm, most=COMPARED, fits=bounds.fits), bounds)


def _in_the_way() -> BadRequest:
    return BadRequest(
        "gate and vents leave by two sides of the block: in a row of cavities one would run through its neighbour",
        remedy="give up along the draw direction, so that they leave upwards; give gate and vent places that "
        "leave by one side; or take cavities = 1",
    )


def _count(wanted: Cavities, found: dict[int, Arrangement], room: int, bounds: _Bounds) -> int:
    if wanted == DATE:
        return 1
    if wanted == MOST:
        return min(max(found), max(1, room))
    if wanted in found:
        return int(wanted)
    tray = bounds.tray_mm(found[max(found)])
    raise BadRequest(
        f"{wanted} cavities fit no printer here: with {max(found)} the tray is {tray[0]:.0f} × {tray[1]:.0f} mm, and "
        f"the printer takes {bounds.printer_mm[0]:g} × {bounds.printer_mm[1]:g} mm",
        remedy=f'give cavities = {max(found)} or "most", less silicone between them (mould.wall_mm), or enter a '
        "larger printer",
    )


def _alone(
    part: Part, one: Parting, channels: tuple[Channel, ...], arrangement: Arrangement, options: tuple[Option, ...]
) -> Several:
    """The one cavity as it is, beside what more of them would take."""
    return Several(part=part, parting=one, channels=channels, arrangement=arrangement, options=options)


def _several(
    part: Part,
    one: Parting,
    channels: tuple[Channel, ...],
    foot: Footprint,
    arrangement: Arrangement,
    bounds: _Bounds,
    *,
    options: tuple[Option, ...],
) -> Several:
    cavities = [
        Cavity(part=part, alone=one, channels=channels, centre_mm=foot.centre_mm, place=place)
        for place in arrangement.places
    ]
    whole = joint_part(cavities, like=part, frame=one.frame)
    draw = joint_draw(one.draw, cavities)
    parting = lay_parting(whole, draw, kind=one.kind, sizes=bounds.settings.parting)
    return Several(
        part=whole,
        parting=parting,
        channels=joint_channels(cavities, joint=parting),
        arrangement=arrangement,
        options=options,
    )


def _options(one: Parting, found: dict[int, Arrangement], bounds: _Bounds) -> tuple[Option, ...]:
    """What each number takes; a number that takes as much silicone as a larger one is not worth making."""
    part_mm3 = float(to_solid(one.mesh).volume()) * bounds.materials.scale**3
    made = [_option(one, count, arrangement, bounds, part_mm3=part_mm3) for count, arrangement in found.items()]
    return tuple(
        option
        for k, option in enumerate(made)
        if all(option.silicone_ml < later.silicone_ml for later in made[k + 1 :])
    )


def _option(one: Parting, count: int, arrangement: Arrangement, bounds: _Bounds, *, part_mm3: float) -> Option:
    settings, scale = bounds.settings, bounds.materials.scale
    block = bounds.block(arrangement)
    size = (block.high_mm - block.low_mm) * scale
    silicone_mm3 = float(np.prod(size)) - count * part_mm3
    outside = float(np.prod(bounds.tray_mm(arrangement)))
    trays = 1 if one.kind is MouldKind.OPEN_FACE else 2
    shell_mm3 = outside * (size[2] + trays * (settings.floor_mm + settings.lip_mm))
    shell_mm3 -= size[0] * size[1] * trays * settings.lip_mm + silicone_mm3
    return Option(
        cavities=count,
        block_mm=(float(size[0]), float(size[1]), float(size[2])),
        silicone_ml=silicone_mm3 / MM3_PER_ML,
        print_ml=float(shell_mm3) / MM3_PER_ML,
    )
