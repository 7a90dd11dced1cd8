"""What a mould could be made from with what is left over, so that less is bought."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from firstpour.errors import BadRequest
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.compatibility import Contact, Verdict, judge
from firstpour.materials.material import SILICONES, Kind, Material
from firstpour.materials.steps import in_order
from firstpour.mixing.mix import mass_for_g
from firstpour.mixing.recipe import mix_density_g_ml
from firstpour.stock.stock import Pack, after_taking, amount_left, mixable_g, split_by_ratio, usable

CUBES_SHARE = 0.3
"""Cured cubes may fill this share of a mould half, away from the part: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOver:
    """A material with something left in opened packs, and the volume it could still fill."""

    material: Material
    left_g: float
    fills_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceFrom:
    """One mould piece and the one silicone it is poured from: never two in one piece."""

    piece: str
    volume_ml: float
    silicone_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UseUp:
    """One way to make the mould from what is there."""

    pieces: tuple[PieceFrom, ...]
    saves: str
    steps: tuple[str, ...] = ()
    cubes_ml: float = 0.0


def left_overs(
    stock: tuple[Pack, ...], catalogue: Catalogue, *, kinds: Sequence[Kind], today: date
) -> tuple[LeftOver, ...]:
    """What can still be mixed of each material of these kinds, the most first."""
    found = []
    for material in catalogue.of_kinds(kinds):
        left_g = mixable_g(stock, material, today=today)
        if left_g > 1:
            found.append(LeftOver(material=material, left_g=left_g, fills_ml=fillable_ml(material, left_g)))
    return tuple(sorted(found, key=lambda left: (-left.fills_ml, left.material.id)))


def fillable_ml(material: Material, left_g: float) -> float:
    """The volume in the mould that `left_g` of the mix can fill once losses are taken off; 0 if none."""
    low_ml, high_ml = 0.0, left_g / mix_density_g_ml(material)
    for _ in range(40):
        middle_ml = (low_ml + high_ml) / 2
        if mass_for_g(material, volume_ml=middle_ml) > left_g:
            high_ml = middle_ml
        else:
            low_ml = middle_ml
    return low_ml


def use_up(
    stock: tuple[Pack, ...],
    catalogue: Catalogue,
    *,
    pieces_ml: dict[str, float],
    surface: frozenset[str],
    today: date,
    cubes_ml: float = 0.0,
    contour_ml: dict[str, float] | None = None,
) -> tuple[UseUp, ...]:
    """Ways to make a mould of these pieces from what the shelf holds.

    `surface` are the traits of what the silicone is poured on. Tried in turn: as it is; with `cubes_ml` of cured
    silicone as filler up to its share; with a contour box (`contour_ml` a piece); with both. Each piece is poured
    from one silicone alone, and two silicones share a mould only where neither stops the other.
    """
    if not 0 <= cubes_ml < 1e6:
        raise BadRequest(f"{cubes_ml:g} ml of cubes.", remedy="Give 0 ml or more.")
    boxes = [("", pieces_ml)] + ([("a contour box", contour_ml)] if contour_ml else [])
    found = []
    for box, volumes in boxes:
        for cubes in [0.0] + ([cubes_ml] if cubes_ml > 0 else []):
            way = _way(stock, catalogue, volumes, surface=surface, today=today, cubes_ml=cubes, box=box)
            if way is not None:
                found.append(way)
    return tuple(found)


def _way(
    stock: tuple[Pack, ...],
    catalogue: Catalogue,
    pieces_ml: dict[str, float],
    *,
    surface: frozenset[str],
    today: date,
    cubes_ml: float,
    box: str,
) -> UseUp | None:
    total_ml = sum(pieces_ml.values())
    used_cubes_ml = min(cubes_ml, CUBES_SHARE * total_ml)
    poured = {name: volume * (1 - used_cubes_ml / total_ml) for name, volume in pieces_ml.items()}
    candidates = [
        material
        for material in catalogue.of_kinds(SILICONES)
        if judge(first=material.traits, second=surface, contact=Contact.CURES_AGAINST).verdict is not Verdict.REFUSED
    ]
    chosen = _assigned(stock, candidates, list(poured.items()), today=today, chosen=[])
    if chosen is None:
        return None
    saves = [box] if box else []
    saves += [f"{used_cubes_ml:.0f} ml of cured cubes as filler"] if used_cubes_ml else []
    pieces = tuple(
        PieceFrom(piece=name, volume_ml=volume, silicone_id=material.id)
        for (name, volume), material in zip(poured.items(), chosen, strict=True)
    )
    return UseUp(
        pieces=pieces,
        saves=" and ".join(saves) or "all from what is left",
        steps=_steps(chosen, surface, cubes=used_cubes_ml > 0),
        cubes_ml=used_cubes_ml,
    )


def _assigned(
    stock: tuple[Pack, ...],
    candidates: list[Material],
    pieces: list[tuple[str, float]],
    *,
    today: date,
    chosen: list[Material],
) -> list[Material] | None:
    """One silicone a piece by trying: fewest kinds first (what was chosen before), then what is soonest used up."""
    if not pieces:
        return chosen
    (_, volume_ml), rest = pieces[0], pieces[1:]
    order = sorted(candidates, key=lambda material: (material not in chosen, *_urgency(stock, material, today)))
    for material in order:
        if not all(_side_by_side(material, other) for other in chosen):
            continue
        mass_g = mass_for_g(material, volume_ml=volume_ml)
        if mass_g > mixable_g(stock, material, today=today):
            continue
        left = after_taking(stock, material, split_by_ratio(material, mass_g), today=today)
        found = _assigned(left, candidates, rest, today=today, chosen=[*chosen, material])
        if found is not None:
            return found
    return None


def _urgency(stock: tuple[Pack, ...], material: Material, today: date) -> tuple[bool, float, str]:
    packs = usable(stock, material, today=today)
    opened = any(pack.opened_on is not None for pack in packs)
    left = amount_left(packs)
    return not opened, left.a_g + left.b_g, material.id


def _side_by_side(one: Material, other: Material) -> bool:
    """Whether two silicones may lie in one mould as two pieces: neither may stop the other."""
    pairs = ((one, other), (other, one))
    verdicts = [judge(first=a.traits, second=b.traits, contact=Contact.CURES_AGAINST).verdict for a, b in pairs]
    return Verdict.REFUSED not in verdicts


def _steps(chosen: list[Material], surface: frozenset[str], *, cubes: bool) -> tuple[str, ...]:
    needed = in_order(
        step
        for material in chosen
        for step in judge(first=material.traits, second=surface, contact=Contact.CURES_AGAINST).steps
    )
    words = dict.fromkeys(step.instruction for step in needed)
    if cubes:
        words[
            "Cut cured silicone of the same kind into 10 mm cubes, wash and dry them; pour a skin on the part first."
        ] = None
    return tuple(words)
