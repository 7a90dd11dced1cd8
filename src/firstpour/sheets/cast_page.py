"""One page for the cast of a part: the mould closed and stood, what is weighed, the clock, the cure."""

import math
from collections import Counter

from firstpour.choosing.setting_in import SET_IN
from firstpour.files.fill_entries import PlannedFillEntry
from firstpour.files.material_entries import ChosenEntry, PlannedMixEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.fill.values import ChannelUse, PourKind
from firstpour.mould.pours import CAST
from firstpour.parting.values import MouldKind
from firstpour.sheets import mixing_blocks as mixing
from firstpour.sheets.blocks import Beside, Block, Cautions, Page, Picture, Ticks
from firstpour.sheets.placed import Moment, cautions_at, findings_at
from firstpour.sheets.words import listed, piece_words, sentence, told, wait_words
from firstpour.units import count_words

CLOSE = {
    MouldKind.BLOCK: "Close the cut: its two faces meet without a step, all around.",
    MouldKind.TRAYS: "Close the halves, two dimples over one: every key sits down, and there is no gap around.",
}
NO_MATERIAL = (
    "No casting material is chosen: give the part a hardness, or take grams and minutes from the data sheet."
)


def cast_pages(plan: PlanEntry, part: PartEntry) -> tuple[Page, ...]:
    """A page for each kind of round; one without grams where no casting material is chosen."""
    chosen = None if part.materials is None else part.materials.casting
    if chosen is None or not chosen.mixes:
        return (_page(plan, part, None, None),)
    return tuple(_page(plan, part, chosen, mix) for mix in chosen.mixes)


def _page(plan: PlanEntry, part: PartEntry, chosen: ChosenEntry | None, mix: PlannedMixEntry | None) -> Page:
    blocks: list[Block] = [mixing.mixing_cautions(mix)]
    blocks += _before(plan, part, chosen)
    blocks += _laid_out(plan, part, chosen, mix)
    blocks.append(Ticks(title="Close it and stand it", items=_stand(part)))
    said = findings_at(plan, part, Moment.AFTER_POUR)
    if chosen is not None and mix is not None:
        blocks += mixing.weigh_and_clock(mix, chosen)
    else:
        blocks += mixing.unknown(NO_MATERIAL)
    blocks.append(Ticks(title="Pour", items=_pour(plan, part)))
    if chosen is not None and mix is not None:
        where = "back" if part.fill is None else "sprue"
        what = f"press a fingernail into the {where}, and open only if it leaves no mark"
        blocks.append(mixing.cure(chosen.demould_min, temperature_c=mix.temperature_c, what=what))
        left = mixing.left_overs(mix, [told(one.what, one.remedy) for one in said])
        blocks += [] if left is None else [left]
    else:
        blocks.append(mixing.to_write(outcome="Outcome: good, or what and where"))
    under = "" if chosen is None or mix is None else f"{chosen.name} · {mix.what}, {mixing.batches_words(mix)} in all"
    return Page(title=f"{part.name}: cast", under=under, blocks=tuple(blocks))


def _before(plan: PlanEntry, part: PartEntry, chosen: ChosenEntry | None) -> list[Block]:
    """What is done to the mould before the cast, with the cautions of it, and what must be true."""
    steps = [] if chosen is None else [one for one in chosen.steps if one.before == "casting" and one.id != SET_IN]
    items = ["The mould is clean and dry; the half or halves show no tacky spot."]
    items += [f"{one.text} Wait {wait_words(one.wait_min)}." if one.wait_min else one.text for one in steps]
    said = findings_at(plan, part, Moment.SET_IN)
    items += [told(one.what, one.remedy) for one in said]
    blocks: list[Block] = []
    if steps and part.materials is not None:
        cautions = cautions_at(part.materials.cautions, Moment.MOULD)
        blocks += [Cautions(title="Before release is brushed or sprayed", items=cautions)] if cautions else []
    return [*blocks, Ticks(title="Go on only if", items=tuple(items))]


def _laid_out(
    plan: PlanEntry, part: PartEntry, chosen: ChosenEntry | None, mix: PlannedMixEntry | None
) -> list[Block]:
    items = []
    boards = part.mould.boards
    if boards is not None:
        a, b, thick = boards.size_mm
        items.append(
            f"2 stiff boards of {a:g} × {b:g} × {thick:g} mm and {count_words(boards.straps, 'strap', 'straps')}."
        )
    items += [f"{sentence(name)}" for name in _cast_pieces(part)]
    items += _inserts_out(part)
    if chosen is not None and mix is not None:
        items.append(
            f"{chosen.name}: {mix.on_scale_g:.1f} g in all, both cans at {mix.temperature_c:g} °C, stirred up."
        )
        items += mixing.supplies_for(mix, mixing.in_this_room(chosen, mix), plan.to_lay_out)
    else:
        items.append(mixing.AS_THE_SHEET_ASKS)
    ticks = Ticks(title="Lay out before any mixing", items=tuple(items))
    picture = next((file for file in part.pictures if file.endswith("-fill.png")), None)
    if picture is None:
        return [ticks] if items else []
    alt = f"The fill of {part.name} from the side and from above, with gate, vents and the air that stays."
    below = "The gate is the darkest spot, the vents are the next; a patch is air that stays."
    return [Beside(left=(ticks,), right=(Picture(file=picture, alt=alt, share=1.0, below=below),), share=0.5)]


def _cast_pieces(part: PartEntry) -> list[str]:
    return [piece.name for piece in part.mould.pieces if piece.name in ("wedge-foot", "cradle")]


def _inserts_out(part: PartEntry) -> list[str]:
    """What lies ready for one mould, each kind once."""
    count = Counter((one.name, one.cut_mm) for one in part.inserts)
    return [
        f"{n * part.mould.cavities} × {name} a mould" + ("." if cut_mm is None else f", cut to {cut_mm:.1f} mm.")
        for (name, cut_mm), n in count.items()
    ]


def _set_in(part: PartEntry) -> list[str]:
    """Each insert set in before the mould is closed, one in each cavity."""
    cavities = "" if part.mould.cavities == 1 else f", in each of the {part.mould.cavities} cavities"
    return [
        f"Set in {one.name}, {'greased' if one.pulled else 'clean and dry'}{cavities}: {one.held}."
        for one in part.inserts
    ]


def _stand(part: PartEntry) -> tuple[str, ...]:
    fill, boards = part.fill, part.mould.boards
    if fill is None:
        lay = "Lay the mould on its flat side, open side up, level both ways: the cast finds its own back."
        return (lay, *_set_in(part))
    items = _set_in(part)
    items.append(CLOSE.get(part.mould.kind, "Close the halves: every key sits down, and there is no gap around."))
    if boards is not None:
        items.append(
            f"Boards across the seam, {count_words(boards.straps, 'strap', 'straps')} around both: snug, so that "
            "nothing gapes and nothing bulges."
        )
    if part.mould.basin is not None:
        items.append("Over the basin the board is two slats, one on each side: the basin stays open.")
    items.append(_standing(part, fill))
    gates, vents = _count(fill, ChannelUse.GATE), _count(fill, ChannelUse.VENT)
    openings = count_words(gates, "gate", "gates") + (f" and {count_words(vents, 'vent', 'vents')}" if vents else "")
    items.append(f"{openings} free of flash to the top: look through.")
    return tuple(items)


def _standing(part: PartEntry, fill: PlannedFillEntry) -> str:
    """How the closed mould stands, and which half is on top."""
    cos = sum(a * b for a, b in zip(fill.up, part.mould.draw, strict=True))
    top = "upper half on top" if cos > 0 else "lower half on top"
    turn = _turned(part)
    if not fill.directions:
        x, y, z = fill.up
        return f"Stand it with the gate's mouth uppermost: ({x:.2f}, {y:.2f}, {z:.2f}) of the part upwards.{turn}"
    best = fill.directions[0]
    words = {
        PourKind.FLAT: f"Lay it flat and level, {top}, the gate upwards.{turn}",
        PourKind.ON_EDGE: "Stand it on edge, the gate upwards.",
        PourKind.TILTED: f"Stand it on the wedge foot: tilted {best.tilt_deg:.0f}°, the gate at the highest place.",
    }
    turned = f"Turn it {best.tilt_deg:.0f}° out of level and hold it in a cradle, the gate at the highest place."
    return words.get(best.kind, turned)


def _turned(part: PartEntry) -> str:
    """What now stands upside down, seen from the pour of its own silicone."""
    over = [piece_words(name) for one in part.pours if one.pours == CAST for name in one.turned_over]
    return f" The {listed(over)} then lies upside down, seen from its own pour." if over else ""


def _count(fill: PlannedFillEntry, use: ChannelUse) -> int:
    return sum(1 for one in fill.channels if one.use == use)


def _each(part: PartEntry) -> str:
    """What one gate takes: of a mould with several cavities, one after the other."""
    each = f"{part.mould.casting_ml:.1f} ml"
    if part.together:
        of_each = ", ".join(f"{one.a_shot} × {one.name}" for one in part.together)
        return f"{each} a mould, {of_each}, one gate after the other"
    if part.mould.cavities == 1:
        return f"{each} a mould"
    if part.mould.basin is not None:
        return f"{each} a cavity, {part.mould.cavities} at once"
    return f"{each} a cavity, {part.mould.cavities} one after the other"


def _mouth(part: PartEntry) -> str:
    return "gate" if part.mould.basin is None else "basin"


def _pour(plan: PlanEntry, part: PartEntry) -> tuple[str, ...]:
    said = [told(one.what, one.remedy) for one in findings_at(plan, part, Moment.CAST)]
    if part.fill is None:
        return (
            *said,
            "Pour a thin stream into the deepest place and let it rise; brush or prick fine detail first.",
            f"Stop level with the rim: {_each(part)}. Prick what bubbles rise.",
            "Top up while the mix still runs, if the back has sunk. Do not move it.",
        )
    flow = part.flow
    takes = (
        "" if flow is None or flow.fill_s is None else f" It takes about {math.ceil(flow.fill_s)} s; do not hurry it."
    )
    return (
        *said,
        f"Pour a thin, unbroken stream into the {_mouth(part)}: {_each(part)}.{takes}",
        "Stop when the material stands in every vent; close a vent that runs over with a dab of clay."
        if _count(part.fill, ChannelUse.VENT)
        else f"Stop when the {_mouth(part)} stands full, and stays so.",
        f"Keep the {_mouth(part)} full: top up as it sinks, as long as the mix still runs.",
        "Do not move it until the cure has ended.",
    )
