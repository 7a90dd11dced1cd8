"""One material tried for a part: its mixes, steps and pour, what the shelf lacks, and when it is ready."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cbrt

from firstpour.choosing.choice import PlannedMix, PlannedStep
from firstpour.choosing.counts import filled_at_once, full_mixes, pours_in, rounds
from firstpour.choosing.need import PartNeed
from firstpour.choosing.preparing import casting_steps, paint_steps, silicone_steps
from firstpour.errors import OutOfRange
from firstpour.formulas.bubbles import smallest_escaping_mm
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material
from firstpour.mixing.clock import CureTimes
from firstpour.mixing.mix import Mix, mix_volume
from firstpour.mixing.pour import PourFit, pour_fit
from firstpour.mixing.pour_steps import Pour
from firstpour.mixing.recipe import mix_density_g_ml
from firstpour.mixing.viscosity import viscosity_pa_s
from firstpour.stock.stock import Amount, StockLine, stock_line
from firstpour.values import Finding, Severity
from firstpour.workshop.workshop import Workshop

SEEN_BUBBLE_MM = 1.0
"""Bubbles up to this do a mould little harm: our own choice (decision 0018)."""
MOST_CUPS = 4
"""Cups of silicone that are poured one into the other: common practice, no source."""
ROOMY_RATIO = 2.0
"""A pot life this many times as long as the work leaves room for a mishap: our own choice (decision 0018)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A material worked out for a part, with everything that it is ranked by."""

    material: Material
    additives: tuple[Additive, ...]
    mixes: tuple[PlannedMix, ...]
    steps: tuple[PlannedStep, ...]
    pour: Pour
    fit: PourFit
    lines: tuple[StockLine, ...]
    ready_min: float
    demould_min: float
    cost: float
    bubble_mm: float | None = None
    """The smallest bubble that still rises out of a mix that is not put under vacuum; None where it is."""

    @property
    def bubbly(self) -> bool:
        """Whether it keeps bubbles that one sees, because there is no vacuum."""
        return self.bubble_mm is not None and self.bubble_mm > SEEN_BUBBLE_MM

    @property
    def enough(self) -> bool:
        return all(line.enough for line in self.lines)

    @property
    def spare_ratio(self) -> float:
        """Pot life of this mix ÷ minutes of work in it: below 1 it mostly sets first; 0 where the room is wrong."""
        return 0.0 if self.fit.times is None else self.fit.times.pot_life_min / self.fit.work_min

    @property
    def roomy(self) -> bool:
        """Whether a mishap during the pour still leaves time."""
        return self.spare_ratio >= ROOMY_RATIO


def silicone_trial(need: PartNeed, workshop: Workshop, material: Material, *, casting: Material | None) -> Trial:
    """This silicone for the mould: ready once poured, cured and made fit for the casting material.

    Raises
    ------
    WorkshopError
        If it cannot be mixed or worked here.
    """
    additives = _quickeners(need, workshop, material)
    mixes = tuple(
        PlannedMix(what=piece, times=need.moulds, mix=_mould_mix(workshop, material, volume_ml, additives))
        for piece, volume_ml in need.pieces_ml.items()
    )
    largest_ml = max(planned.mix.batch_ml for planned in mixes)
    pour = Pour(material=material, volume_ml=largest_ml, additives=additives, kit=workshop.kit)
    demould_min = mixes[0].mix.times.demould_min
    steps = silicone_steps(need, material, demould_min)
    before_cast = () if casting is None else casting_steps(need, casting, material, workshop.kit)
    once = [*steps, *(one for one in before_cast if not one.step.each_pour)]
    waits = sum(one.step.hands_min + one.step.wait_min for one in once)
    lines = _lines(workshop, mixes)
    return Trial(
        material=material,
        additives=additives,
        mixes=mixes,
        steps=steps,
        pour=pour,
        fit=pour_fit(pour, temperature_c=workshop.temperature_c),
        lines=lines,
        ready_min=waits + need.serial_pours * demould_min,
        demould_min=demould_min,
        cost=_cost(lines),
        bubble_mm=_bubble_mm(pour, mixes[0].mix.times),
    )


def casting_trial(need: PartNeed, workshop: Workshop, material: Material, additives: tuple[Additive, ...]) -> Trial:
    """This casting material with these additives: ready once every round has set.

    Raises
    ------
    WorkshopError
        If it cannot be mixed or worked here, or the paint will not hold.
    """
    poured_ml = need.casting_ml * filled_at_once(need)
    mix = _mixed(
        workshop,
        material,
        poured_ml,
        additives,
        cavities=filled_at_once(need),
        section_mm=need.section_mm,
    )
    pours = pours_in(need, mix.batch_cavities)
    pour = Pour(
        material=material,
        volume_ml=mix.batch_ml,
        openings=pours,
        additives=additives,
        kit=workshop.kit,
        pour_min=None if need.pour_min is None else need.pour_min * pours,
    )
    steps = paint_steps(need, workshop.catalogue, material)
    mixes = (PlannedMix(what=f"round of {filled_at_once(need)}", times=full_mixes(need), mix=mix),)
    lines = _lines(workshop, mixes)
    return Trial(
        material=material,
        additives=additives,
        mixes=mixes,
        steps=steps,
        pour=pour,
        fit=pour_fit(pour, temperature_c=workshop.temperature_c),
        lines=lines,
        ready_min=rounds(need) * mix.times.demould_min,
        demould_min=mix.times.demould_min,
        cost=_cost(lines),
    )


def _quickeners(need: PartNeed, workshop: Workshop, material: Material) -> tuple[Additive, ...]:
    """The silicone's accelerator, where it has one and the part asks for it."""
    if material.accelerator is None or need.silicone_accelerator_ratio == 0.0:
        return ()
    quicker = workshop.catalogue.get(material.accelerator)
    return (Additive(material=quicker, dose_ratio=need.silicone_accelerator_ratio),)


def _mould_mix(workshop: Workshop, material: Material, volume_ml: float, additives: Sequence[Additive] = ()) -> Mix:
    """The mix of one mould piece. An open mould may be poured from several cups wet on wet, where one is too small.

    Raises
    ------
    OutOfRange
        If it would take more cups than can be poured one after the other.
    """
    for cups in range(1, MOST_CUPS):
        try:
            mix = _mixed(workshop, material, volume_ml, additives, cavities=cups)
        except OutOfRange:
            continue
        return mix if cups == 1 else _wet_on_wet(mix)
    return _mixed(workshop, material, volume_ml, additives, cavities=MOST_CUPS)


def _wet_on_wet(mix: Mix) -> Mix:
    said = Finding(
        severity=Severity.INFO,
        code="wet-on-wet",
        what=f"The mould takes {mix.batches} cups of {mix.material.name} of {mix.batch_g:.0f} g each.",
        remedy="Pour each into the one before while that is still liquid; the first goes over the part.",
    )
    return replace(mix, findings=(said, *(one for one in mix.findings if one.code != "mix-split")))


def _bubble_mm(pour: Pour, times: CureTimes) -> float | None:
    """The smallest bubble that rises through a piece as high as a cube of its volume, in the pot life of its mix."""
    if pour.kit.vacuum or FigureName.DEGAS not in pour.material.figures:
        return None
    return smallest_escaping_mm(
        height_mm=cbrt(1000.0 * pour.volume_ml),
        time_s=60.0 * times.pot_life_min,
        viscosity_pa_s=viscosity_pa_s(pour.material, temperature_c=times.temperature_c),
        density_g_ml=mix_density_g_ml(pour.material),
        rise_s=60.0 * times.thickening_min,
    )


def _mixed(
    workshop: Workshop,
    material: Material,
    volume_ml: float,
    additives: Sequence[Additive] = (),
    *,
    cavities: int = 1,
    section_mm: float | None = None,
) -> Mix:
    """The mix; a material that cannot fill a cavity from one mix will not do.

    Raises
    ------
    OutOfRange
        If one cavity takes more of it than may be mixed at once.
    """
    mix = mix_volume(
        material,
        volume_ml=volume_ml,
        cavities=cavities,
        temperature_c=workshop.temperature_c,
        additives=additives,
        kit=workshop.kit,
        section_mm=section_mm,
    )
    for finding in mix.findings:
        if finding.severity is Severity.ERROR:
            raise OutOfRange(finding.what, remedy=finding.remedy)
    return mix


def needs_of(mixes: Sequence[PlannedMix]) -> dict[str, Amount]:
    """Grams of every material that these mixes use up, by id."""
    needs: dict[str, Amount] = {}
    for planned in mixes:
        mix = planned.mix
        amounts = [(mix.material.id, Amount(a_g=mix.part_a_g, b_g=mix.part_b_g))]
        amounts += [(additive.id, Amount(a_g=additive.mass_g)) for additive in mix.additives]
        for key, amount in amounts:
            whole = Amount(a_g=amount.a_g * planned.times, b_g=amount.b_g * planned.times)
            needs[key] = needs.get(key, Amount()) + whole
    return needs


def _lines(workshop: Workshop, mixes: Sequence[PlannedMix]) -> tuple[StockLine, ...]:
    return tuple(
        stock_line(workshop.stock, workshop.catalogue.get(key), need, today=workshop.today)
        for key, need in needs_of(mixes).items()
    )


def _cost(lines: Sequence[StockLine]) -> float:
    return sum(line.buy.cost or 0.0 for line in lines if line.buy is not None)
