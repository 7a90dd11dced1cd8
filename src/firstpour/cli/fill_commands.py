"""The `fill` command: trapped air, gate, vents and the ranked pour directions."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.numbers import limited
from firstpour.errors import BadRequest
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.fill.channels import ChannelPlan
    from firstpour.fill.flow import Flow, Liquid
    from firstpour.fill.values import Pour
    from firstpour.materials.material import Material
    from firstpour.part.part import Part
    from firstpour.values import FloatArray

SHOWN = 5


def register(app: typer.Typer) -> None:
    """Attach the command."""
    app.command("fill")(fill)


def fill(
    part: Annotated[Path, typer.Argument(help="The part: STL, OBJ, PLY, 3MF or GLB.", show_default=False)],
    up: Annotated[
        str | None, typer.Option(help="Side up for the pour, x,y,z; without it the directions are ranked.")
    ] = None,
    gate: Annotated[
        list[str] | None,
        typer.Option(help="Place of a gate (pour hole), x,y,z in mm, may be given again; else chosen."),
    ] = None,
    vent: Annotated[list[str] | None, typer.Option(help="Place of a vent, x,y,z in mm; may be given again.")] = None,
    draw: Annotated[
        str | None, typer.Option(help="Draw direction of the mould, x,y,z; the box stands across it.")
    ] = None,
    passage_mm: Annotated[float, limited(0, 100, "A passage narrower than this lets no air through.")] = 0.0,
    directions: Annotated[int, limited(6, 20_000, "How many pour directions to compare.")] = 500,
    resolution: Annotated[int, limited(16, 1024, "Lines of the grid on the longer side.")] = 256,
    viscosity_pa_s: Annotated[
        float | None, limited(1e-4, 10_000, "Viscosity of the mix; asks for the flow, too.")
    ] = None,
    material: Annotated[
        str | None, typer.Option(help="Id of the casting material, in place of viscosity, density and times.")
    ] = None,
    temperature_c: Annotated[float, limited(-20, 60, "Temperature of the room, in °C, with --material.")] = 23.0,
    shelf: Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")] = None,
    density_g_ml: Annotated[float, limited(0.05, 25, "Density of the mix.")] = 1.05,
    thickens_min: Annotated[
        float, limited(0.01, 10_000, "Time in which the mix grows about 2.7 times as thick.")
    ] = 10.0,
    left_min: Annotated[float, limited(0.01, 10_000, "What is left of the pot life when the pour begins.")] = 5.0,
    head_mm: Annotated[float, limited(0.1, 5000, "Head of material above the cavity.")] = 60.0,
    gate_radius_mm: Annotated[float, limited(0.1, 100, "Radius of the gate at the part.")] = 3.0,
    pot_kpa: Annotated[
        float, limited(0, 1000, "What the gauge of the pressure pot shows; keep to the pot's rating.")
    ] = 0.0,
    units: Annotated[
        LengthUnit, typer.Option(help="Unit of the file, where it does not say its own.")
    ] = LengthUnit.MM,
    out: Annotated[Path | None, typer.Option(help="Folder for a picture and an animation of the filling.")] = None,
    as_json: Annotated[bool, show.JSON_OPTION] = False,
) -> None:
    """Find trapped air, gate and vents for a pour; without --up, rank the pour directions."""
    from firstpour.files.fill_entries import fill_entry, flow_entry, pour_direction_entry
    from firstpour.fill.breathing import Mix, mix_of
    from firstpour.fill.channels import ChannelSizes, propose_channels
    from firstpour.fill.flow import Liquid
    from firstpour.fill.pour import rank_pours
    from firstpour.part.read import read_likely_part

    read = read_likely_part(part, unit=units)
    drawn = None if draw is None else _direction(draw, option="--draw")
    if up is None:
        pours = rank_pours(read, draw=drawn, directions=directions)
        if as_json:
            show.print_json({"directions": [pour_direction_entry(pour) for pour in pours]})
        else:
            show.print_lines(pours_in_words(part.name, pours))
        return
    liquid, mix = None, None
    if viscosity_pa_s is not None:
        mix = Mix(viscosity_pa_s=viscosity_pa_s, density_g_ml=density_g_ml)
        liquid = Liquid(viscosity_pa_s=viscosity_pa_s, density_g_ml=density_g_ml, rise_s=60.0 * thickens_min)
    elif material is not None:
        cast = _material(material, shelf)
        mix = mix_of(cast)
        liquid, left_min = _poured(cast, read, temperature_c=temperature_c)
    plan = propose_channels(
        read,
        up=_direction(up, option="--up"),
        draw=drawn,
        gates_mm=tuple(_place(text, option="--gate") for text in gate or []),
        vents_mm=tuple(_place(text, option="--vent") for text in vent or []),
        passage_mm=passage_mm,
        resolution=resolution,
        sizes=ChannelSizes(gate_radius_mm=gate_radius_mm),
        mix=mix,
    )
    flow = None
    if liquid is not None:
        flow = _flow(read, plan, liquid, left_min, head_mm, gate_radius_mm, 1e3 * pot_kpa)
    findings = (*read.findings, *plan.findings, *(flow.findings if flow else ()))
    written = _pictures(plan, out, part.stem)
    if as_json:
        flows = {} if flow is None else {"flow": flow_entry(flow)}
        show.print_json({**fill_entry(plan).model_dump(mode="json"), "findings": findings, **flows})
    else:
        show.print_lines(fill_in_words(part.name, plan, flow, written))
        if pot_kpa > 0:
            show.print_lines([pot_in_words(plan, 1e3 * pot_kpa)])
        show.print_findings(findings)
    show.end(findings)


def _direction(words: str, *, option: str) -> "FloatArray":
    import numpy as np

    return np.array(show.direction_from(words, option=option))


def _place(words: str, *, option: str) -> "FloatArray":
    import numpy as np

    return np.array(show.numbers_from(words, option=option))


def _material(material_id: str, shelf: Path | None) -> "Material":
    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.places import existing_shelf

    return load_catalogue(existing_shelf(shelf)).get(material_id)


def _poured(material: "Material", part: "Part", *, temperature_c: float) -> "tuple[Liquid, float]":
    """The material as it goes in, mixed for this part alone, and the minutes its clock leaves for the pour."""
    from firstpour.fill.flow import liquid_of
    from firstpour.mixing.pour import pour_fit
    from firstpour.mixing.pour_steps import Pour
    from firstpour.units import ml_from_mm3
    from firstpour.values import mesh_volume_mm3

    pour = Pour(material=material, volume_ml=ml_from_mm3(mesh_volume_mm3(part.mesh)))
    fit = pour_fit(pour, temperature_c=temperature_c)
    liquid = liquid_of(material, fit)
    if liquid is None or fit.left_for_pour_min <= 0:
        problem = fit.problem or f"{material.name}: no viscosity is known, or its pot life is over before the pour."
        raise BadRequest(problem, remedy=fit.remedy or "Give --viscosity-pa-s and --left-min, or a slower material.")
    return liquid, fit.left_for_pour_min


def _flow(
    part: "Part", plan: "ChannelPlan", liquid: "Liquid", left_min: float, head_mm: float, radius_mm: float,
    pot_gauge_pa: float,
) -> "Flow":  # fmt: skip
    from firstpour.fill.flow import pour_flow
    from firstpour.fill.flow_remedies import WIDEST_GATE_MM

    length_mm, widest_mm = 8.0, WIDEST_GATE_MM
    if plan.gate is not None:
        length_mm = plan.gate.straight_length_mm
        radius_mm = plan.gate.radius_start_mm
        widest_mm = plan.widest_gate_mm
    up = plan.vented.up
    return pour_flow(
        part,
        up=(float(up[0]), float(up[1]), float(up[2])),
        liquid=liquid,
        gate_radius_mm=radius_mm,
        gate_length_mm=max(length_mm, 4 * radius_mm),
        head_mm=head_mm,
        time_left_s=60.0 * left_min,
        pot_gauge_pa=pot_gauge_pa,
        widest_gate_mm=widest_mm,
    )


def _pictures(plan: "ChannelPlan", out: Path | None, name: str) -> list[Path]:
    if out is None:
        return []
    from firstpour.pictures.fill_picture import save_fill

    return list(save_fill(plan.vented, out, name=name))


def pours_in_words(name: str, pours: "tuple[Pour, ...]") -> list[str]:
    """The best pour directions, a few lines each."""
    lines = [f"{name}: {len(pours)} pour directions compared, the best first"]
    shown = list(range(min(SHOWN, len(pours))))
    kinds = {pours[k].kind for k in shown}
    shown += [next(k for k, p in enumerate(pours) if p.kind is kind) for kind in {p.kind for p in pours} - kinds]
    for k in sorted(shown):
        pour = pours[k]
        direction = ",".join(f"{value:.3f}".rstrip("0").rstrip(".") for value in pour.up + 0.0)
        lines.append(f"  {k + 1}. --up {direction}")
        lines.append("     " + "; ".join(pour.reasons))
    return lines


def fill_in_words(name: str, plan: "ChannelPlan", flow: "Flow | None", written: list[Path]) -> list[str]:
    """The filling in short lines."""
    alone, vented = plan.gate_alone, plan.vented
    lines = [
        name,
        f"  gate           {spot(alone.gate_mm)} mm" + (f", {plan.gate.reason}" if plan.gate else ""),
        f"  air, gate only {alone.trapped_mm3:.1f} mm³ in {len(alone.pockets)} pockets",
    ]
    lines += [f"  vent           {spot(vent.at_mm)} mm, {vent.reason}" for vent in plan.vents]
    lines.append(f"  air, vented    {vented.trapped_mm3:.1f} mm³")
    lines.append(
        f"  grid           lines {vented.pitch_mm:.2f} mm apart; {vented.unresolved} shallow pockets below it"
    )
    if flow is not None:
        time = "never" if flow.fill_s is None else f"{flow.fill_s / 60:.1f} min"
        lines.append(f"  fills in       {time} of the {flow.time_left_s / 60:.1f} min left")
        lines.append(f"  resistance     {flow.cavity_share:.0%} of it is the cavity's own, the rest the gate's")
        pressed = f"; the pot presses the others below {flow.smallest_left_mm:.2f} mm"
        shown = "" if flow.smallest_left_mm == flow.smallest_escaping_mm else pressed
        lines.append(f"  bubbles        those above {flow.smallest_escaping_mm:.2f} mm rise out in time{shown}")
    lines += [f"  written        {path}" for path in written]
    return lines


def pot_in_words(plan: "ChannelPlan", pot_gauge_pa: float) -> str:
    """The air that stays, once the pot is up: it shrinks and stays."""
    from firstpour.fill.flow import pressed_pockets_mm3

    left_mm3 = pressed_pockets_mm3(plan.vented, gauge_pa=pot_gauge_pa)
    return f"  in the pot     {left_mm3:.1f} mm³ of that air at {pot_gauge_pa / 1e3:g} kPa gauge"


def spot(at_mm: "FloatArray") -> str:
    """A place, to a tenth of a millimetre."""
    return ",".join(f"{value:.1f}" for value in at_mm + 0.0)
