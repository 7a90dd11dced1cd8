"""From a volume to what goes on the scale: A, B and additives, losses, cups, batches, and the ratio error left."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.formulas.drainage import mean_film_mm
from firstpour.formulas.mixing import mixed_density_g_ml, ratio_uncertainty, smallest_batch_g
from firstpour.materials.additives import Additive, check_additive, counted_share
from firstpour.materials.cautions import Caution, cautions_for
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material, Ratio, needed, value_or
from firstpour.mixing.bench_kit import BenchKit
from firstpour.mixing.clock import CureTimes, check_mixed, cure_times
from firstpour.mixing.mix_findings import Batch, Weighed, batch_findings, dose_findings
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
MOST_BATCHES = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A whole mix: masses for `volume_ml` in the mould and `loss_ml` that stays behind, all batches together."""

    material: Material
    volume_ml: float
    loss_ml: float
    density_g_ml: float
    part_a_g: float
    part_b_g: float
    part_a_ml: float
    part_b_ml: float
    additives: tuple[Weighed, ...]
    batch: Batch
    """What each of the equal batches takes."""
    batches: int
    times: CureTimes
    cup_ml: float
    container_ml: float
    smallest_batch_g: float
    ratio_error_ratio: float
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]

    @property
    def total_g(self) -> float:
        """All that is weighed out: A, B and additives, losses included."""
        return self.part_a_g + self.part_b_g + sum(additive.mass_g for additive in self.additives)

    @property
    def batch_g(self) -> float:
        return self.total_g / self.batches


@dataclass(frozen=True, slots=True, kw_only=True)
class _Recipe:
    """For one gram of A: grams of B and of each additive, and the millilitres they make."""

    b_g: float
    additives_g: tuple[float, ...]
    volume_ml: float

    @property
    def total_g(self) -> float:
        return 1.0 + self.b_g + sum(self.additives_g)


def mix_volume(
    material: Material,
    *,
    volume_ml: float,
    temperature_c: float = 23.0,
    additives: Sequence[Additive] = (),
    kit: BenchKit | None = None,
    loss_ml: float | None = None,
) -> Mix:
    """Work out the mix that puts `volume_ml` into the mould.

    With A grams of A, r of B to one of A and dose dᵢ of additive i on its part cᵢ (1, r or 1 + r):
    A/ρ_a + rA/ρ_b + Σ dᵢcᵢA/ρᵢ = volume + loss. Volumes are taken to add.

    Raises
    ------
    BadRequest
        If the volume is not above zero, the material has nothing to mix, or an additive is not made for it.
    OutOfRange
        If the room is too cold or warm, or a dose lies outside its table.
    """
    kit = kit or BenchKit()
    check_mixed(material)
    _check_volume(volume_ml, loss_ml)
    for additive in additives:
        check_additive(additive, base=material)
    recipe = _recipe(material, additives)
    batches = _batches(material, recipe, volume_ml, kit, loss_ml)
    lost_ml = _lost_ml(material, recipe, volume_ml, batches) if loss_ml is None else loss_ml
    part_a_g = (volume_ml + lost_ml) / recipe.volume_ml
    return _finished(
        material,
        recipe,
        additives,
        kit=kit,
        part_a_g=part_a_g,
        volume_ml=volume_ml,
        loss_ml=lost_ml,
        batches=batches,
        temperature_c=temperature_c,
    )


def mass_for_g(material: Material, *, volume_ml: float, kit: BenchKit | None = None) -> float:
    """Grams of A and B to mix, without additives, so that `volume_ml` reaches the mould.

    Raises
    ------
    BadRequest
        If the volume is not above zero or the material has nothing to mix.
    """
    kit = kit or BenchKit()
    check_mixed(material)
    _check_volume(volume_ml, None)
    recipe = _recipe(material, ())
    batches = _batches(material, recipe, volume_ml, kit, None)
    lost_ml = _lost_ml(material, recipe, volume_ml, batches)
    return (volume_ml + lost_ml) / recipe.volume_ml * recipe.total_g


def ratio_of(material: Material) -> Ratio:
    """The mix ratio of a material of two parts.

    Raises
    ------
    BadRequest
        If the record holds none.
    """
    if material.ratio is None:
        raise BadRequest(f"{material.name} has no mix ratio.", remedy="Add it from the data sheet.")
    return material.ratio


def _finished(
    material: Material,
    recipe: _Recipe,
    additives: Sequence[Additive],
    *,
    kit: BenchKit,
    part_a_g: float,
    volume_ml: float,
    loss_ml: float,
    batches: int,
    temperature_c: float,
) -> Mix:
    part_b_g = part_a_g * recipe.b_g
    batch = _batch(recipe, additives, part_a_g / batches, kit.scale_step_g)
    weighed = tuple(
        Weighed(id=one.id, name=one.name, mass_g=one.mass_g * batches, weigh_g=one.weigh_g * batches)
        for one in batch.additives
    )
    batch_ml = (volume_ml + loss_ml) / batches
    tolerance = value_or(material, FigureName.RATIO_TOLERANCE, RATIO_TOLERANCE)
    smallest_g = smallest_batch_g(
        a_share=ratio_of(material).a_share, step_g=kit.scale_step_g, tolerance_ratio=tolerance
    )
    error = ratio_uncertainty(a_g=part_a_g / batches, b_g=part_b_g / batches, step_g=kit.scale_step_g)
    batch_g = part_a_g * recipe.total_g / batches
    times = cure_times(material, temperature_c=temperature_c, mass_g=batch_g, additives=additives)
    density_a, density_b = _densities(material)
    return Mix(
        material=material,
        volume_ml=volume_ml,
        loss_ml=loss_ml,
        density_g_ml=recipe.total_g / recipe.volume_ml,
        part_a_g=part_a_g,
        part_b_g=part_b_g,
        part_a_ml=part_a_g / density_a,
        part_b_ml=part_b_g / density_b,
        additives=weighed,
        batch=batch,
        batches=batches,
        times=times,
        cup_ml=_cup_ml(batch_ml * CUP_ROOM_RATIO, kit),
        container_ml=_cup_ml(batch_ml * room_ratio(material, kit), kit),
        smallest_batch_g=smallest_g,
        ratio_error_ratio=error,
        findings=(
            *batch_findings(material, kit, part_a_g + part_b_g, batches, smallest_g, tolerance),
            *dose_findings(batch, kit),
        ),
        cautions=cautions_for(_caution_traits(material, additives, kit)),
    )


def room_ratio(material: Material, kit: BenchKit) -> float:
    """Container ÷ mix: room to rise where the mix is put under vacuum, room to stir otherwise."""
    if kit.vacuum and FigureName.DEGAS in material.figures:
        return max(CUP_ROOM_RATIO, value_or(material, FigureName.DEGAS_ROOM, 4.0))
    return CUP_ROOM_RATIO


def mix_density_g_ml(material: Material) -> float:
    """Density of A and B mixed, without additives."""
    density_a, density_b = _densities(material)
    return mixed_density_g_ml(
        a_g=100.0, b_g=ratio_of(material).b_per_100_a, density_a_g_ml=density_a, density_b_g_ml=density_b
    )


def _densities(material: Material) -> tuple[float, float]:
    return needed(material, FigureName.DENSITY_A).value, needed(material, FigureName.DENSITY_B).value


def _recipe(material: Material, additives: Sequence[Additive]) -> _Recipe:
    b_g = ratio_of(material).b_per_100_a / 100
    grams = tuple(
        additive.dose_ratio * counted_share(additive.material.counts_on, b_per_a=b_g) for additive in additives
    )
    volume_ml = (1 + b_g) / mix_density_g_ml(material)
    for additive, added_g in zip(additives, grams, strict=True):
        volume_ml += added_g / needed(additive.material, FigureName.DENSITY).value
    return _Recipe(b_g=b_g, additives_g=grams, volume_ml=volume_ml)


def _batch(recipe: _Recipe, additives: Sequence[Additive], a_g: float, step_g: float) -> Batch:
    """A is rounded up to the scale's step and the rest follows what A then is, so rounding does not pile up."""
    weigh_a_g = max(1, math.ceil(a_g / step_g - 1e-9)) * step_g
    weighed = tuple(
        Weighed(
            id=additive.material.id,
            name=additive.material.name,
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


def _batches(material: Material, recipe: _Recipe, volume_ml: float, kit: BenchKit, loss_ml: float | None) -> int:
    """Fewest equal batches that keep to the largest container and the largest mass."""
    largest_ml = kit.largest_container_ml / room_ratio(material, kit)
    density_g_ml = recipe.total_g / recipe.volume_ml
    if FigureName.LARGEST_MASS in material.figures:
        largest_ml = min(largest_ml, material.figures[FigureName.LARGEST_MASS].value / density_g_ml)
    for batches in range(max(1, math.floor(volume_ml / largest_ml)), MOST_BATCHES):
        lost_ml = _lost_ml(material, recipe, volume_ml, batches) if loss_ml is None else loss_ml
        if (volume_ml + lost_ml) / batches <= largest_ml * (1 + 1e-9):
            return batches
    raise BadRequest(
        f"{volume_ml:g} ml would take more than {MOST_BATCHES} batches of {largest_ml:g} ml.",
        remedy="Use a larger container, or check the volume and its unit.",
    )


def _lost_ml(material: Material, recipe: _Recipe, volume_ml: float, batches: int) -> float:
    """What stays on stick, wall and bottom of `batches` cups as wide as the mix in them is high."""
    batch_ml = volume_ml / batches
    wide_mm = math.cbrt(4000 * batch_ml / math.pi)
    film_mm = mean_film_mm(
        viscosity_pa_s=value_or(material, FigureName.VISCOSITY, 5.0),
        density_g_ml=recipe.total_g / recipe.volume_ml,
        height_mm=wide_mm,
        drain_s=DRAIN_S,
    )
    wetted_mm2 = math.pi * wide_mm**2 * 1.25
    return batches * (STIRRING_LOSS_ML + min(film_mm, THICKEST_FILM_MM) * wetted_mm2 / 1000)


def _cup_ml(volume_ml: float, kit: BenchKit) -> float:
    """The next larger cup, but never larger than the largest container there is."""
    return min(math.ceil(volume_ml / CUP_STEP_ML - 1e-9) * CUP_STEP_ML, kit.largest_container_ml)


def _check_volume(volume_ml: float, loss_ml: float | None) -> None:
    if not (math.isfinite(volume_ml) and 0 < volume_ml <= LARGEST_VOLUME_ML):
        raise BadRequest(
            f"the volume is {volume_ml:g} ml.", remedy=f"Give a volume above 0, at most {LARGEST_VOLUME_ML:g} ml."
        )
    if loss_ml is not None and not (math.isfinite(loss_ml) and 0 <= loss_ml <= LARGEST_VOLUME_ML):
        raise BadRequest(f"the loss is {loss_ml:g} ml.", remedy="Give a loss of 0 ml or more.")


def _caution_traits(material: Material, additives: Sequence[Additive], kit: BenchKit) -> set[str]:
    traits = set(material.traits).union(*(additive.material.traits for additive in additives))
    traits |= {"pressure"} if kit.pressure else set()
    return traits | ({"vacuum"} if kit.vacuum and FigureName.DEGAS in material.figures else set())
