"""One family at one size through the plan, read back and checked: a row of the table."""

import json
import time
from dataclasses import asdict, dataclass, field
from pathlib import Path

from families.catalogue import FACES, FAMILIES, SIZES_MM, family_part
from families.checks import check
from families.look import alone, opened
from families.written import read_moulds
from firstpour.errors import WorkshopError
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job, PartRequest
from firstpour.mould.values import MouldKind
from firstpour.results import plan_into

OUTLINE_CODES = ("seam-crosses", "outline")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What came of one family at one size."""

    family: str
    size_mm: float
    faces: int
    seconds: float
    problem: str = ""
    kind: str = ""
    draw: tuple[float, ...] = ()
    outline: bool = False
    stretch: str = ""
    silicone_ml: float = 0.0
    vents: int = 0
    air_said_mm3: float | None = None
    air_mm3: float | None = None
    errors: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    faults: tuple[tuple[str, str], ...] = field(default=())
    picture: str = ""

    @property
    def passes(self) -> bool:
        """Whether a mould came out that passes every check, with no error told."""
        return not (self.problem or self.errors or self.faults)


def try_family(
    name: str, size_mm: float, out: Path, *, faces: int | None = None, kind: str | None = None, again: bool = False
) -> Row:
    """Plan the family at that size into `out`, check what was written, and keep the row beside it.

    With `again` the files of an earlier trial are only checked once more.
    """
    label = "-".join([name, f"{size_mm:g}", *([kind] if kind else [])])
    folder, kept, part_file = out / label, out / f"{label}.json", out / f"{label}.stl"
    out.mkdir(parents=True, exist_ok=True)
    if again and kept.exists() and (folder / "plan.json").exists():
        earlier = json.loads(kept.read_text(encoding="utf-8"))
        return _keep(kept, _row(name, size_mm, earlier["faces"], earlier["seconds"], folder, part_file))
    part = family_part(name, size_mm=size_mm, faces=faces or FACES[SIZES_MM.index(size_mm)])
    part_file.write_bytes(stl_bytes(part.mesh))
    job = Job(name=label, parts=(PartRequest(name=label, file=part_file, kind=MouldKind(kind) if kind else None),))
    start = time.perf_counter()
    try:
        plan_into(job, folder, progress=lambda *_: None)
    except WorkshopError as error:
        seconds = time.perf_counter() - start
        picture = part_file.with_suffix(".png")
        alone(part.mesh).save(picture)
        row = Row(
            family=name, size_mm=size_mm, faces=len(part.mesh.faces), seconds=seconds, problem=error.problem,
            picture=str(picture),
        )  # fmt: skip
        return _keep(kept, row)
    seconds = time.perf_counter() - start
    return _keep(kept, _row(name, size_mm, len(part.mesh.faces), seconds, folder, part_file))


def _row(name: str, size_mm: float, faces: int, seconds: float, folder: Path, part_file: Path) -> Row:
    (mould,) = read_moulds(folder, {part_file.stem: part_file})
    checked = check(mould)
    picture = part_file.with_suffix(".png")
    opened(mould).save(picture)
    entry, made, fill = mould.entry, mould.entry["mould"], mould.entry["fill"]
    stretch = [f["what"] for f in entry["findings"] if "stretch" in f["what"] and "%" in f["what"]]
    return Row(
        family=name,
        size_mm=size_mm,
        faces=faces,
        seconds=seconds,
        kind=mould.kind,
        draw=tuple(round(value, 3) for value in made["draw"]),
        outline=any(word in code for code in mould.codes for word in OUTLINE_CODES),
        stretch=_share(stretch[0]) if stretch else "",
        silicone_ml=made["silicone_ml"],
        vents=sum(channel["use"] == "vent" for channel in made["channels"]),
        air_said_mm3=None if fill is None else fill["trapped_vented_mm3"],
        air_mm3=checked.air_mm3,
        errors=tuple(f"{f['code']}: {f['what']}" for f in entry["findings"] if f["severity"] == "error"),
        findings=tuple(sorted({f["code"] for f in entry["findings"] if f["severity"] != "error"})),
        faults=tuple((fault.check, fault.what) for fault in checked.faults),
        picture=str(picture),
    )


def kept_rows(out: Path) -> list[Row]:
    """The rows kept in a folder by this and earlier runs, in the order of the families and sizes."""
    rows = []
    for name in FAMILIES:
        for size_mm in SIZES_MM:
            path = out / f"{name}-{size_mm:g}.json"
            if path.exists():
                kept = json.loads(path.read_text(encoding="utf-8"))
                rows.append(Row(**{key: _tuples(value) for key, value in kept.items()}))
    return rows


def _tuples(value: object) -> object:
    """Lists of a JSON value as tuples."""
    return tuple(_tuples(one) for one in value) if isinstance(value, list) else value


def _share(words: str) -> str:
    """The figure before the first % sign, with it.

    >>> _share("about 12 % stretch in a wall of 8 mm")
    '12 %'
    """
    return words.split("%")[0].split()[-1] + " %"


def _keep(path: Path, row: Row) -> Row:
    path.write_text(json.dumps(asdict(row), indent=1), encoding="utf-8")
    return row
