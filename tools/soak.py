"""Kill what writes at random moments, and press Ctrl-C during `plan`: nothing is lost, nothing half done.

`PYTHONPATH=src:tests python tools/soak.py [--kills 20] [--takes 20] [--ctrl-c 20] [--full 20] [--store 20]
[--bench 20] [--seed 1]`, each number so many trials of one kind. A plan is killed while it replaces earlier results
in a folder with a file of the maker's own: afterwards the folder holds the old results or the new ones, whole, and
that file. A killed `shelf take` has taken all or nothing. Ctrl-C ends with 130 and one line and leaves nothing
beside. On a disk that runs full (`--full`, as root) each of the two is done, or refused in words with all as before.
What the store and the bench are tried for: `tools/soak_store.py` and `tools/soak_bench.py`.
"""

import argparse
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import trimesh
from soak_bench import kill_sessions
from soak_full_disk import on_full_disks, small_disk
from soak_store import kill_store_work

from firstpour.files.catalogue import load_catalogue
from firstpour.stock.demo_stock import demo_stock
from firstpour.store.place import store_in
from firstpour.store.stock_rows import add_packs, load_stock

START = (sys.executable, "-m", "firstpour.cli.start")
MATERIAL = "rigid-plastic-d75-middling"
TAKEN_G = 1.0
OWN_FILE, OWN_WORDS = "notes of my own.txt", "do not touch"
JOB = '[job]\nname = "soak"\n[[part]]\nname = "{name}"\nfile = "peg.stl"\n'


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A folder to work in, the environment of the commands, and how long a whole plan takes here, in s."""

    folder: Path
    own: dict[str, str]
    whole_s: float

    @property
    def out(self) -> Path:
        """The folder of the results."""
        return self.folder / "out"


def main() -> int:
    """Run it, and tell what was seen."""
    asked = argparse.ArgumentParser(description=__doc__)
    for name in ("--kills", "--takes", "--ctrl-c", "--full", "--store", "--bench"):
        asked.add_argument(name, type=int, default=20)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    chance = random.Random(given.seed)
    with tempfile.TemporaryDirectory() as folder:
        tell("shelf take", kill_takes(Path(folder) / "shelf", given.takes, chance))
        place = begun(Path(folder))
        tell("plan, Ctrl-C", end_plans(place, signal.SIGINT, given.ctrl_c, chance))
        tell("plan, SIGKILL", end_plans(place, signal.SIGKILL, given.kills, chance))
        full_disk(place, given.full, chance)
        for what, seen in kill_store_work(given.store, chance):
            tell(f"{what}, SIGKILL", seen)
        if given.bench:
            sys.stdout.write(kill_sessions(demo_plan(place), given.bench, chance))
    return 0


def demo_plan(place: Place) -> Path:
    """The results of the demo job, which the sessions at the bench follow."""
    out = place.folder / "demo"
    subprocess.run([*START, "demo", "--out", str(out)], env=place.own, check=True, capture_output=True)
    return out


def tell(what: str, seen: Counter[str]) -> None:
    """One line on one kind of trial."""
    words = ", ".join(f"{count} {name}" for name, count in sorted(seen.items()))
    sys.stdout.write(f"{what}: {sum(seen.values())} times, {words}\n")
    sys.stdout.flush()


def begun(folder: Path) -> Place:
    """A folder with two jobs, and results of the first of them beside a file of the maker's own."""
    for name in ("first", "second"):
        (folder / f"{name}.toml").write_text(JOB.format(name=name), encoding="utf-8")
    trimesh.creation.cylinder(radius=8, height=20, sections=32).export(folder / "peg.stl")
    (folder / "shelf").mkdir(exist_ok=True)
    own = {**os.environ, "FIRSTPOUR_SHELF": str(folder / "shelf"), "FIRSTPOUR_KEPT": str(folder / "kept")}
    own["FIRSTPOUR_WORKSHOP"] = str(folder / "workshop.toml")
    place = Place(folder=folder, own=own, whole_s=0.0)
    for name in ("second", "first"):
        subprocess.run(words_of(place, name), env=own, check=True, capture_output=True)
    (place.out / OWN_FILE).write_text(OWN_WORDS, encoding="utf-8")
    began = time.perf_counter()
    subprocess.run(words_of(place, "first"), env=own, check=True, capture_output=True)
    return Place(folder=folder, own=own, whole_s=time.perf_counter() - began)


def words_of(place: Place, name: str) -> list[str]:
    """The command that plans one of the two jobs."""
    return [*START, "plan", str(place.folder / f"{name}.toml"), "--out", str(place.out), "--processes", "1"]


def end_plans(place: Place, by: signal.Signals, times: int, chance: random.Random) -> Counter[str]:
    """Begin to replace the results, end it at a random moment, and look at what is there; again and again."""
    seen: Counter[str] = Counter()
    held = part_in(place)
    for trial in range(times):
        wanted = "second" if held == "first" else "first"
        before = digest(place.out)
        code, err = ended(words_of(place, wanted), place.own, by, moment_s(place, trial, chance))
        held = part_in(place)
        check_whole(place)
        if held != wanted and digest(place.out) != before:
            raise SystemExit("the old results are not what they were")
        if by is signal.SIGINT:
            check_ctrl_c(place, code, err)
        came = "" if code in (130, -by) else ", over before the signal came"
        if came:
            place = replace(place, whole_s=0.85 * place.whole_s)  # the machine has become freer
        seen[f"with the {'new' if held == wanted else 'old'} results{came}"] += 1
    if by is signal.SIGKILL:
        clear_up(place)
    return seen


def moment_s(place: Place, trial: int, chance: random.Random) -> float:
    """Any moment of a plan, and every other time one near its end, when results are written and put in place."""
    least, most = (0.0, 1.0) if trial % 2 == 0 else (0.7, 1.3)
    return chance.uniform(least, most) * place.whole_s


def ended(words: list[str], own: dict[str, str], by: signal.Signals, after_s: float) -> tuple[int, str]:
    """Begin a command and send it a signal after a while; its exit code and what it said on stderr."""
    with subprocess.Popen(words, env=own, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as process:
        try:
            _, err = process.communicate(timeout=after_s)
        except subprocess.TimeoutExpired:
            process.send_signal(by)
            _, err = process.communicate()
    return process.returncode, err


def part_in(place: Place) -> str:
    """The name of the part that the results are of."""
    table = json.loads((place.out / "plan.json").read_text(encoding="utf-8"))
    return str(table["parts"][0]["name"])


def check_whole(place: Place) -> None:
    """Every file that the plan names is there, none else but the maker's own, and that is as it was."""
    named = set(json.loads((place.out / "plan.json").read_text(encoding="utf-8"))["files"])
    there = {one.relative_to(place.out).as_posix() for one in place.out.rglob("*") if one.is_file()}
    if there != named | {"plan.json", OWN_FILE}:
        raise SystemExit(f"not whole: {sorted(there ^ (named | {'plan.json', OWN_FILE}))}")
    if (place.out / OWN_FILE).read_text(encoding="utf-8") != OWN_WORDS:
        raise SystemExit("the maker's own file was changed")


def check_ctrl_c(place: Place, code: int, err: str) -> None:
    """Ctrl-C gives 130 and one line, unless it came before our first line of code or after the end."""
    told = [line for line in err.splitlines() if not line.startswith("soak: ")]
    if code not in (0, 130, -signal.SIGINT) or "Traceback" in err or (code == 130 and len(told) != 1):
        raise SystemExit(f"Ctrl-C ended with {code} and said {told}")
    left = left_beside(place)
    if left:
        raise SystemExit(f"left beside after Ctrl-C: {left}")


def clear_up(place: Place) -> None:
    """A plan that runs to its end clears what killed ones left."""
    subprocess.run(words_of(place, "first"), env=place.own, check=True, capture_output=True)
    check_whole(place)
    left = left_beside(place)
    if left:
        raise SystemExit(f"not cleared by the next plan: {left}")


def left_beside(place: Place) -> list[str]:
    """What lies in the folder and belongs to no one."""
    known = {"peg.stl", "first.toml", "second.toml", "shelf", "kept", "out", "workshop.toml"}
    return sorted(one.name for one in place.folder.iterdir() if one.name not in known)


def digest(folder: Path) -> str:
    """One digest of the names and bytes of all files."""
    sha = hashlib.sha256()
    for file in sorted(one for one in folder.rglob("*") if one.is_file()):
        sha.update(file.relative_to(folder).as_posix().encode() + b"\0" + file.read_bytes())
    return sha.hexdigest()


def kill_takes(shelf: Path, times: int, chance: random.Random) -> Counter[str]:
    """Take some off a shelf and kill it at a random moment: all of it is gone or none."""
    seen: Counter[str] = Counter()
    own = {**os.environ, "FIRSTPOUR_SHELF": str(shelf)}
    shelf.mkdir()
    now = datetime.now()
    add_packs(store_in(shelf), demo_stock(today=now.date()), at=now)
    words = [*START, "shelf", "take", MATERIAL, f"{TAKEN_G} g"]
    began = time.perf_counter()
    subprocess.run(words, env=own, check=True, capture_output=True)
    whole_s, left_g = time.perf_counter() - began, grams_left(shelf)
    for _ in range(times):
        ended(words, own, signal.SIGKILL, chance.uniform(0.4, 1.4) * whole_s)
        now_g = grams_left(shelf)
        gone_g = left_g - now_g
        if min(abs(gone_g), abs(gone_g - TAKEN_G)) > 1e-6:
            raise SystemExit(f"{gone_g} g are gone, 0 or {TAKEN_G} were to go")
        seen["with all taken" if gone_g > TAKEN_G / 2 else "with none taken"] += 1
        left_g = now_g
    return seen


def full_disk(place: Place, times: int, chance: random.Random) -> None:
    """The shelf and the results on a disk that runs full: taken or not, old results or new."""
    if not times:
        return
    with small_disk(place.folder / "disk", 24) as made:
        if not made:
            sys.stdout.write("full disk: not tried, no disk may be made here\n")
            return
        disk = place.folder / "disk"
        shutil.copytree(place.folder / "shelf", disk / "shelf")
        shutil.copytree(place.out, disk / "out")
        own = {**place.own, "FIRSTPOUR_SHELF": str(disk / "shelf")}
        left_g = [grams_left(disk / "shelf")]

        def taken(_: int, done: bool) -> None:
            now_g = grams_left(disk / "shelf")
            if abs(left_g[-1] - now_g - (TAKEN_G if done else 0.0)) > 1e-6:
                raise SystemExit(f"{left_g[-1] - now_g} g are gone, done: {done}")
            left_g.append(now_g)

        words = [*START, "shelf", "take", MATERIAL, f"{TAKEN_G} g"]
        room = sum(one.stat().st_size for one in (disk / "shelf").iterdir() if one.is_file())
        tell("shelf take, full disk", on_full_disks(
            disk, lambda _: words, own, taken, most_bytes=max(2 * room, 200_000), times=times, chance=chance
        ))  # fmt: skip
        moved = replace(place, folder=disk)
        held = [part_in(moved), digest(moved.out)]

        def planned(trial: int, done: bool) -> None:
            check_whole(moved)
            if done != (part_in(moved) == names[trial % 2]) and held[0] != names[trial % 2]:
                raise SystemExit(f"the results are of {part_in(moved)}, done: {done}")
            if not done and digest(moved.out) != held[1]:
                raise SystemExit("the old results are not what they were")
            held[:] = [part_in(moved), digest(moved.out)]
            left = [one.name for one in disk.iterdir() if one.name not in ("shelf", "out")]
            if left:
                raise SystemExit(f"left beside on a full disk: {left}")

        names = ("second", "first") if held[0] == "first" else ("first", "second")
        size = sum(one.stat().st_size for one in moved.out.rglob("*") if one.is_file())

        def plan_words(trial: int) -> list[str]:
            job = place.folder / f"{names[trial % 2]}.toml"
            return [*START, "plan", str(job), "--out", str(moved.out), "--processes", "1"]

        tell("plan, full disk", on_full_disks(
            disk, plan_words, own, planned, most_bytes=2 * size, times=times, chance=chance
        ))  # fmt: skip


def grams_left(shelf: Path) -> float:
    """Grams of the material on the shelf, A and B together; reading it opens the store anew."""
    known = load_catalogue(shelf).get(MATERIAL).id
    return sum(one.left_a_g + one.left_b_g for one in load_stock(store_in(shelf)) if one.material_id == known)


if __name__ == "__main__":
    sys.exit(main())
