"""The command that puts packs on the shelf or enters a material from its data sheet."""

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from firstpour.cli import packs_shown, show
from firstpour.cli.numbers import limited
from firstpour.materials.figures import FigureName

if TYPE_CHECKING:
    from firstpour.materials.figures import Origin
    from firstpour.materials.material import Material

AsJson = Annotated[bool, show.JSON_OPTION]
KEYS = f"{', '.join(FigureName)}; or as sheets say: specific gravity, hardness=“Shore 30A”, working time"
ShelfFolder = Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")]


def add(
    material: Annotated[str, typer.Argument(help="Id of a known material, or a new one.", show_default=False)],
    pack: Annotated[
        str | None, typer.Option(help="Put a pack on the shelf: “500 g”, A + B, “1 l + 100 ml”, “1 kg kit”.")
    ] = None,
    packs: Annotated[int, limited(1, 1000, "How many such packs.")] = 1,
    left: Annotated[str | None, typer.Option(help="What is left in it, if not full.")] = None,
    price: Annotated[float | None, limited(0, 1e6, "Price of a pack, in your currency.")] = None,
    bought: Annotated[str | None, typer.Option(help="Bought on (YYYY-MM-DD); today if not given.")] = None,
    opened: Annotated[str | None, typer.Option(help="Opened on (YYYY-MM-DD).")] = None,
    like: Annotated[str | None, typer.Option(help="Start a record from this material.")] = None,
    name: Annotated[str | None, typer.Option(help="Name of the material.")] = None,
    set_figure: Annotated[
        list[str] | None,
        typer.Option("--set", help=f"A figure: “pot_life=35 min @ 23 °C, 100 g”; repeatable. Keys: {KEYS}."),
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
    from firstpour.files.places import store_place
    from firstpour.stock.said import pack_said
    from firstpour.store import stock_rows

    folder, catalogue, _ = packs_shown.opened_or_new(shelf)
    one = catalogue.get(material)
    now = packs_shown.now()
    new = pack_said(
        one,
        size=pack,
        left=left,
        price=price,
        bought_on=None if bought is None else _day(bought),
        opened_on=None if opened is None else _day(opened),
        today=now.date(),
    )
    packs_shown.show_changed(
        stock_rows.add_packs(store_place(folder), [new] * packs, at=now), catalogue, as_json=as_json
    )


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
    from firstpour.materials.new_record import record_like

    if from_file is not None:
        return _record_from_file(from_file, material)
    _, catalogue, _ = packs_shown.opened_or_new(shelf)
    if like is None and material not in catalogue.materials:
        raise BadRequest(
            f"“{material}” is new: nothing is known of its kind.",
            remedy="Name a material like it: --like ID (see firstpour shelf list --all), and give what its data "
            f"sheet says with --set KEY=VALUE: {KEYS}.",
        )
    base = catalogue.get(material if like is None else like)
    words = dict(_pair(text) for text in set_figure)
    if asks and not words and ratio is None and at_a_screen():
        words, ratio = _asked(base)
    if not words and ratio is None:
        missing = ", ".join(key.value for key in base.figures)
        raise BadRequest(
            "no figure is given, and nobody is here to be asked.",
            remedy=f"Give what the data sheet says: --set “pot_life=35 min @ 23 °C, 100 g”, … of: {missing}"
            + (", and --ratio." if base.ratio is not None else "."),
        )
    return record_like(base, material_id=material, name=name, words=words, ratio=ratio, origin=_origin(origin))


def _record_from_file(path: Path, material: str) -> "Material":
    from firstpour.errors import BadRequest
    from firstpour.files.catalogue import read_record

    record = read_record(path)
    if record.id != material:
        raise BadRequest(f"{path.name} holds “{record.id}”, not “{material}”.", remedy="Give the id that it holds.")
    return record


def at_a_screen() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty()


def _asked(base: "Material") -> tuple[dict[str, str], str | None]:
    """Ask for every figure that a material of this kind has; Enter keeps what is shown, with its origin."""
    from firstpour.materials.figures import FIGURES
    from firstpour.materials.new_record import figure_from_words, figure_words, ratio_from_words

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
    from firstpour.materials.figures import Origin

    if word not in list(Origin):
        raise BadRequest(f"no origin is called “{word}”.", remedy=f"Use one of: {', '.join(Origin)}.")
    return Origin(word)


def _save(record: "Material", shelf: Path | None, *, replacing: bool, as_json: bool) -> None:
    from firstpour.files.catalogue import save_record
    from firstpour.files.material_entries import material_entry
    from firstpour.files.places import shelf_folder

    path = save_record(shelf_folder(shelf), record, replacing=replacing)
    if as_json:
        show.print_json({"file": str(path), **material_entry(record).model_dump(mode="json")})
        return
    show.print_words(f"Entered {record.name} ({record.id}) in {path}.")
