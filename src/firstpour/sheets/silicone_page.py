"""One page for each pour of silicone: how the mould stands for it, what is weighed, the clock, the cure."""

from firstpour.files.material_entries import ChosenEntry, PlannedMixEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.files.pour_entries import PoseEntry
from firstpour.fill.values import MadeAs
from firstpour.mould.standing import jacket_name
from firstpour.parting.values import MouldKind
from firstpour.sheets import mixing_blocks as mixing
from firstpour.sheets.blocks import Beside, Block, Cautions, Page, Picture, Ticks
from firstpour.sheets.placed import Moment, cautions_at, findings_at
from firstpour.sheets.words import listed, piece_words, sentence, told, wait_words

ON_SILICONE = "silicone on silicone"
NO_MATERIAL = "No silicone is chosen: give the part a hardness, or take grams, pot life and cure from the data sheet."
STAND = {
    MouldKind.TRAYS: (
        "{Around} on its floor, open side up, level: the feet of its four notches show whether it is.",
        "Master half clean, dry and without dust; the seam between tray and part without a gap.",
    ),
    MouldKind.OPEN_FACE: (
        "{Around} on its floor, open side up, level; clean, dry and without dust.",
        "The flat back of the part lies on the floor of the tray: nothing can creep under it.",
    ),
    MouldKind.BLOCK: (
        "Base on the bench, level; the master screwed or pinned to it by its posts, upside down.",
        "Box slid over them, its foot and its corners taped: wet silicone finds every gap.",
    ),
}
"""How each kind of mould stands for its silicone; a bedding mould is another for each half."""
BEDDING_FIRST = (
    "Bedding on the bench, level; the master laid in with its gate and vents seated, no gap around it.",
    "Box slid over the bedding, its foot and corners taped.",
)
BEDDING_SECOND = (
    "Turn all over as one: box, master and first half, never pulled apart. Then lift the bedding off.",
    "Leave the master in the first half; clean the first half of flash and crumbs.",
)
OPENING = {
    MouldKind.TRAYS: "lift each half at the notches and ease it out of its tray",
    MouldKind.OPEN_FACE: "ease the silicone out of the tray, over one side",
    MouldKind.BLOCK: "take box and base off and cut the block open",
    MouldKind.BEDDING: "take the box off, part the halves, lift the master out",
}


def silicone_page(plan: PlanEntry, part: PartEntry, pose: PoseEntry) -> Page:
    """The page of one pour of silicone."""
    poses = part.mould.poses
    number = poses.index(pose) + 1
    chosen = None if part.materials is None else part.materials.silicone
    mix = _mix(chosen, pose)
    blocks: list[Block] = [mixing.mixing_cautions(mix)]
    blocks += _go_on_only(part, number)
    blocks += _laid_out(plan, part, pose, chosen, mix)
    blocks.append(Ticks(title="Stand it", items=_stand(part, pose, number)))
    if chosen is not None and mix is not None:
        blocks += mixing.weigh_and_clock(mix, chosen)
    else:
        blocks += mixing.unknown(NO_MATERIAL)
    blocks.append(Ticks(title="Pour", items=_pour(plan, part, pose)))
    if chosen is not None and mix is not None:
        what = _then(part, number)
        blocks.append(mixing.cure(chosen.demould_min, temperature_c=mix.temperature_c, what=what))
        left = mixing.left_overs(mix, ())
        blocks += [] if left is None else [left]
    if number == len(poses):
        blocks.append(Ticks(title="When it has cured", items=_when_cured(plan, part)))
    blocks.append(mixing.to_write(outcome="Outcome: set, tacky, bubbles, and where"))
    name = "" if chosen is None else chosen.name
    moulds = f" · for each of {mix.times} moulds, mixed anew each time" if mix is not None and mix.times > 1 else ""
    which = f", {piece_words(pose.pours)}" if len(poses) > 1 else ""
    return Page(
        title=f"{part.name}: silicone{which}",
        under=f"Pour {number} of {len(poses)}" + (f" · {name}" if name else "") + moulds,
        blocks=tuple(blocks),
    )


def _mix(chosen: ChosenEntry | None, pose: PoseEntry) -> PlannedMixEntry | None:
    if chosen is None:
        return None
    return next((one for one in chosen.mixes if one.what == pose.pours), None)


def _go_on_only(part: PartEntry, number: int) -> list[Block]:
    """What must be true before anything is weighed."""
    chosen = None if part.materials is None else part.materials.silicone
    steps = [] if chosen is None else chosen.steps
    blocks: list[Block] = []
    tested = any(one.id == "test-patch" for one in steps)
    patch = "; the test patch has set without a tacky film" if tested else ""
    items = [f"Everything on the page “make ready” is ticked{patch}."]
    if number > 1 and part.mould.kind is MouldKind.BEDDING:
        items = ["The first half has cured: a fingernail leaves no mark in what was left in the cup."]
        items += [f"{one.text} Wait {wait_words(one.wait_min)}." for one in steps if one.before == ON_SILICONE]
        cautions = () if part.materials is None else cautions_at(part.materials.cautions, Moment.MOULD)
        if cautions and len(items) > 1:
            blocks.append(Cautions(title="Before release is brushed or sprayed", items=cautions))
    elif number > 1:
        items.append("The other tray may stand filled beside it: the two are poured one after the other.")
    return [*blocks, Ticks(title="Go on only if", items=tuple(items))]


def _laid_out(
    plan: PlanEntry, part: PartEntry, pose: PoseEntry, chosen: ChosenEntry | None, mix: PlannedMixEntry | None
) -> list[Block]:
    items = [f"{sentence(listed([piece_words(name) for name in pose.around]))}"]
    if _has_rod(part, pose):
        items.append(
            "Gate-rod: it stands on the part where the gate will be, until this half has cured."
            if part.mould.basin is None
            else f"Runner: its {part.mould.basin.gates} rods stand on the part where the gates will be, its bar "
            f"hangs {part.mould.basin.deep_mm:g} mm deep in the silicone; pull it straight out once that has cured."
        )
    if chosen is not None and mix is not None:
        items.append(
            f"{chosen.name}: {mix.on_scale_g:.0f} g of A and B, both cans at {mix.temperature_c:g} °C, stirred up."
        )
        items += mixing.supplies_for(mix, mixing.in_this_room(chosen, mix), plan.to_lay_out)
    else:
        items.append(mixing.AS_THE_SHEET_ASKS)
    ticks = Ticks(title="Lay out before any mixing", items=tuple(items))
    picture = next((file for file in part.pictures if file.endswith("-mould.png")), None)
    if picture is None:
        return [ticks]
    alt = f"The mould of {part.name}: its pieces moved apart, and opened with the cavity up."
    return [Beside(left=(ticks,), right=(Picture(file=picture, alt=alt, share=1.0),), share=0.5)]


def _has_rod(part: PartEntry, pose: PoseEntry) -> bool:
    """Whether a gate leaves through this half alone, around a loose rod."""
    rods = [] if part.fill is None else [one for one in part.fill.channels if one.made_as == MadeAs.LOOSE_ROD]
    for rod in rods:
        out = zip(rod.path_mm[0], rod.path_mm[-1], pose.up, strict=True)
        if sum((end - start) * up for start, end, up in out) > 0:
            return True
    return False


def _stand(part: PartEntry, pose: PoseEntry, number: int) -> tuple[str, ...]:
    kind = part.mould.kind
    if kind is MouldKind.BEDDING:
        words: tuple[str, ...] = BEDDING_FIRST if number == 1 else BEDDING_SECOND
    else:
        around = listed([name for name in pose.around if name != jacket_name(pose.pours)])
        words = tuple(one.format(Around=around[:1].upper() + around[1:]) for one in STAND[kind])
    if pose.openings_mm:
        return (*words, *_under_jacket(pose))
    level = (
        f"Mark the level to pour to: {pose.level_mm:.1f} mm over the lowest point of what it stands in"
        f"{', where the feet of the notches are' if kind in (MouldKind.TRAYS, MouldKind.OPEN_FACE) else ''}. "
        f"It takes {pose.volume_mm3 / 1000:.0f} ml."
    )
    return (*words, level)


def _under_jacket(pose: PoseEntry) -> tuple[str, ...]:
    """How the jacket goes on, and how much runs in below it."""
    holes = len(pose.openings_mm)
    through = "its one hole" if holes == 1 else f"the wide hole; it shows in the other {holes - 1}"
    return (
        f"{sentence(jacket_name(pose.pours))[:-1]} sealed and released like the tray, then set in: its plate lies on "
        "the lip all around. Tape or weigh it down, for the silicone lifts it.",
        f"It takes {pose.volume_mm3 / 1000:.0f} ml through {through}.",
    )


def _pour(plan: PlanEntry, part: PartEntry, pose: PoseEntry) -> tuple[str, ...]:
    said = [
        one for one in findings_at(plan, part, Moment.MIX) if one.code != "air-in-silicone" or pose.pours in one.what
    ]
    air = [one for one in said if one.code == "air-in-silicone"]
    others = [one for one in said if one.code != "air-in-silicone"]
    if pose.openings_mm:
        return (
            *(f"Brush coat first: {one.remedy}. {sentence(one.what)}" for one in air),
            *(told(one.what, one.remedy) for one in others),
            "Pour a thin stream through the wide hole of the jacket and tap its sides.",
            "Stop when silicone stands in every hole; close one that runs over with a dab of clay.",
            "Keep it level and unmoved until the cure has ended; keep the cup: its rest tells the cure.",
            "Once it has cured, cut off what stands in the holes and lift the jacket straight off; it goes back on "
            "before the mould is closed, under the boards.",
        )
    return (
        *(f"Brush coat first: {one.remedy}. {sentence(one.what)}" for one in air),
        *(told(one.what, one.remedy) for one in others),
        f"Pour a thin stream into one corner, {_corner(part, pose)}never onto the part: it rises over it.",
        f"Stop at the level ({pose.level_mm:.1f} mm). Tap the sides; prick what bubbles rise.",
        "Top up to the level after ten minutes while the mix still runs, if it has sunk.",
        "Keep it level, covered and unmoved until the cure has ended; keep the cup: its rest tells the cure.",
    )


def _corner(part: PartEntry, pose: PoseEntry) -> str:
    """The corner with most room, in the part's coordinates."""
    at = next((one.at_mm for one in part.pours if one.pours == pose.pours), None)
    return "" if at is None else f"the one at ({', '.join(str(round(value)) for value in at)}) mm, "


def _then(part: PartEntry, number: int) -> str:
    if part.mould.kind is MouldKind.BEDDING and number == 1:
        return "turn it over for the second half; do not open it"
    return OPENING[part.mould.kind]


def _when_cured(plan: PlanEntry, part: PartEntry) -> tuple[str, ...]:
    """Take the silicone out, then gate and vents."""
    kind = part.mould.kind
    items = ["What is left in the cup is set through, without a tacky film.", sentence(OPENING[kind])]
    if kind is MouldKind.BLOCK and part.mould.cut_mm is not None:
        items.append(
            f"Cut along the groove, {part.mould.cut_mm:.1f} mm over the foot, with a fresh blade, in a wavering line "
            "that keys itself: cut away from your hand, and leave one side as a hinge if the part comes out so."
        )
    items += [told(one.what, one.remedy) for one in findings_at(plan, part, Moment.MOULD)]
    clear = "" if part.fill is None else "Cut gate and vents clear of flash. "
    items.append(f"{clear}Look at the cavity for holes, crumbs and tacky spots.")
    silicone = None if part.materials is None else part.materials.silicone
    if silicone is not None:
        steps = [one for one in silicone.steps if one.before not in ("silicone", ON_SILICONE)]
        items += [f"{one.text} Wait {wait_words(one.wait_min)}." if one.wait_min else one.text for one in steps]
        full = silicone.mixes[0].full_cure_min if silicone.mixes else None
        items += (
            []
            if full is None
            else [f"Full cure {wait_words(full)} after the pour: the longer it rests, the longer it lasts."]
        )
    return tuple(items)
