"""What is said of an insert: what to lay ready for every shot, what holds it, what becomes of it."""

from firstpour.inserts.placing import HeldInsert
from firstpour.inserts.values import Hold, InsertShape
from firstpour.values import Finding, FloatArray, Severity

GRIPS, LIES = 0.5, -0.7
"""Cosine of the way from the cavity to its half against up, from which a pin, and anything else, may let it fall (our
own choice, decision 0062)."""
HALVES = {1: "the upper half", -1: "the lower half"}


def told(one: HeldInsert) -> tuple[Finding, ...]:
    """The findings of one insert."""
    if one.insert.copy_of:
        return (_around(one),)
    if one.insert.shape is InsertShape.MAGNET:
        return (_stays(one), _magnet(one))
    return (_pulled(one) if one.insert.pulled else _stays(one),)


def may_fall(one: HeldInsert, up: FloatArray, draw: FloatArray) -> Finding | None:
    """Say where an insert hangs from the half above it while the cast is poured; nothing where it does not."""
    if len(one.sides) != 1 or one.hold is Hold.HOLE:
        return None
    least = GRIPS if one.hold is Hold.PIN else LIES
    if one.sides[0] * float(up @ draw) < least:
        return None
    x, y, z = -one.sides[0] * draw + 0.0
    return Finding(
        severity=Severity.WARNING,
        code="insert-may-fall",
        what=f"{one.insert.words} sits in {HALVES[one.sides[0]]} alone, which is not beneath it when the cast is "
        "poured: it may fall into the cavity",
        remedy=f"give up = [{x:.3g}, {y:.3g}, {z:.3g}], or hold it with a dab of what the casting bonds to, "
        "and try it dry",
    )


def _half_words(one: HeldInsert) -> str:
    if not one.sides:
        return "the core that fills the hole there"
    return "each half" if len(one.sides) > 1 else f"{HALVES[one.sides[0]]} alone"


def held_words(one: HeldInsert) -> str:
    """What holds it, in words."""
    return f"it sits {one.seat_mm:g} mm deep in a pilot hole of {_half_words(one)}" if one.seat_mm else _held(one)


def _around(one: HeldInsert) -> Finding:
    return Finding(
        severity=Severity.INFO,
        code="cast-around",
        what=f"for every cavity {one.insert.words} is set in and cast around: {one.cast_over_mm2 / 100:.1f} cm² "
        f"of it are cast over, and silicone of {_half_words(one)} closes on the other "
        f"{one.shut_off_mm2 / 100:.1f} cm². Its seat is drawn smaller by this casting's shrinkage and comes out as "
        "large as the copy; what is cast shrinks onto it",
        remedy="trim its gate and flash flush first: a step leaks where the silicone closes; set it in dry, free of "
        "release where it is cast over",
    )


def _pulled(one: HeldInsert) -> Finding:
    insert = one.insert
    return Finding(
        severity=Severity.INFO,
        code="insert-pulled",
        what=f"for every cavity {insert.words} is set in, cut to {one.length_mm:.1f} mm: {held_words(one)} "
        f"and leaves a hole of {insert.hole_mm:.2f} ± {insert.tolerance_mm:g} mm, whatever the casting shrinks by",
        remedy="round its ends, grease it thinly before every shot, pull it before the copy has set fully hard",
    )


def _stays(one: HeldInsert) -> Finding:
    insert = one.insert
    return Finding(
        severity=Severity.INFO,
        code="insert-stays",
        what=f"for every cavity {insert.words} is set in and stays in the copy: {held_words(one)}",
        remedy="roughen and degrease it outside, so that the casting holds on to it; keep its bore and ends clean"
        if insert.bore_mm
        else "roughen and degrease what the casting touches, so that it holds on; keep what stays bare clean",
    )


def _held(one: HeldInsert) -> str:
    insert = one.insert
    if insert.copy_of:
        return f"silicone of {_half_words(one)} closes on {one.shut_off_mm2 / 100:.1f} cm² of it"
    if one.hold is Hold.PIN:
        thread = "thread" if insert.shape is InsertShape.NUT else "bore"
        return (
            f"a pin of silicone of {_half_words(one)} holds it in its {thread} of {insert.bore_mm:.2f} ± "
            f"{insert.tolerance_mm:g} mm, and keeps that open"
        )
    if one.hold is Hold.RECESS:
        where = "both halves" if len(one.sides) > 1 else HALVES[one.sides[0]]
        return f"what stands out of the part sits in a recess of {where}"
    return (
        f"{len(one.pegs)} pegs of silicone of {HALVES[one.sides[0]]}, {one.peg_mm:g} mm thick, hold it "
        f"{one.stand_off_mm:.1f} mm off the face of the mould, and leave as many holes in the copy"
    )


def _magnet(one: HeldInsert) -> Finding:
    return Finding(
        severity=Severity.INFO,
        code="insert-magnet",
        what=f"{one.insert.words}: it loses its strength above the heat limit of its grade, and a setting mix warms "
        "itself; its poles look alike",
        remedy="see its data sheet for the heat limit; mark one pole with paint, and set every one in with the mark "
        "the same way",
    )
