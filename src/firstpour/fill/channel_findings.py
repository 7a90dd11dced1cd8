"""What is said of gates and vents: where they leave marks, are narrow or find no way, and what air stays."""

from firstpour.fill.breathing import BREATHING_S, Breath, Mix
from firstpour.fill.cavity import Cavity
from firstpour.fill.places import BAD_PLACES, WORDS
from firstpour.fill.values import Channel, ChannelUse, Fill, MadeAs
from firstpour.fill.vents import Accepted
from firstpour.values import Finding, FloatArray, Severity, place_words

WORTH_SAYING = 0.8
"""A channel narrowed to no less than this share of what was asked gets no finding."""
MOST_NAMED = 5
"""Pockets that get a finding of their own; the rest are counted together."""


def gate_findings(gate: Channel, *, asked_mm: float) -> list[Finding]:
    """What the maker should know of a gate."""
    found = [*_place_findings(gate), *_narrowed(gate, asked_mm)]
    if gate.sink_mm is not None and gate.sink_mm > gate.radius_start_mm + 1e-9:
        found.append(
            Finding(
                severity=Severity.INFO,
                code="gate-on-tip",
                what=f"the part ends in a tip here: {gate.sink_mm:.1f} mm of it lie inside the gate",
                remedy="cut the stub to the shape of the tip, or turn the mould so that another place is on top",
                where=place_words(gate.at_mm),
            )
        )
    if gate.made_as is MadeAs.LOOSE_ROD:
        found.append(
            Finding(
                severity=Severity.INFO,
                code="gate-lone",
                what="the gate leaves through one half alone: it is cast around a loose rod, and its stub stands up "
                "in that half when the mould opens",
                remedy="pull the rod out outwards before you open the trays; lift that half straight off the stub",
                where=place_words(gate.at_mm),
            )
        )
    return found


def vent_findings(vent: Channel, *, asked_mm: float) -> list[Finding]:
    """What the maker should know of a vent."""
    found = [*_place_findings(vent), *_narrowed(vent, asked_mm)]
    if vent.made_as is MadeAs.DRILLED:
        found.append(
            Finding(
                severity=Severity.INFO,
                code="vent-drilled",
                what="this vent leaves through one half alone, straight along the draw: "
                f"{2 * vent.radius_start_mm:.1f} mm across",
                remedy="pierce it through the cured silicone from the cavity outwards with a sharp tube",
                where=place_words(vent.at_mm),
            )
        )
    return found


def vent_not_needed(gate: Channel, breath: Breath, mix: Mix) -> Finding:
    """Why a mould has no vent away from its gate: the gate is wide enough for what it fills."""
    return Finding(
        severity=Severity.INFO,
        code="vent-not-needed",
        what=f"the gate, {breath.across_mm:.1f} mm at its narrowest, lets {breath.air_ml:.1f} ml of air up past the "
        f"stream in {max(1.0, breath.takes_s):.0f} s, of the {BREATHING_S:.0f} s that a gate without a vent may take "
        f"(at {mix.viscosity_pa_s:.2f} Pa·s, {mix.density_g_ml:.2f} g/ml)",
        remedy="pour a thin stream down one side of the gate and stop now and then, so that the air comes up past it",
        where=place_words(gate.at_mm),
    )


def vent_near_gate(vent: Channel, *, away_mm: float, wanted_mm: float) -> Finding:
    """The vent that breathes lies nearer to the gate than is good."""
    return Finding(
        severity=Severity.INFO,
        code="vent-near-gate",
        what=f"the vent lies {away_mm:.0f} mm from the gate: none {wanted_mm:.0f} mm away finds a clear way out",
        remedy="pour slowly and keep the stream off the vent; or give its place on the parting line yourself",
        where=place_words(vent.at_mm),
    )


def vent_no_place(gate: Channel, *, apart_mm: float) -> Finding:
    """The gate lets no air out while it is full, and the mould has no place for a vent beside it."""
    return Finding(
        severity=Severity.WARNING,
        code="vent-no-place",
        what=f"a full gate lets no air out here, and no place for a vent lies {apart_mm:.0f} mm from it",
        remedy="pour in small portions and let the air come up the gate between them, or make the gate thinner",
        where=place_words(gate.at_mm),
    )


def below_top_finding(cavity: Cavity, gate: Channel, alone: Fill) -> tuple[Finding, ...]:
    """Say so where the gate is not at a highest place, why, and what air is above it."""
    level = float(gate.at_mm @ cavity.up)
    below = float(cavity.dexels.z_mm[1::2].max()) - level
    if below <= max(0.5, cavity.dexels.pitch_mm):
        return ()
    air = sum(pocket.volume_mm3 for pocket in alone.pockets if float(pocket.top_mm @ cavity.up) > level)
    return (
        Finding(
            severity=Severity.INFO,
            code="gate-below-top",
            what=f"the gate lies {gate.reason}; {air:.1f} mm³ of air would stay above it without vents",
            remedy="pour until the material stands in the vents above the gate, too",
            where=place_words(gate.at_mm),
        ),
    )


def blocked_finding(use: ChannelUse, at_mm: FloatArray) -> Finding:
    """No way out was found for an opening."""
    return Finding(
        severity=Severity.ERROR if use is ChannelUse.GATE else Severity.WARNING,
        code=f"{use.value}-blocked",
        what=f"no clear way out of the block was found for the {use.value}, on the parting surface or straight along "
        "the draw",
        remedy="pour it another way up, make the channel thinner, or give its place on the parting line yourself",
        where=place_words(at_mm),
    )


def air_findings(filled: Fill, accepted: Accepted) -> list[Finding]:
    """A finding for each of the largest pockets with too much air, and one for the rest."""
    much = [p for p in filled.pockets if accepted.is_too_much(p)]
    found = [
        Finding(
            severity=Severity.WARNING,
            code="air-stays",
            what=f"{pocket.volume_mm3:.2f} mm³ of air stay" + (" on a show face" if pocket.on_show else ""),
            remedy="turn the mould, or give this pocket a vent of its own",
            where=place_words(pocket.top_mm),
        )
        for pocket in much[:MOST_NAMED]
    ]
    if len(much) > MOST_NAMED:
        air = sum(pocket.volume_mm3 for pocket in much[MOST_NAMED:])
        text = f"{len(much) - MOST_NAMED} more pockets hold {air:.1f} mm³ of air"
        found.append(
            Finding(
                severity=Severity.WARNING, code="more-air-stays", what=text, remedy="turn the mould another way up"
            )
        )
    return found


def _place_findings(channel: Channel) -> list[Finding]:
    if channel.place not in BAD_PLACES:
        return []
    return [
        Finding(
            severity=Severity.WARNING,
            code=f"{channel.use.value}-{channel.place.value}",
            what=f"the {channel.use.value} lies {WORDS[channel.place]}: its stub leaves a mark there",
            remedy="turn the mould so that a hidden face is on top, mark one as hidden, or plan to trim and polish",
            where=place_words(channel.at_mm),
        )
    ]


def _narrowed(channel: Channel, asked_mm: float) -> list[Finding]:
    if channel.radius_start_mm >= WORTH_SAYING * asked_mm:
        return []
    use = channel.use.value
    return [
        Finding(
            severity=Severity.INFO,
            code=f"{use}-narrowed",
            what=f"the part is narrow here: the {use} is {2 * channel.radius_start_mm:.1f} mm across",
            remedy="check the flow; if it is too slow, add a second gate or fix a wider place",
            where=place_words(channel.at_mm),
        )
    ]
