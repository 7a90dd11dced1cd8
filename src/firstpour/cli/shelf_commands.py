"""Commands on the shelf: what there is, what is known of it, what was taken."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import mix_commands, packs_shown, record_commands, show
from firstpour.cli.numbers import limited

if TYPE_CHECKING:
    from firstpour.materials.catalogue import Catalogue
    from firstpour.materials.material import Kind, Material
    from firstpour.stock.stock import Pack

AsJson = Annotated[bool, show.JSON_OPTION]
ShelfFolder = Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")]
MOST_ID = 10**9
MaterialId = Annotated[str, typer.Argument(help="Id of the material.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Attach `mix` and the group `shelf`."""
    mix_commands.register(app)
    shelf = typer.Typer(help="Your materials: what is known of them and what is left.", no_args_is_help=True)
    shelf.command("list")(list_shelf)
    shelf.command("show")(show_material)
    shelf.command("add")(record_commands.add)
    shelf.command("take")(take)
    shelf.command("count")(count)
    shelf.command("remove")(remove)
    shelf.command("use-up")(use_up)
    app.add_typer(shelf, name="shelf")


def list_shelf(
    everything: Annotated[bool, typer.Option("--all", help="Every material known, also with none left.")] = False,
    kind: Annotated[
        str | None, typer.Option(help="Only this kind: “platinum cure”, “urethane rubber”, pigment, …")
    ] = None,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """What is on the shelf; with --all every material that is known."""
    from firstpour.files.material_entries import material_entry, pack_entry

    folder, catalogue, packs = packs_shown.opened(shelf)
    wanted = _kinds(kind)
    today = packs_shown.now().date()
    packs = tuple(pack for pack in packs if _is_of(pack, wanted, catalogue))
    materials = [one for one in catalogue.of_kinds(wanted) if everything or _has(one, packs)]
    if as_json:
        shown = [pack_entry(pack, catalogue.materials.get(pack.material_id), today=today) for pack in packs]
        table = {"folder": str(folder), "packs": shown, "materials": [material_entry(one) for one in materials]}
        show.print_json(table)
        return
    packs_shown.show_packs(packs, catalogue)
    if everything:
        rows = [(one.id, one.kind.value, "typical" if one.is_typical else "own figures") for one in materials]
        show.print_table("Materials", ["id", "kind", "figures"], rows)
    elif not packs:
        show.print_words("Nothing is on the shelf yet. firstpour shelf list --all shows what is known;")
        show.print_words("firstpour shelf add MATERIAL --pack “500 g + 500 g” puts a pack on it.")


def show_material(material: MaterialId, shelf: ShelfFolder = None, as_json: AsJson = False) -> None:
    """Everything known of one material: figures with their origin, packs, cautions."""
    from firstpour.files.material_entries import caution_entries, material_entry, pack_entry
    from firstpour.materials.cautions import cautions_for
    from firstpour.materials.figures import FIGURES
    from firstpour.materials.new_record import figure_words, range_words

    _, catalogue, packs = packs_shown.opened(shelf)
    one = catalogue.get(material)
    own = tuple(pack for pack in packs if pack.material_id == one.id)
    cautions = cautions_for(one.traits)
    if as_json:
        shown = [pack_entry(pack, one, today=packs_shown.now().date()) for pack in own]
        show.print_json(
            {**material_entry(one).model_dump(mode="json"), "stock": shown, "cautions": caution_entries(cautions)}
        )
        return
    show.print_words(f"{one.name} ({one.id}), {one.kind.value}", style="bold")
    if one.note:
        show.print_words(one.note)
    if one.ratio is not None:
        by_volume = one.ratio.by_volume_b_per_100_a
        also = "" if by_volume is None else f", 100:{by_volume:.4g} by volume"
        show.print_words(f"Mix ratio 100:{one.ratio.b_per_100_a:.4g} A:B by weight{also}")
    rows = [
        (FIGURES[name].what, figure_words(name, figure), range_words(name, figure), figure.origin.value)
        for name, figure in one.figures.items()
    ]
    show.print_table("Figures", ["figure", "value", "range", "origin"], rows)
    _show_doses(one)
    packs_shown.show_packs(own, catalogue)
    mix_commands.show_cautions(cautions)


def take(
    material: MaterialId,
    amount: Annotated[str, typer.Argument(help="“250 g” of the mix, or “130 g + 120 g” of A and B.")],
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take some of a material off the shelf, from the opened packs first."""
    from firstpour.files.places import store_place
    from firstpour.materials.amounts import grams_said
    from firstpour.stock.stock import Amount
    from firstpour.store import stock_rows

    folder, catalogue, _ = packs_shown.opened(shelf)
    one = catalogue.get(material)
    grams = grams_said(amount, one)
    wanted = Amount(a_g=grams.a_g, b_g=grams.b_g)
    changed = stock_rows.take(store_place(folder), one, wanted, at=packs_shown.now())
    packs_shown.show_changed(changed, catalogue, as_json=as_json)


def count(
    material: MaterialId,
    left: Annotated[str, typer.Argument(help="What is left: “320 g”, or “320 g + 290 g” of A and B.")],
    pack: Annotated[int | None, limited(1, MOST_ID, "Which pack, where there are several.")] = None,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """Set what was counted or weighed as left in a pack."""
    from firstpour.files.places import store_place
    from firstpour.materials.amounts import grams_said
    from firstpour.stock.stock import Amount
    from firstpour.store import stock_rows

    folder, catalogue, packs = packs_shown.opened(shelf)
    one = catalogue.get(material)
    chosen = _one_pack(one, packs, pack)
    grams = grams_said(left, one)
    held = Amount(a_g=grams.a_g, b_g=grams.b_g)
    changed = stock_rows.count(store_place(folder), chosen.id, left=held, at=packs_shown.now())
    packs_shown.show_changed((changed,), catalogue, as_json=as_json)


def remove(
    pack: Annotated[int, typer.Argument(min=1, max=MOST_ID, help="Number of the pack; see shelf list.")],
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take a pack out of the stock: thrown away, given away or entered by mistake."""
    from firstpour.files.places import existing_shelf, store_place
    from firstpour.store import stock_rows

    stock_rows.remove(store_place(existing_shelf(shelf)), pack, at=packs_shown.now())
    if as_json:
        show.print_json({"removed": pack})
    else:
        show.print_words(f"Pack {pack} is out of the stock.")


def use_up(
    volume_ml: Annotated[list[float], limited(0.001, 1e6, "Silicone of a mould piece, in ml; once for each piece.")],
    master: Annotated[str, typer.Option(help="How the master is printed: filament or vat.")] = "vat",
    sealed: Annotated[bool, typer.Option("--sealed", help="The master is sealed.")] = False,
    cubes_ml: Annotated[float, limited(0, 1e6, "Cured silicone that may be cut into cubes, in ml.")] = 0.0,
    contour_ml: Annotated[
        list[float] | None, limited(0.001, 1e6, "The same pieces in a contour box, in ml; once for each.")
    ] = None,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """What a mould could be made from with what is left over."""
    from firstpour.materials.material import SILICONES
    from firstpour.stock.use_up import left_overs
    from firstpour.stock.use_up import use_up as ways_to_use_up

    _, catalogue, packs = packs_shown.opened(shelf)
    today = packs_shown.now().date()
    pieces, contour = _pieces(volume_ml), None if contour_ml is None else _pieces(contour_ml)
    ways = ways_to_use_up(
        packs,
        catalogue,
        pieces_ml=pieces,
        surface=_surface(master, sealed=sealed),
        today=today,
        cubes_ml=cubes_ml,
        contour_ml=contour,
    )
    left = left_overs(packs, catalogue, kinds=SILICONES, today=today)
    if as_json:
        show.print_json(
            {
                "left": [
                    {"material": one.material.id, "left_g": one.left_g, "fills_ml": one.fills_ml} for one in left
                ],
                "ways": ways,
            }
        )
        return
    rows = [(one.material.name, f"{one.left_g:.0f}", f"{one.fills_ml:.0f}") for one in left]
    show.print_table("Silicone left", ["material", "g", "fills ml"], rows)
    for number, way in enumerate(ways, start=1):
        show.print_words(f"Way {number}: {way.saves}", style="bold")
        for piece in way.pieces:
            name = catalogue.get(piece.silicone_id).name
            show.print_words(f"- {piece.piece}: {piece.volume_ml:.0f} ml of {name}")
        for step in way.steps:
            show.print_words(f"  First: {step}")
    if not ways:
        show.print_words("Not enough silicone that will do is left for these pieces.")


def _kinds(word: str | None) -> "tuple[Kind, ...]":
    from firstpour.materials.material import Kind
    from firstpour.materials.said import kind_of

    return tuple(Kind) if word is None else (kind_of(word),)


def _is_of(pack: "Pack", kinds: "tuple[Kind, ...]", catalogue: "Catalogue") -> bool:
    """Whether a pack holds one of these kinds; one of no known material only where every kind is asked for."""
    from firstpour.materials.material import Kind

    material = catalogue.materials.get(pack.material_id)
    return len(kinds) == len(Kind) if material is None else material.kind in kinds


def _has(material: "Material", packs: "tuple[Pack, ...]") -> bool:
    return any(pack.material_id == material.id for pack in packs)


def _show_doses(material: "Material") -> None:
    rows = [
        (f"{dose.dose_ratio:g}", f"{dose.pot_life_ratio:g}", f"{dose.cure_ratio:g}", f"{dose.shore_points:g}")
        for dose in material.doses
    ]
    title = f"Doses, g to 1 g of {material.counts_on}"
    show.print_table(title, ["dose", "pot life ×", "cure ×", "Shore points"], rows)


def _one_pack(material: "Material", packs: "tuple[Pack, ...]", wanted: int | None) -> "Pack":
    from firstpour.errors import BadRequest

    own = [pack for pack in packs if pack.material_id == material.id and wanted in (None, pack.id)]
    if len(own) == 1:
        return own[0]
    if not own:
        raise BadRequest(f"no such pack of {material.name} is on the shelf.", remedy="See: firstpour shelf list.")
    numbers = ", ".join(str(pack.id) for pack in own)
    raise BadRequest(f"there are {len(own)} packs of {material.name}.", remedy=f"Say which: --pack {numbers}.")


def _pieces(volumes_ml: list[float]) -> dict[str, float]:
    from firstpour.errors import BadRequest

    if not all(0 < volume < 1e6 for volume in volumes_ml):
        raise BadRequest(f"volumes of {volumes_ml} ml.", remedy="Give each piece a volume above zero.")
    return {f"piece {number}": volume for number, volume in enumerate(volumes_ml, start=1)}


def _surface(master: str, *, sealed: bool) -> frozenset[str]:
    from firstpour.choosing.need import SURFACES
    from firstpour.errors import BadRequest
    from firstpour.printing.printers import Process

    if master not in list(Process):
        raise BadRequest(f"no printing process is called “{master}”.", remedy=f"Use one of: {', '.join(Process)}.")
    return SURFACES[Process(master)] | (frozenset({"sealed"}) if sealed else frozenset())
