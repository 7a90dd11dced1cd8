"""From a volume to what goes on the scale: A, B and additives, losses, cups, batches, and the ratio error left."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from firstpour.errors import BadRequest
from firstpour.formulas.drainage import mean_film_mm
from firstpour.formulas.mixing import ratio_uncertainty, smallest_batch_g
from firstpour.materials.additives import Additive, check_additive, shrinkage_with, stirred_into
from firstpour.materials.cautions import Caution, cautions_for
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material, value_or
from firstpour.mixing.bench_kit import BenchKit
from firstpour.mixing.clock import CureTimes, check_mixed, check_room, cure_times
from firstpour.mixing.mix_findings import (
    Batch,
    Weighed,
    batch_findings,
    cavity_findings,
    dose_findings,
    heat_findings,
    split_findings,
)
from firstpour.mixing.recipe import Recipe, densities_of, mix_density_g_ml, ratio_of, recipe_of
from firstpour.mixing.viscosity import viscosity_pa_s
from firstpour.values import Finding

DRAIN_S = 30.0
THICKEST_FILM_MM = 1.0
"""Above this the maker scrapes the wall: an estimate of our own (decision 0004)."""
STIRRING_LOSS_ML = 1.0
CUP_ROOM_RATIO = 1.5
"""A cup holds half as much again as the mix, so that it can be stirred: common practice, no source."""
CUP_STEP_ML = 50.0
RATIO_TOLERANCE = 0.03
"""Taken where the record is silent: an estimate of our own (decision 0004)."""
LARGEST_VOLUME_ML = 1e6
MOST_CAVITIES = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A whole mix: masses for `volume_ml` in its cavities and `loss_ml` that stays behind, all batches together."""

    material: Material
    volume_ml: float
    cavities: int
    loss_ml: float
    density_g_ml: float
    part_a_g: float
    part_b_g: float
    part_a_ml: float
    part_b_ml: float
    additives: tuple[Weighed, ...]
    batch: Batch
    """What a batch takes; it fills `batch_cavities` whole cavities from one mix."""
    batch_cavities: int
    batches: int
    """All batches, the short ones counted in."""
    short_batch: Batch | None
    """A batch for one cavity fewer, where the cavities do not share out evenly."""
    short_batches: int
    times: CureTimes
    shrinkage_ratio: float | None
    """Linear shrinkage with the additives."""
    cup_ml: float
    container_ml: float
    degas_lots: int
    """Lots in which a batch is degassed one after the other, where the container does not take it at once."""
    smallest_batch_g: float
    ratio_error_ratio: float
    ratio_tolerance_ratio: float
    """How far the ratio of B to A may be off, as a share of it."""
    scale_step_g: float
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]

    @property
    def total_g(self) -> float:
        """All that is weighed out: A, B and additives, losses included."""
        return self.part_a_g + self.part_b_g + sum(additive.mass_g for additive in self.additives)

    @property
    def batch_g(self) -> float:
        """Mass of a batch, exact, its share of the losses included."""
        return self.total_g * self.batch_cavities / self.cavities

    @property
    def batch_ml(self) -> float:
        """What a batch puts into its cavities."""
        return self.volume_ml * self.batch_cavities / self.cavities


def mix_volume(
    material: Material,
    *,
    volume_ml: float,
    cavities: int = 1,
    temperature_c: float = 23.0,
    additives: Sequence[Additive] = (),
    kit: BenchKit | None = None,
    loss_ml: float | None = None,
    section_mm: float | None = None,
    slower: Sequence[Material] = (),
) -> Mix:
    """Work out the mix that puts `volume_ml` into the mould: into `cavities` equal cavities together.

    With A grams of A, r of B to one of A and dose dᵢ of additive i on its part cᵢ (1, r or 1 + r):
    A/ρ_a + rA/ρ_b + Σ dᵢcᵢA/ρᵢ = volume + loss. Volumes are taken to add. A cavity is filled from one mix: batches
    only
    divide between cavities, and a cavity that takes more than may be mixed at once is an `error` finding, whose
    remedy
    names what of `slower` may. `section_mm`: the part's
    thickness, for its demould time and its heat.

    Raises
    ------
    BadRequest
        If the volume is not above zero, the material has nothing to mix, or an additive is not made for it.
    OutOfRange
        If the room is too cold or warm, or a dose lies outside its table.
    """
    kit = kit or BenchKit()
    check_mixed(material)
    check_room(material, temperature_c=temperature_c)
    _check_volume(volume_ml, cavities, loss_ml)
    for additive in additives:
        check_additive(additive, base=material)
    recipe = recipe_of(material, additives)
    thick_pa_s = viscosity_pa_s(material, temperature_c=temperature_c, additives=additives)
    batches = _batches(material, recipe, volume_ml, cavities, kit, loss_ml, thick_pa_s)
    lost_ml = _lost_ml(recipe, volume_ml, batches, thick_pa_s) if loss_ml is None else loss_ml
    part_a_g = (volume_ml + lost_ml) / recipe.volume_ml
    each = math.ceil(cavities / batches)
    shorter = batches * each - cavities
    batch = _batch(recipe, additives, part_a_g * each / cavities, kit.scale_step_g)
    short = _batch(recipe, additives, part_a_g * (each - 1) / cavities, kit.scale_step_g) if shorter else None
    batch_ml = (volume_ml + lost_ml) * each / cavities
    least_a_g = part_a_g * (each - (shorter > 0)) / cavities
    mixed_g = part_a_g * (1 + recipe.b_g)
    tolerance = value_or(material, FigureName.RATIO_TOLERANCE, RATIO_TOLERANCE)
    smallest_g = smallest_batch_g(
        a_share=ratio_of(material).a_share, step_g=kit.scale_step_g, tolerance_ratio=tolerance
    )
    times = cure_times(
        material,
        temperature_c=temperature_c,
        mass_g=part_a_g * recipe.total_g * each / cavities,
        additives=additives,
        section_mm=section_mm,
    )
    density_a, density_b = densities_of(material)
    room_ml = batch_ml * room_ratio(material, kit)
    lots = degas_lots(material, batch_ml, kit)
    return Mix(
        material=material,
        volume_ml=volume_ml,
        cavities=cavities,
        loss_ml=lost_ml,
        density_g_ml=recipe.density_g_ml,
        part_a_g=part_a_g,
        part_b_g=part_a_g * recipe.b_g,
        part_a_ml=part_a_g / density_a,
        part_b_ml=part_a_g * recipe.b_g / density_b,
        additives=_together(batch, batches - shorter, short, shorter),
        batch=batch,
        batch_cavities=each,
        batches=batches,
        short_batch=short,
        short_batches=shorter,
        times=times,
        shrinkage_ratio=shrinkage_with(material, additives),
        cup_ml=_cup_ml(batch_ml * CUP_ROOM_RATIO, kit),
        container_ml=_cup_ml(room_ml / lots, kit),
        degas_lots=lots,
        smallest_batch_g=smallest_g,
        ratio_error_ratio=ratio_uncertainty(a_g=least_a_g, b_g=least_a_g * recipe.b_g, step_g=kit.scale_step_g),
        ratio_tolerance_ratio=tolerance,
        scale_step_g=kit.scale_step_g,
        findings=(
            *cavity_findings(
                material,
                kit,
                cavity_g=mixed_g / cavities,
                stirred_ml=(volume_ml + lost_ml) / cavities * CUP_ROOM_RATIO,
                slower=slower,
            ),
            *heat_findings(times),
            *batch_findings(material, kit, least_a_g * (1 + recipe.b_g), smallest_g, tolerance),
            *split_findings(mixed_g, cavities, batches),
            *dose_findings(short or batch, kit),
        ),
        cautions=cautions_for(_caution_traits(material, additives, kit)),
    )


def mass_for_g(material: Material, *, volume_ml: float) -> float:
    """Grams of A and B to mix, without additives, so that `volume_ml` reaches the one cavity.

    Raises
    ------
    BadRequest
        If the volume is not above zero or the material has nothing to mix.
    """
    check_mixed(material)
    _check_volume(volume_ml, 1, None)
    recipe = recipe_of(material)
    lost_ml = _lost_ml(recipe, volume_ml, 1, viscosity_pa_s(material, temperature_c=23.0))
    return (volume_ml + lost_ml) * mix_density_g_ml(material)


def room_ratio(material: Material, kit: BenchKit) -> float:
    """Container ÷ mix: room to rise where the mix is put under vacuum, room to stir otherwise."""
    if kit.vacuum and FigureName.DEGAS in material.figures:
        return max(CUP_ROOM_RATIO, value_or(material, FigureName.DEGAS_ROOM, 4.0))
    return CUP_ROOM_RATIO


def degas_lots(material: Material, volume_ml: float, kit: BenchKit) -> int:
    """In how many lots, one after the other, a mix is degassed: each risen, in a container that fits the chamber."""
    if not (kit.vacuum and FigureName.DEGAS in material.figures):
        return 1
    return max(1, math.ceil(volume_ml * room_ratio(material, kit) / kit.largest_degassed_ml - 1e-9))


def _batch(recipe: Recipe, additives: Sequence[Additive], a_g: float, step_g: float) -> Batch:
    """A is rounded up to the scale's step and the rest follows what A then is, so rounding does not pile up."""
    weigh_a_g = max(1, math.ceil(a_g / step_g - 1e-9)) * step_g
    weighed = tuple(
        Weighed(
            id=additive.material.id,
            name=additive.material.name,
            into=stirred_into(additive.material),
            mass_g=a_g * share,
            weigh_g=_on_scale(weigh_a_g * share, step_g),
        )
        for additive, share in zip(additives, recipe.additives_g, strict=True)
    )
    return Batch(
        weigh_a_g=_on_scale(weigh_a_g, step_g),
        weigh_b_g=_on_scale(weigh_a_g * recipe.b_g, step_g),
        additives=weighed,
    )


def _on_scale(mass_g: float, step_g: float) -> float:
    decimals = max(0, 2 - math.floor(math.log10(step_g)))
    return round(round(mass_g / step_g) * step_g, decimals)


def _together(batch: Batch, batches: int, short: Batch | None, shorter: int) -> tuple[Weighed, ...]:
    """The additives of all batches together."""
    pairs = zip(batch.additives, batch.additives if short is None else short.additives, strict=True)
    return tuple(
        replace(
            one,
            mass_g=one.mass_g * batches + less.mass_g * shorter,
            weigh_g=one.weigh_g * batches + less.weigh_g * shorter,
        )
        for one, less in pairs
    )


def _batches(
    material: Material,
    recipe: Recipe,
    volume_ml: float,
    cavities: int,
    kit: BenchKit,
    loss_ml: float | None,
    thick_pa_s: float,
) -> int:
    """Fewest batches of whole cavities that keep to the largest container and the largest mass, shared out evenly.

    Where even one cavity is too much they are as many as there are cavities; a finding says that it cannot be poured.
    """
    largest_ml = kit.largest_container_ml / CUP_ROOM_RATIO
    if FigureName.LARGEST_MASS in material.figures:
        reacting_g_ml = (1 + recipe.b_g) / recipe.volume_ml
        largest_ml = min(largest_ml, material.figures[FigureName.LARGEST_MASS].value / reacting_g_ml)
    for batches in range(1, cavities):
        lost_ml = _lost_ml(recipe, volume_ml, batches, thick_pa_s) if loss_ml is None else loss_ml
        if (volume_ml + lost_ml) * math.ceil(cavities / batches) / cavities <= largest_ml * (1 + 1e-9):
            return batches
    return cavities


def _lost_ml(recipe: Recipe, volume_ml: float, batches: int, thick_pa_s: float) -> float:
    """What stays on stick, wall and bottom of `batches` cups as wide as the mix in them is high."""
    batch_ml = volume_ml / batches
    wide_mm = math.cbrt(4000 * batch_ml / math.pi)
    film_mm = mean_film_mm(
        viscosity_pa_s=thick_pa_s, density_g_ml=recipe.density_g_ml, height_mm=wide_mm, drain_s=DRAIN_S
    )
    wetted_mm2 = math.pi * wide_mm**2 * 1.25
    return batches * (STIRRING_LOSS_ML + min(film_mm, THICKEST_FILM_MM) * wetted_mm2 / 1000)


def _cup_ml(volume_ml: float, kit: BenchKit) -> float:
    """The next larger cup, but never larger than the largest container there is."""
    return min(math.ceil(volume_ml / CUP_STEP_ML - 1e-9) * CUP_STEP_ML, kit.largest_container_ml)


def _check_volume(volume_ml: float, cavities: int, loss_ml: float | None) -> None:
    if not (math.isfinite(volume_ml) and 0 < volume_ml <= LARGEST_VOLUME_ML):
        raise BadRequest(
            f"the volume is {volume_ml:g} ml.", remedy=f"Give a volume above 0, at most {LARGEST_VOLUME_ML:g} ml."
        )
    if not 1 <= cavities <= MOST_CAVITIES:
        raise BadRequest(f"{cavities} cavities.", remedy=f"Give 1 to {MOST_CAVITIES} cavities.")
    if loss_ml is not None and not (math.isfinite(loss_ml) and 0 <= loss_ml <= LARGEST_VOLUME_ML):
        raise BadRequest(f"the loss is {loss_ml:g} ml.", remedy="Give a loss of 0 ml or more.")


def _caution_traits(material: Material, additives: Sequence[Additive], kit: BenchKit) -> set[str]:
    traits = set(material.traits).union(*(additive.material.traits for additive in additives))
    traits |= {"pressure"} if kit.pressure else set()
    return traits | ({"vacuum"} if kit.vacuum and FigureName.DEGAS in material.figures else set())
