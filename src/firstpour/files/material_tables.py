"""The shelf's answers as plain tables: the keys that stay stable in JSON."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from firstpour.choosing.choice import Chosen, PartChoice, PlannedStep, Supply
from firstpour.files.step_tables import step_table
from firstpour.materials.cautions import FIRST, Caution
from firstpour.materials.feel import Stiffness
from firstpour.materials.figures import FIGURES
from firstpour.materials.material import Material
from firstpour.materials.steps import surface_words
from firstpour.mixing.mix import Mix
from firstpour.mixing.mix_findings import Batch
from firstpour.mixing.pour import PourFit
from firstpour.stock.stock import Pack, StockLine, good_until, is_good

Table = dict[str, Any]


def mix_table(mix: Mix) -> Table:
    """A mix: the keys of the command contract, and what each equal batch puts on the scale."""
    times = mix.times
    return {
        "material": mix.material.id,
        "name": mix.material.name,
        "volume_ml": mix.volume_ml,
        "cavities": mix.cavities,
        "loss_ml": mix.loss_ml,
        "density_g_ml": mix.density_g_ml,
        "total_g": mix.total_g,
        "part_a_g": mix.part_a_g,
        "part_b_g": mix.part_b_g,
        "part_a_ml": mix.part_a_ml,
        "part_b_ml": mix.part_b_ml,
        "additives_g": {additive.id: additive.mass_g for additive in mix.additives},
        "stir_into": {additive.id: additive.into.value for additive in mix.additives},
        "batches": mix.batches,
        "batch": _batch_table(mix.batch, mix.batch_cavities),
        "short_batches": mix.short_batches,
        "short_batch": None if mix.short_batch is None else _batch_table(mix.short_batch, mix.batch_cavities - 1),
        "temperature_c": times.temperature_c,
        "pot_life_min": times.pot_life_min,
        "pot_life_low_min": times.pot_life_low_min,
        "pot_life_high_min": times.pot_life_high_min,
        "stated_mass_g": times.stated_mass_g,
        "stated_pot_life_min": times.stated_pot_life_min,
        "thickening_min": times.thickening_min,
        "demould_min": times.demould_min,
        "block_demould_min": times.block_demould_min,
        "section_mm": times.section_mm,
        "peak_cup_c": times.peak_cup_c,
        "peak_part_c": times.peak_part_c,
        "full_cure_min": times.full_cure_min,
        "cup_ml": mix.cup_ml,
        "container_ml": mix.container_ml,
        "degas_lots": mix.degas_lots,
        "shrinkage_ratio": mix.shrinkage_ratio,
        "smallest_batch_g": mix.smallest_batch_g,
        "ratio_error_ratio": mix.ratio_error_ratio,
        "findings": [finding.as_table() for finding in mix.findings],
        "cautions": cautions_table(mix.cautions),
    }


def _batch_table(batch: Batch, cavities: int) -> Table:
    return {
        "cavities": cavities,
        "weigh_a_g": batch.weigh_a_g,
        "weigh_b_g": batch.weigh_b_g,
        "weigh_additives_g": {additive.id: additive.weigh_g for additive in batch.additives},
    }


def pour_table(fit: PourFit) -> Table:
    """A pour on the clock at one temperature."""
    times = fit.times
    return {
        "temperature_c": fit.temperature_c,
        "pot_life_min": None if times is None else times.pot_life_min,
        "pot_life_low_min": None if times is None else times.pot_life_low_min,
        "pot_life_high_min": None if times is None else times.pot_life_high_min,
        "demould_min": None if times is None else times.demould_min,
        "work_min": fit.work_min,
        "margin_min": fit.margin_min,
        "eaten_by": [step.name.value for step in fit.eaten_by],
        "chance": fit.chance,
        "fits": fit.fits,
        "problem": fit.problem,
        "steps": [
            {
                "name": step.name.value,
                "mean_min": step.time.mean_min,
                "spread_min": step.time.variance_min2**0.5,
                "on_clock": step.on_clock,
            }
            for step in fit.steps
        ],
        "changes": [{"text": change.text, "chance": change.chance} for change in fit.changes],
    }


def material_table(material: Material) -> Table:
    """One material with its figures and their origin."""
    return {
        "id": material.id,
        "name": material.name,
        "kind": material.kind.value,
        "note": material.note,
        "shipped": material.shipped,
        "traits": sorted(material.traits),
        "ratio_b_per_100_a": None if material.ratio is None else material.ratio.b_per_100_a,
        "figures": {
            name.value: {
                "what": FIGURES[name].what,
                "value": figure.value,
                "low": figure.low,
                "high": figure.high,
                "unit": FIGURES[name].unit,
                "temperature_c": figure.temperature_c,
                "mass_g": figure.mass_g,
                "origin": figure.origin.value,
            }
            for name, figure in material.figures.items()
        },
        "works_in": list(material.works_in),
        "counts_on": None if material.counts_on is None else material.counts_on.value,
        "stir_into": None if material.stir_into is None else material.stir_into.value,
        "doses": [
            {
                "dose": dose.dose_ratio,
                "pot_life_ratio": dose.pot_life_ratio,
                "cure_ratio": dose.cure_ratio,
                "shore_points": dose.shore_points,
                "tear_ratio": dose.tear_ratio,
                "shrinkage_added": dose.shrinkage_added,
            }
            for dose in material.doses
        ],
        "packs": [{"part_a_g": p.part_a_g, "part_b_g": p.part_b_g, "price": p.price} for p in material.packs],
    }


def pack_table(pack: Pack, material: Material | None, *, today: date) -> Table:
    """One pack on the shelf; `good` is None for a material that is no longer known."""
    until = None if material is None else good_until(pack, material)
    return {
        "pack": pack.id,
        "material": pack.material_id,
        "name": pack.material_id if material is None else material.name,
        "left_a_g": pack.left_a_g,
        "left_b_g": pack.left_b_g,
        "size_a_g": pack.size_a_g,
        "size_b_g": pack.size_b_g,
        "price": pack.price,
        "bought_on": _day(pack.bought_on),
        "opened_on": _day(pack.opened_on),
        "good_until": _day(until),
        "good": None if material is None else is_good(pack, material, today=today),
    }


def stock_line_table(line: StockLine) -> Table:
    """One material of a job against the shelf."""
    return {
        "material": line.material_id,
        "name": line.name,
        "need_a_g": line.need.a_g,
        "need_b_g": line.need.b_g,
        "have_a_g": line.have.a_g,
        "have_b_g": line.have.b_g,
        "enough": line.enough,
        "buy": None
        if line.buy is None
        else {
            "cost": line.buy.cost,
            "packs": [
                {"part_a_g": pack.part_a_g, "part_b_g": pack.part_b_g, "count": count}
                for pack, count in line.buy.packs
            ],
        },
    }


def supply_table(supply: Supply) -> Table:
    """Something to lay out at the bench."""
    return {
        "id": supply.id,
        "name": supply.name,
        "count": supply.count,
        "note": supply.note,
        "never": list(supply.never),
    }


def part_choice_table(part: PartChoice) -> Table:
    """What the shelf says of one part."""
    life = part.mould_life
    return {
        "name": part.name,
        "silicone": None if part.silicone is None else _chosen_table(part.silicone),
        "casting": None if part.casting is None else _chosen_table(part.casting),
        "hardness": str(part.hardness),
        "surface": surface_words(part.surface),
        "stiffness": None if part.stiffness is None else _stiffness_table(part.stiffness),
        "pours": part.pours,
        "rounds": part.rounds,
        "mould_life_shots": None if life is None else [life.low, life.high],
        "stock": [stock_line_table(line) for line in part.stock],
        "findings": [finding.as_table() for finding in part.findings],
        "cautions": cautions_table(part.cautions),
    }


def cautions_table(cautions: Sequence[Caution]) -> list[Table]:
    """Cautions with their limits; the first line says what comes first."""
    first: list[Table] = [{"id": "first", "text": FIRST, "source": None, "limits": []}]
    return first + [
        {
            "id": caution.id,
            "text": caution.text,
            "source": caution.source,
            "limits": [
                {
                    "what": limit.what,
                    "value": limit.value,
                    "unit": limit.unit,
                    "since": _day(limit.since),
                    "until": _day(limit.until),
                    "source": limit.source,
                }
                for limit in caution.limits
            ],
        }
        for caution in cautions
    ]


def _chosen_table(chosen: Chosen) -> Table:
    return {
        "material": chosen.material.id,
        "name": chosen.material.name,
        "why": list(chosen.why),
        "demould_min": chosen.demould_min,
        "ready_min": chosen.ready_min,
        "additives": [{"material": a.material.id, "dose_ratio": a.dose_ratio} for a in chosen.additives],
        "mixes": [{"what": mix.what, "times": mix.times, **mix_table(mix.mix)} for mix in chosen.mixes],
        "steps": [_step_table(step) for step in chosen.steps],
        "pours": [{"what": pour.what, **pour_table(pour.fit)} for pour in chosen.pours],
        "rejected": [
            {"material": one.material_id, "reason": one.reason, "remedy": one.remedy} for one in chosen.rejected
        ],
    }


def _step_table(planned: PlannedStep) -> Table:
    return {
        **step_table(planned.step),
        "before": planned.before,
        "reason": planned.reason,
    }


def _stiffness_table(stiffness: Stiffness) -> Table:
    return {
        "modulus_low_mpa": stiffness.modulus_low_mpa,
        "modulus_high_mpa": stiffness.modulus_high_mpa,
        "deflection_low_mm": stiffness.deflection_low_mm,
        "deflection_high_mm": stiffness.deflection_high_mm,
        "bends_far": stiffness.bends_far,
        "estimate": True,
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
