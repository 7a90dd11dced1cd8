"""The command that works out one mix."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from firstpour.cli import show
from firstpour.cli.numbers import limited
from firstpour.cli.workshop_commands import WorkshopPath
from firstpour.units import chance_words

if TYPE_CHECKING:
    from firstpour.materials.additives import Additive
    from firstpour.materials.catalogue import Catalogue
    from firstpour.materials.cautions import Caution
    from firstpour.materials.material import Material
    from firstpour.mixing.bench_kit import BenchKit, Pace
    from firstpour.mixing.mix import Mix
    from firstpour.mixing.mix_findings import Batch
    from firstpour.mixing.pour import PourFit

AsJson = Annotated[bool, show.JSON_OPTION]
ShelfFolder = Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")]
Ratio = Annotated[float | None, limited(0, 10, "g to 1 g of the part that it counts on.")]


def register(app: typer.Typer) -> None:
    """Attach the command."""
    app.command("mix")(mix)


def mix(
    material: Annotated[str, typer.Argument(help="Id of the silicone or casting material.", show_default=False)],
    volume_ml: Annotated[float, limited(0.001, 1e6, "Volume of all cavities together, in ml.", show_default=False)],
    temperature_c: Annotated[
        float | None, limited(-20, 60, "Temperature of the room, in °C; your workshop's if not given.")
    ] = None,
    accelerator_ratio: Ratio = None,
    colourant_ratio: Ratio = None,
    softener_ratio: Ratio = None,
    additive: Annotated[list[str] | None, typer.Option(help="Another additive as ID=RATIO; repeatable.")] = None,
    cavities: Annotated[int, limited(1, 1000, "How many equal cavities the volume fills; each from one mix.")] = 1,
    section_mm: Annotated[
        float | None, limited(0.01, 10_000, "Thickness of the part, twice its volume over its surface, in mm.")
    ] = None,
    pour_min: Annotated[
        float | None, limited(0.001, 10_000, "What one cavity takes to fill through its gate, in min; see fill.")
    ] = None,
    scale_g: Annotated[float | None, limited(0.0001, 1000, "Smallest step of the scale, in g; likewise.")] = None,
    largest_container_ml: Annotated[
        float | None, limited(1, 1e6, "Largest container there is, in ml; likewise.")
    ] = None,
    loss_ml: Annotated[float | None, limited(0, 1e6, "What stays in the cups; worked out if not given.")] = None,
    vacuum: Annotated[
        bool | None, typer.Option("--vacuum/--no-vacuum", help="The mix is put under vacuum; likewise.")
    ] = None,
    pressure: Annotated[
        bool | None, typer.Option("--pressure/--no-pressure", help="The mould is put under pressure; likewise.")
    ] = None,
    pace: Annotated[str | None, typer.Option(help="practised, steady or unhurried; likewise.")] = None,
    shelf: ShelfFolder = None,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """Work out what to weigh for a volume, and how long it can be poured."""
    from firstpour.choosing.options import slower_like
    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.material_entries import mix_entry, pour_entry
    from firstpour.files.places import existing_shelf
    from firstpour.files.workshop_toml import read_equipment
    from firstpour.mixing.mix import mix_volume
    from firstpour.mixing.pour import pour_fit
    from firstpour.mixing.pour_steps import Pour

    catalogue = load_catalogue(existing_shelf(shelf))
    base = catalogue.get(material)
    ratios = {"accelerator": accelerator_ratio, "colourant": colourant_ratio, "softener": softener_ratio}
    additives = (*_usual(base, catalogue, ratios), *_named(additive or (), catalogue))
    equipment = read_equipment(workshop)
    here_c = equipment.room.temperature_c if temperature_c is None else temperature_c
    own = {
        "scale_step_g": scale_g,
        "largest_container_ml": largest_container_ml,
        "vacuum": vacuum,
        "pressure": pressure,
        "pace": None if pace is None else _pace(pace),
    }
    kit = _kit_with(equipment.kit, own)
    slower = slower_like(base, catalogue)
    made = mix_volume(
        base,
        volume_ml=volume_ml,
        cavities=cavities,
        temperature_c=here_c,
        additives=additives,
        kit=kit,
        loss_ml=loss_ml,
        section_mm=section_mm,
        slower=slower,
    )
    each = made.batch_cavities
    pour = Pour(
        material=base,
        volume_ml=made.batch_ml,
        openings=each,
        additives=additives,
        kit=kit,
        pour_min=None if pour_min is None else pour_min * each,
    )
    fit = pour_fit(pour, temperature_c=here_c, slower=slower)
    if as_json:
        show.print_json({**mix_entry(made).model_dump(mode="json"), "pour": pour_entry(fit)})
    else:
        _show_mix(made, fit)
    show.end(made.findings)


def _usual(base: "Material", catalogue: "Catalogue", ratios: dict[str, float | None]) -> "tuple[Additive, ...]":
    """The additives that the material's own record names, where a ratio is given."""
    from firstpour.errors import BadRequest
    from firstpour.materials.additives import Additive

    named = {"accelerator": base.accelerator, "colourant": base.colourant, "softener": base.softener}
    additives = []
    for what, dose_ratio in ratios.items():
        if dose_ratio is None or dose_ratio == 0:
            continue
        additive_id = named[what]
        if additive_id is None:
            raise BadRequest(
                f"{base.name} has no {what} in its record.", remedy="Name one: --additive ID=RATIO, or leave it out."
            )
        additives.append(Additive(material=catalogue.get(additive_id), dose_ratio=dose_ratio))
    return tuple(additives)


def _named(words: "list[str] | tuple[str, ...]", catalogue: "Catalogue") -> "tuple[Additive, ...]":
    from firstpour.materials.additives import Additive
    from firstpour.units import quantity

    pairs = [word.partition("=") for word in words]
    return tuple(
        Additive(material=catalogue.get(key.strip()), dose_ratio=quantity(value, to="ratio"))
        for key, _, value in pairs
    )


def _kit_with(kit: "BenchKit", own: dict[str, Any]) -> "BenchKit":
    """The workshop's kit with what the options say otherwise."""
    from dataclasses import replace

    return replace(kit, **{key: value for key, value in own.items() if value is not None})


def _pace(word: str) -> "Pace":
    from firstpour.errors import BadRequest
    from firstpour.mixing.bench_kit import Pace

    if word not in list(Pace):
        raise BadRequest(f"no pace is called “{word}”.", remedy=f"Use one of: {', '.join(Pace)}.")
    return Pace(word)


def _show_mix(made: "Mix", fit: "PourFit") -> None:
    into = "the mould" if made.cavities == 1 else f"{made.cavities} cavities"
    show.print_words(f"{made.material.name}: {show.amount(made.volume_ml, 'ml')} into {into}", style="bold")
    _show_weights(made)
    show.print_words(
        f"{made.loss_ml:.1f} ml of it stay in cups and on the stick. The ratio is kept to "
        f"{made.ratio_error_ratio:.2%} (one standard deviation)."
    )
    lots = "" if made.degas_lots == 1 else f" in {made.degas_lots} lots, one after the other,"
    to_degas = "" if made.container_ml == made.cup_ml else f"; to degas{lots} {made.container_ml:.0f} ml"
    show.print_words(f"Cup {made.cup_ml:.0f} ml{to_degas}.")
    _show_times(made)
    _show_pour(fit)
    show.print_findings(made.findings)
    show_cautions(made.cautions)


def _show_weights(made: "Mix") -> None:
    """What goes on the scale; the last row is the sum of those above it, as they are shown."""
    names = ["part A", "part B", *(f"{one.name}, into {one.into.value}" for one in made.batch.additives), "together"]
    columns = {"g" if made.batches == 1 else f"each of {made.batches - made.short_batches}": _column(made.batch)}
    if made.short_batch is not None:
        columns[f"each of {made.short_batches}"] = _column(made.short_batch)
    if made.batches > 1:
        shorts = _column(made.short_batch) if made.short_batch else [0.0] * len(names)
        full = made.batches - made.short_batches
        columns["in all g"] = [
            one * full + less * made.short_batches for one, less in zip(_column(made.batch), shorts, strict=True)
        ]
    places = max(len(f"{g:.8g}".partition(".")[2]) for g in _column(made.batch))
    rows = zip(names, *([f"{g:.{places}f}" for g in column] for column in columns.values()), strict=True)
    fills = "" if made.batches == 1 else f", {made.batch_cavities} cavities a batch"
    short = "" if made.short_batch is None else f" ({made.batch_cavities - 1} a short one)"
    show.print_table(f"Weigh{fills}{short}", ["on the scale", *columns], list(rows))


def _column(batch: "Batch") -> list[float]:
    return [batch.weigh_a_g, batch.weigh_b_g, *(one.weigh_g for one in batch.additives), batch.weigh_g]


def _show_times(made: "Mix") -> None:
    times = made.times
    show.print_words(
        f"At {times.temperature_c:g} °C: pot life of this mix {_time(times.pot_life_min)} (nineteen of twenty last "
        f"{_time(times.pot_life_low_min)}; {_time(times.stated_pot_life_min)} at {times.stated_mass_g:g} g)."
    )
    of_what = "as a block" if times.section_mm is None else f"at a section of {times.section_mm:g} mm"
    full = "" if times.full_cure_min is None else f", full cure after {_time(times.full_cure_min)}"
    show.print_words(f"Demould after {_time(times.demould_min)} {of_what}{full}.")


def _show_pour(fit: "PourFit") -> None:
    from firstpour.mixing.pour import margin_words

    rows = [(step.name.value, f"{step.time.mean_min:.1f}", "yes" if step.on_clock else "no") for step in fit.steps]
    show.print_table("The pour", ["step", "min", "pot life runs"], rows)
    words = chance_words(fit.chance)
    chance = "" if fit.times is None else f" {words[0].upper()}{words[1:]} of such pours end in time (an estimate)."
    show.print_words(margin_words(fit) + chance)
    for number, change in enumerate(fit.changes, start=1):
        show.print_words(f"{number}. {change.text} Then {chance_words(change.chance)}.")


def show_cautions(cautions: "tuple[Caution, ...]") -> None:
    """The cautions, what comes first at the top."""
    from firstpour.materials.cautions import FIRST

    show.print_words("Cautions", style="bold")
    show.print_words(FIRST)
    for caution in cautions:
        show.print_words(f"- {caution.text}")
        for limit in caution.limits:
            show.print_words(f"    {limit} ({limit.source})", style="dim")


def _time(minutes: float) -> str:
    """Minutes as one says them: to a tenth below ten, in hours from two on.

    >>> _time(2.96), _time(45.2), _time(960.0)
    ('3.0 min', '45 min', '16.0 h')
    """
    if minutes < 10:
        return f"{minutes:.1f} min"
    return f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.1f} h"
