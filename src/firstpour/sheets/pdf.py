"""Pages as a PDF: A4, PDF/UA-1, the same bytes for the same plan, with the fonts that come with the typesetter."""

import json
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory
from typing import Any, Final

from firstpour.errors import CannotWrite
from firstpour.sheets.blocks import RunSheet
from firstpour.writing.whole import Over, write_whole

PLAN_PDF = "plan.pdf"
STANDARD: Final = "ua-1"
DRAWN = ".svg"
WIDE_PX, QUALITY = 1300, 88
"""Pictures wider than this are halved: what is left is still finer than 150 dots an inch on the page."""
SHOWN = (
    (0x20, 0x7E), (0xA1, 0xAC), (0xAE, 0x17F), (0x218, 0x21B), (0x386, 0x386), (0x388, 0x38A), (0x38C, 0x38C),
    (0x38E, 0x3A1), (0x3A3, 0x3CE), (0x400, 0x45F), (0x2010, 0x2015), (0x2018, 0x201E), (0x2020, 0x2022),
    (0x2026, 0x2026), (0x2030, 0x2030), (0x2032, 0x2033), (0x20AC, 0x20AC), (0x2190, 0x2193), (0x2212, 0x2212),
    (0x221E, 0x221E), (0x2248, 0x2248), (0x2264, 0x2265), (0x2610, 0x2610),
)  # fmt: skip
"""Letters that the fonts at hand hold, from and to: Latin, Greek, Cyrillic and the signs of the trade."""
UNSHOWN = "?"


def plan_pdf(sheet: RunSheet, *, folder: Path) -> bytes:
    """The PDF of the sheet; its pictures are read from `folder`.

    Raises
    ------
    CannotWrite
        If it cannot be set, say for a picture that is not there.
    """
    import typst

    template = (files("firstpour.sheets") / "data" / "run_sheet.typ").read_bytes()
    pages = asdict(sheet)
    try:
        with TemporaryDirectory() as small:
            main = Path(small, "run_sheet.typ")
            main.write_bytes(template)
            sizes = _small_pictures(pages, folder, Path(small))
            made = typst.compile(
                str(main),
                root=small,
                sys_inputs={"sheet": json.dumps(shown(sizes), ensure_ascii=False)},
                ignore_system_fonts=True,
                format="pdf",
                pdf_standards=[STANDARD],
            )
    except (typst.TypstError, RuntimeError, OSError) as error:
        raise CannotWrite(
            f"the run sheet could not be set: {error}",
            remedy="see that the disk has room, and plan into a new folder",
        ) from error
    return bytes(made)


def write_plan_pdf(folder: Path, sheet: RunSheet) -> None:
    """Write the sheet beside plan.json.

    Raises
    ------
    CannotWrite
        As `plan_pdf`.
    """
    write_whole(folder / PLAN_PDF, plan_pdf(sheet, folder=folder), over=Over.NOTHING)


def _small_pictures(pages: dict[str, Any], folder: Path, small: Path) -> dict[str, Any]:
    """The pages with each picture named as its copy in `small`, as large as A4 shows it; a drawing as it is."""
    from PIL import Image

    numbers: dict[str, str] = {}

    def named(value: Any) -> Any:
        if isinstance(value, dict):
            if value.get("kind") == "picture":
                ending = DRAWN if value["file"].endswith(DRAWN) else ".jpg"
                return {**value, "file": numbers.setdefault(value["file"], f"{len(numbers)}{ending}")}
            return {key: named(one) for key, one in value.items()}
        return [named(one) for one in value] if isinstance(value, list | tuple) else value

    renamed: dict[str, Any] = named(pages)
    for source, name in numbers.items():
        if name.endswith(DRAWN):
            copyfile(folder / source, small / name)
            continue
        with Image.open(folder / source) as picture:
            whole = picture.convert("RGB")
        (whole.reduce(2) if whole.width > WIDE_PX else whole).save(small / name, "JPEG", quality=QUALITY)
    return renamed


def shown(value: object) -> object:
    """The value with every letter that no font at hand holds put as a question mark.

    >>> shown({"name": "Stern № 1 貝"})
    {'name': 'Stern ? 1 ?'}
    """
    if isinstance(value, str):
        return "".join(one if _is_shown(one) else UNSHOWN for one in " ".join(value.split("\n")))
    if isinstance(value, dict):
        return {key: shown(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [shown(one) for one in value]
    return value


def _is_shown(letter: str) -> bool:
    return any(low <= ord(letter) <= high for low, high in SHOWN)
