"""Commands on the shelf: what there is, what is known of it, what was taken."""

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from firstpour.cli import mix_commands, show

if TYPE_CHECKING:
    from firstpour.shelf.catalogue import Catalogue
    from firstpour.shelf.figures import Origin
    from firstpour.shelf.material import Material
    from firstpour.shelf.stock import Pack

AsJson = Annotated[bool, show.JSON_OPTION]
ShelfFolder = Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")]
MaterialId = Annotated[str, typer.Argument(help="Id of the material.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Attach `mix` and the group `shelf`."""
    mix_commands.register(app)
    shelf = typer.Typer(help="Your materials: what is known of them and what is left.", no_args_is_help=True)
    shelf.command("list")(list_shelf)
    shelf.command("show")(show_material)
    shelf.command("add")(add)
    shelf.command("take")(take)
    shelf.command("count")(count)
    shelf.command("use-up")(use_up)
    app.add_typer(shelf, name="shelf")


def list_shelf(
    everything: Annotated[bool, typer.Option("--all", help="Every material known, also with none left.")] = False,
    kind: Annotated[str | None, typer.Option(help="Only materials of this kind.")] = None,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """What is on the shelf; with --all every material that is known."""
    from firstpour.shelf.tables import material_table, pack_table

    folder, catalogue, packs = _opened(shelf)
    wanted = _kinds(kind)
    today = _now().date()
    packs = tuple(pack for pack in packs if _is_of(pack, kind, catalogue))
    materials = [one for one in catalogue.of_kinds(wanted) if everything or _has(one, packs)]
    if as_json:
        shown = [pack_table(pack, catalogue.materials.get(pack.material_id), today=today) for pack in packs]
        table = {"folder": str(folder), "packs": shown, "materials": [material_table(one) for one in materials]}
        show.print_json(table)
        return
    _show_packs(packs, catalogue)
    if everything:
        rows = [(one.id, one.kind.value, "typical" if one.is_typical else "own figures") for one in materials]
        show.print_table("Materials", ["id", "kind", "figures"], rows)
    elif not packs:
        show.print_words("Nothing is on the shelf yet. firstpour shelf list --all shows what is known;")
        show.print_words("firstpour shelf add MATERIAL --pack “500 g + 500 g” puts a pack on it.")


def show_material(material: MaterialId, shelf: ShelfFolder = None, as_json: AsJson = False) -> None:
    """Everything known of one material: figures with their origin, packs, cautions."""
    from firstpour.shelf.cautions import cautions_for
    from firstpour.shelf.figures import FIGURES
    from firstpour.shelf.new_record import figure_words
    from firstpour.shelf.tables import cautions_table, material_table, pack_table

    _, catalogue, packs = _opened(shelf)
    one = catalogue.get(material)
    own = tuple(pack for pack in packs if pack.material_id == one.id)
    cautions = cautions_for(one.traits)
    if as_json:
        shown = [pack_table(pack, one, today=_now().date()) for pack in own]
        show.print_json({**material_table(one), "stock": shown, "cautions": cautions_table(cautions)})
        return
    show.print_words(f"{one.name} ({one.id}), {one.kind.value}", style="bold")
    if one.note:
        show.print_words(one.note)
    if one.ratio is not None:
        show.print_words(f"Mix ratio 100:{one.ratio.b_per_100_a:.4g} A:B by weight")
    rows = [
        (FIGURES[name].what, figure_words(name, figure), figure.origin.value) for name, figure in one.figures.items()
    ]
    show.print_table("Figures", ["figure", "value", "origin"], rows)
    _show_doses(one)
    _show_packs(own, catalogue)
    mix_commands.show_cautions(cautions)


def add(
    material: Annotated[str, typer.Argument(help="Id of a known material, or a new one.", show_default=False)],
    pack: Annotated[str | None, typer.Option(help="Put a pack on the shelf: “500 g”, or A + B.")] = None,
    packs: Annotated[int, typer.Option(min=1, max=1000, help="How many such packs.")] = 1,
    left: Annotated[str | None, typer.Option(help="What is left in it, if not full.")] = None,
    price: Annotated[float | None, typer.Option(min=0, help="Price of a pack, in your currency.")] = None,
    bought: Annotated[str | None, typer.Option(help="Bought on (YYYY-MM-DD); today if not given.")] = None,
    opened: Annotated[str | None, typer.Option(help="Opened on (YYYY-MM-DD).")] = None,
    like: Annotated[str | None, typer.Option(help="Start a record from this material.")] = None,
    name: Annotated[str | None, typer.Option(help="Name of the material.")] = None,
    set_figure: Annotated[
        list[str] | None, typer.Option("--set", help="A figure: pot_life=“35 min @ 23 °C, 100 g”; repeatable.")
    ] = None,
    ratio: Annotated[str | None, typer.Option(help="Mix ratio: “100:90 by weight”.")] = None,
    origin: Annotated[str, typer.Option(help="Where the figures come from.")] = "data sheet",
    from_file: Annotated[Path | None, typer.Option(help="Take the record from a material file (.toml).")] = None,
    replacing: Annotated[bool, typer.Option("--replace", help="Renew your own record of that id.")] = False,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """Put a pack on the shelf (--pack), or enter a material from its data sheet."""
    if pack is not None:
        _refuse_record_options(like, name, set_figure, ratio, from_file)
        _add_packs(material, pack, packs, left, price, bought, opened, shelf=shelf, as_json=as_json)
        return
    record = _record(material, like, name, set_figure or [], ratio, origin, from_file, shelf, asks=not as_json)
    _save(record, shelf, replacing=replacing, as_json=as_json)


def take(
    material: MaterialId,
    amount: Annotated[str, typer.Argument(help="“250 g” of the mix, or “130 g + 120 g” of A and B.")],
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take some of a material off the shelf, from the opened packs first."""
    from firstpour.shelf import store
    from firstpour.shelf.new_record import amounts_from_words
    from firstpour.shelf.stock import Amount, split_by_ratio

    folder, catalogue, _ = _opened(shelf)
    one = catalogue.get(material)
    amounts = amounts_from_words(amount)
    wanted = split_by_ratio(one, amounts[0]) if len(amounts) == 1 else Amount(a_g=amounts[0], b_g=amounts[1])
    changed = store.take(folder, one, wanted, at=_now())
    _show_changed(changed, catalogue, as_json=as_json)


def count(
    material: MaterialId,
    left: Annotated[str, typer.Argument(help="What is left: “320 g”, or “320 g + 290 g” of A and B.")],
    pack: Annotated[int | None, typer.Option(help="Which pack, where there are several.")] = None,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """Set what was counted or weighed as left in a pack."""
    from firstpour.shelf import store
    from firstpour.shelf.stock import Amount

    folder, catalogue, packs = _opened(shelf)
    one = catalogue.get(material)
    chosen = _one_pack(one, packs, pack)
    a_g, b_g = _two_amounts(one, left)
    changed = store.count(folder, chosen.id, left=Amount(a_g=a_g, b_g=b_g), at=_now())
    _show_changed((changed,), catalogue, as_json=as_json)


def use_up(
    volume_ml: Annotated[list[float], typer.Option(help="Silicone of a mould piece, in ml; once for each piece.")],
    master: Annotated[str, typer.Option(help="How the master is printed: filament or vat.")] = "vat",
    sealed: Annotated[bool, typer.Option("--sealed", help="The master is sealed.")] = False,
    cubes_ml: Annotated[float, typer.Option(help="Cured silicone that may be cut into cubes, in ml.")] = 0.0,
    contour_ml: Annotated[
        list[float] | None, typer.Option(help="The same pieces in a contour box, in ml; once for each.")
    ] = None,
    shelf: ShelfFolder = None,
    as_json: AsJson = False,
) -> None:
    """What a mould could be made from with what is left over."""
    from firstpour.shelf.material import SILICONES
    from firstpour.shelf.use_up import left_overs
    from firstpour.shelf.use_up import use_up as ways_to_use_up

    _, catalogue, packs = _opened(shelf)
    today = _now().date()
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


def _opened(shelf: Path | None) -> "tuple[Path, Catalogue, tuple[Pack, ...]]":
    from firstpour.shelf.catalogue import load_catalogue
    from firstpour.shelf.folder import shelf_folder
    from firstpour.shelf.store import load_stock

    folder = shelf_folder(shelf)
    return folder, load_catalogue(folder), load_stock(folder)


def _now() -> Any:
    from datetime import datetime

    return datetime.now()


def _kinds(word: str | None) -> Any:
    from firstpour.errors import BadRequest
    from firstpour.shelf.material import Kind

    if word is None:
        return tuple(Kind)
    if word not in list(Kind):
        raise BadRequest(f"no kind is called “{word}”.", remedy=f"Use one of: {', '.join(Kind)}.")
    return (Kind(word),)


def _is_of(pack: "Pack", kind: str | None, catalogue: "Catalogue") -> bool:
    """Whether a pack holds that kind of material; one of no known material only where no kind is asked."""
    material = catalogue.materials.get(pack.material_id)
    return kind is None or (material is not None and material.kind == kind)


def _has(material: "Material", packs: "tuple[Pack, ...]") -> bool:
    return any(pack.material_id == material.id for pack in packs)


def _show_packs(packs: "tuple[Pack, ...]", catalogue: "Catalogue") -> None:
    from firstpour.shelf.tables import pack_table

    today = _now().date()
    rows = []
    for pack in packs:
        table = pack_table(pack, catalogue.materials.get(pack.material_id), today=today)
        left = f"{pack.left_a_g:.0f} + {pack.left_b_g:.0f}" if pack.size_b_g else f"{pack.left_a_g:.0f}"
        state = {True: "good", False: "out of date", None: "unknown material"}[table["good"]]
        rows.append((str(table["name"]), str(pack.id), left, table["good_until"] or "-", state))
    show.print_table("On the shelf", ["material", "pack", "left g", "good until", ""], rows)


def _show_doses(material: "Material") -> None:
    rows = [
        (f"{dose.dose_ratio:g}", f"{dose.pot_life_ratio:g}", f"{dose.cure_ratio:g}", f"{dose.shore_points:g}")
        for dose in material.doses
    ]
    title = f"Doses, g to 1 g of {material.counts_on}"
    show.print_table(title, ["dose", "pot life ×", "cure ×", "Shore points"], rows)


def _show_changed(changed: "tuple[Pack, ...]", catalogue: "Catalogue", *, as_json: bool) -> None:
    from firstpour.shelf.tables import pack_table

    if as_json:
        today = _now().date()
        rows = [pack_table(pack, catalogue.materials.get(pack.material_id), today=today) for pack in changed]
        show.print_json({"packs": rows})
        return
    _show_packs(changed, catalogue)


def _refuse_record_options(*given: object) -> None:
    from firstpour.errors import BadRequest

    if any(option for option in given):
        raise BadRequest(
            "--pack puts packs on the shelf; --like, --name, --set, --ratio and --from-file enter a material.",
            remedy="Do the two one after the other.",
        )


def _add_packs(
    material: str,
    pack: str,
    packs: int,
    left: str | None,
    price: float | None,
    bought: str | None,
    opened: str | None,
    *,
    shelf: Path | None,
    as_json: bool,
) -> None:
    from firstpour.shelf import store
    from firstpour.shelf.stock import Pack

    folder, catalogue, _ = _opened(shelf)
    one = catalogue.get(material)
    size_a_g, size_b_g = _two_amounts(one, pack)
    left_a_g, left_b_g = (size_a_g, size_b_g) if left is None else _two_amounts(one, left)
    now = _now()
    new = Pack(
        id=0,
        material_id=one.id,
        size_a_g=size_a_g,
        left_a_g=left_a_g,
        size_b_g=size_b_g,
        left_b_g=left_b_g,
        price=price,
        bought_on=now.date() if bought is None else _day(bought),
        opened_on=None if opened is None else _day(opened),
    )
    _show_changed(store.add_packs(folder, [new] * packs, at=now), catalogue, as_json=as_json)


def _two_amounts(material: "Material", words: str) -> tuple[float, float]:
    """A and B as typed; a single material has only the first."""
    from firstpour.errors import BadRequest
    from firstpour.shelf.new_record import amounts_from_words

    amounts = amounts_from_words(words)
    two_parts = material.ratio is not None
    if two_parts != (len(amounts) == 2):
        example = "“500 g + 450 g”, A and B" if two_parts else "one amount, e.g. “500 g”"
        raise BadRequest(f"“{words}” for {material.name}.", remedy=f"Write {example}.")
    return amounts[0], amounts[1] if two_parts else 0.0


def _one_pack(material: "Material", packs: "tuple[Pack, ...]", wanted: int | None) -> "Pack":
    from firstpour.errors import BadRequest

    own = [pack for pack in packs if pack.material_id == material.id and wanted in (None, pack.id)]
    if len(own) == 1:
        return own[0]
    if not own:
        raise BadRequest(f"no such pack of {material.name} is on the shelf.", remedy="See: firstpour shelf list.")
    numbers = ", ".join(str(pack.id) for pack in own)
    raise BadRequest(f"there are {len(own)} packs of {material.name}.", remedy=f"Say which: --pack {numbers}.")


def _day(words: str) -> Any:
    from datetime import date

    from firstpour.errors import BadRequest

    try:
        return date.fromisoformat(words)
    except ValueError as error:
        raise BadRequest(f"“{words}” is no date.", remedy="Write it as 2026-03-31.") from error


def _record(
    material: str,
    like: str | None,
    name: str | None,
    set_figure: list[str],
    ratio: str | None,
    origin: str,
    from_file: Path | None,
    shelf: Path | None,
    *,
    asks: bool,
) -> "Material":
    from firstpour.errors import BadRequest
    from firstpour.shelf.new_record import record_like

    if from_file is not None:
        return _record_from_file(from_file, material)
    _, catalogue, _ = _opened(shelf)
    if like is None and material not in catalogue.materials:
        raise BadRequest(
            f"“{material}” is new: nothing is known of its kind.",
            remedy="Name a material like it: --like ID (see firstpour shelf list --all).",
        )
    base = catalogue.get(material if like is None else like)
    words = dict(_pair(text) for text in set_figure)
    if asks and not words and ratio is None and at_a_screen():
        words, ratio = _asked(base)
    if not words and ratio is None:
        raise BadRequest("no figure is given.", remedy="Give some: --set pot_life=“35 min @ 23 °C, 100 g”.")
    return record_like(base, material_id=material, name=name, words=words, ratio=ratio, origin=_origin(origin))


def _record_from_file(path: Path, material: str) -> "Material":
    from firstpour.errors import BadRequest
    from firstpour.shelf.material_file import read_material

    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadRequest(
            f"{path} cannot be read: {error}.", remedy="Name a material file (.toml) in UTF-8."
        ) from error
    record = read_material(text, source=path.name)
    if record.id != material:
        raise BadRequest(f"{path.name} holds “{record.id}”, not “{material}”.", remedy="Give the id that it holds.")
    return record


def at_a_screen() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty()


def _asked(base: "Material") -> tuple[dict[str, str], str | None]:
    """Ask for every figure that a material of this kind has; Enter keeps what is shown, with its origin."""
    from firstpour.shelf.figures import FIGURES
    from firstpour.shelf.new_record import figure_from_words, figure_words, ratio_from_words

    show.print_words("Type each figure from the data sheet with its unit; Enter keeps what is shown.")
    ratio = None
    if base.ratio is not None:
        kept = f"100:{base.ratio.b_per_100_a:.4g} by weight"
        answer = _asked_until("mix ratio A:B", kept, ratio_from_words)
        ratio = None if answer == kept else answer
    words = {}
    for name, figure in base.figures.items():
        kept = figure_words(name, figure)
        answer = _asked_until(
            FIGURES[name].what, kept, partial(figure_from_words, name, like=figure, origin=figure.origin)
        )
        if answer != kept:
            words[name.value] = answer
    return words, ratio


def _asked_until(what: str, kept: str, check: "Callable[[str], object]") -> str:
    """Ask until the answer can be read: a slip of the pen costs nothing that was typed before."""
    from firstpour.errors import WorkshopError

    while True:
        answer: str = typer.prompt(what, default=kept)
        try:
            check(answer)
        except WorkshopError as error:
            show.print_words(f"{error.problem} {error.remedy}")
        else:
            return answer


def _pair(text: str) -> tuple[str, str]:
    from firstpour.errors import BadRequest

    key, equals, value = text.partition("=")
    if not equals:
        raise BadRequest(f"“{text}” sets nothing.", remedy="Write --set KEY=VALUE, e.g. pot_life=“35 min”.")
    return key.strip(), value.strip()


def _origin(word: str) -> "Origin":
    from firstpour.errors import BadRequest
    from firstpour.shelf.figures import Origin

    if word not in list(Origin):
        raise BadRequest(f"no origin is called “{word}”.", remedy=f"Use one of: {', '.join(Origin)}.")
    return Origin(word)


def _save(record: "Material", shelf: Path | None, *, replacing: bool, as_json: bool) -> None:
    from firstpour.shelf.catalogue import save_record
    from firstpour.shelf.folder import shelf_folder
    from firstpour.shelf.tables import material_table

    path = save_record(shelf_folder(shelf), record, replacing=replacing)
    if as_json:
        show.print_json({"file": str(path), **material_table(record)})
        return
    show.print_words(f"Entered {record.name} ({record.id}) in {path}.")


def _pieces(volumes_ml: list[float]) -> dict[str, float]:
    from firstpour.errors import BadRequest

    if not all(0 < volume < 1e6 for volume in volumes_ml):
        raise BadRequest(f"volumes of {volumes_ml} ml.", remedy="Give each piece a volume above zero.")
    return {f"piece {number}": volume for number, volume in enumerate(volumes_ml, start=1)}


def _surface(master: str, *, sealed: bool) -> frozenset[str]:
    from firstpour.errors import BadRequest
    from firstpour.shelf.choice import SURFACES, MasterProcess

    if master not in list(MasterProcess):
        raise BadRequest(
            f"no printing process is called “{master}”.", remedy=f"Use one of: {', '.join(MasterProcess)}."
        )
    return SURFACES[MasterProcess(master)] | (frozenset({"sealed"}) if sealed else frozenset())
