"""Kill a migration, an export and an import of the store at random moments: the old state or the new stays.

`PYTHONPATH=src:tests python tools/soak_store.py [--kills 200] [--seed 1]`. A store
of the first version with an old stock beside it is opened; a store with packs and photos is written into a zip, and
such a zip is taken into an empty store. Each is killed (SIGKILL) at a moment between its first line and its
end; what is there is compared, then it is done anew and must come out whole, with nothing left beside.
"""

import argparse
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from firstpour.stock.demo_stock import demo_stock
from firstpour.store.opening import HEAD, version_of
from firstpour.store.place import FILE_NAME, store_in
from firstpour.store.stock_rows import add_packs, load_stock
from firstpour.store.whole import Belongings, export_all
from firstpour.writing.beside import PARTIAL
from store.test_opening import first_version, old_shelf

PHOTOS, PHOTO_BYTES = 12, 300_000
WORKER = """
import sys
from pathlib import Path
from alembic import command, config
from firstpour.store.opening import changing
from firstpour.store.place import store_in
from firstpour.store.whole import Belongings, export_all, import_all

what, folder, zipped = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
print("ready", flush=True)
own = Belongings(store=store_in(folder), shelf=folder, workshop=folder / "workshop.toml")
if what.startswith("migration"):
    with changing(own.store):
        pass
elif what.startswith("export"):
    export_all(own, zipped)
else:
    import_all(own, zipped)
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One kind of work: what it begins with, and which state is there after a kill or its end."""

    what: str
    begin: Callable[[Path], None]
    seen: Callable[[Path], str]


def main() -> int:
    """Run it, and tell what was seen."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--kills", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    for what, counted in kill_store_work(given.kills, random.Random(given.seed)):
        words = ", ".join(f"{count} {name}" for name, count in sorted(counted.items()))
        sys.stdout.write(f"{what}, SIGKILL: {counted.total()} times, {words}\n")
        sys.stdout.flush()
    return 0


def kill_store_work(kills: int, chance: random.Random) -> Iterator[tuple[str, Counter[str]]]:
    """Each kind of work killed so many times: its name and what was there."""
    with tempfile.TemporaryDirectory() as folder:
        for trial in prepared(Path(folder)):
            yield trial.what, killed(trial, Path(folder) / "place", kills, chance)


def prepared(folder: Path) -> tuple[Trial, ...]:
    """An older store, a full one, and its zip, made once; each trial begins with a copy."""
    older, full, empty = folder / "older", folder / "full", folder / "empty"
    first_version(old_shelf(older))
    full.mkdir()
    at = datetime(2027, 1, 4, 12, tzinfo=UTC)
    for _ in range(40):
        add_packs(store_in(full), demo_stock(today=at.date()), at=at)
    store_in(full).photos.mkdir()
    for _ in range(PHOTOS):
        data = random.randbytes(PHOTO_BYTES)
        (store_in(full).photos / f"{sha256(data).hexdigest()}.jpg").write_bytes(data)
    (full / "workshop.toml").write_text("# none\n", encoding="utf-8")
    zipped = folder / "whole.zip"
    export_all(own(full), zipped)
    empty.mkdir()
    shutil.copy(zipped, empty / "own.zip")
    whole, packs = zipped.read_bytes(), load_stock(store_in(full))

    def exported(place: Path) -> str:
        there = place / "own.zip"
        if not there.exists():
            return "old"
        if there.read_bytes() != whole or zipfile.ZipFile(there).testzip() is not None:
            raise SystemExit("the zip is not whole")
        return "new"

    def imported(place: Path) -> str:
        found = load_stock(store_in(place))
        if found not in ((), packs):
            raise SystemExit(f"{len(found)} packs of {len(packs)} are there")
        if not found:
            return "old"
        check_photos(place)
        return "new"

    def check_photos(place: Path) -> None:
        names = sorted(one.name for one in store_in(place).photos.iterdir())
        if names != sorted(one.name for one in store_in(full).photos.iterdir()):
            raise SystemExit("photos are missing")

    return (
        Trial(what="migration of the store", begin=lambda place: copied(older, place), seen=migrated),
        Trial(what="export of the store", begin=lambda place: copied(full, place), seen=exported),
        Trial(what="import into a store", begin=lambda place: copied(empty, place), seen=imported),
    )


def killed(trial: Trial, place: Path, times: int, chance: random.Random) -> Counter[str]:
    """Begin it, kill it at a random moment, look, and do it anew to its end; again and again."""
    trial.begin(place)
    whole_s = worked(trial, place, None)
    if trial.seen(place) != "new":
        raise SystemExit(f"{trial.what} did nothing")
    counted: Counter[str] = Counter()
    for _ in range(times):
        trial.begin(place)
        worked(trial, place, chance.uniform(0.0, 1.05) * whole_s)
        state = trial.seen(place)
        if state == "old":
            worked(trial, place, None)
            if trial.seen(place) != "new":
                raise SystemExit(f"{trial.what} cannot be done after a kill")
        halves = [one for one in place.rglob(f"*{PARTIAL}*") if one.is_file()]
        if halves and state == "old":
            raise SystemExit(f"left beside: {halves}")
        counted[f"with the {state} state"] += 1
    return counted


def worked(trial: Trial, place: Path, kill_after_s: float | None) -> float:
    """Let a process of its own do it; how long that took from its first line, in s."""
    words = [sys.executable, "-c", WORKER, trial.what, str(place), str(place / "own.zip")]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=dict(os.environ)) as worker:
        assert worker.stdout is not None
        worker.stdout.readline()
        began = time.perf_counter()
        if kill_after_s is None:
            if worker.wait() != 0:
                raise SystemExit(f"{trial.what} ended with {worker.returncode}")
        else:
            time.sleep(kill_after_s)
            worker.send_signal(signal.SIGKILL)
    return time.perf_counter() - began


def migrated(place: Path) -> str:
    """Whether the store is of the first version or of this one, its rows being right; a backup there is whole."""
    version = version_of(store_in(place))
    backup = place / f"{Path(FILE_NAME).stem}.version-0001.sqlite3"
    if backup.exists():
        check_rows(backup, {900.0})
    if version == HEAD:
        if not backup.exists():
            raise SystemExit("no backup was made")
        check_rows(place / FILE_NAME, {900.0}, {900.0, 350.0, 1000.0})
        return "new" if not (place / "stock.sqlite3").exists() else "old"
    check_rows(place / FILE_NAME, {900.0})
    return "old"


def check_rows(file: Path, *right: set[float]) -> None:
    """What is left in the packs of a file is one of these."""
    with sqlite3.connect(file) as connection:
        rows = connection.execute("SELECT left_a_g FROM packs").fetchall()
    found = {one for (one,) in rows}
    if found not in right or len(rows) != len(found):
        raise SystemExit(f"{file.name} holds {rows}")


def copied(source: Path, place: Path) -> None:
    """The place as that one is, nothing of an earlier trial left."""
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(source, place)


def own(folder: Path) -> Belongings:
    """All in one folder."""
    return Belongings(store=store_in(folder), shelf=folder, workshop=folder / "workshop.toml")


if __name__ == "__main__":
    sys.exit(main())
