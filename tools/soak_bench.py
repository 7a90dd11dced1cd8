"""Kill a scripted session at the bench again and again: nothing that was told as done may be lost or done twice.

`PYTHONPATH=src:tests python tools/soak_bench.py PLAN_FOLDER [--kills 200] [--seed 1]`. Each kill is a SIGKILL at a
random moment; after it the store is opened anew, what was told is compared, and the session goes on. At the end the
stock is compared with what was weighed.
"""

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from firstpour.bench.kept import Bench, keep_plan
from firstpour.bench.sessions import start, state
from firstpour.bench.state import SessionState
from firstpour.files.catalogue import load_catalogue
from firstpour.stock.demo_stock import demo_stock
from firstpour.stock.stock import amount_left
from firstpour.store.opening import reading
from firstpour.store.place import store_in
from firstpour.store.runs import measurements_of
from firstpour.store.stock_rows import add_packs, load_stock

NOON = datetime(2027, 1, 4, 12, tzinfo=UTC)
MATERIAL = "rigid-plastic-d75-middling"
WALK = """
import sys
from datetime import datetime
from pathlib import Path
from bench_walk import walk
from firstpour.bench.kept import Bench
from firstpour.bench.sessions import state
from firstpour.files.catalogue import load_catalogue
from firstpour.store.place import store_in

at = datetime.fromisoformat(sys.argv[2])
bench = Bench(store=store_in(Path(sys.argv[1])), catalogue=load_catalogue(None))
def told(now):
    print(len(now.log), flush=True)
    return False
walk(bench, state(bench, int(sys.argv[3]), at=at), at=at, until=told)
print("end", flush=True)
"""


def main() -> int:
    """Run it, and tell what was seen."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("plan", type=Path)
    asked.add_argument("--kills", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    sys.stdout.write(kill_sessions(given.plan, given.kills, random.Random(given.seed)))
    return 0


def kill_sessions(plan_folder: Path, kills: int, chance: random.Random) -> str:
    """Sessions at the bench, one after the other, until so many kills: a line on what was seen."""
    killed = sessions = entries = 0
    while killed < kills:
        with tempfile.TemporaryDirectory() as folder:
            bench = Bench(store=store_in(Path(folder)), catalogue=load_catalogue(None))
            add_packs(bench.store, demo_stock(today=NOON.date()), at=NOON)
            before_g = left_g(bench)
            plan = keep_plan(bench, plan_folder, at=NOON)
            now = start(bench, plan=plan, part="limpet", at=NOON)
            while not now.done and killed < kills:
                now, was_killed = go_on(bench, now, Path(folder), chance)
                killed += was_killed
            check_stock(bench, now, before_g)
            sessions, entries = sessions + 1, entries + len(now.log)
    return f"bench, SIGKILL: {killed} times in {sessions} sessions, {entries} entries, nothing lost or done twice\n"


def go_on(bench: Bench, now: SessionState, folder: Path, chance: random.Random) -> tuple[SessionState, bool]:
    """Walk on in another process and kill it after a random while; what it told must be there."""
    at = max([NOON, *(one.at for one in now.log)])
    words = [sys.executable, "-c", WALK, str(folder), at.isoformat(), str(now.session)]
    told, ended = len(now.log), False
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=dict(os.environ)) as worker:
        assert worker.stdout is not None
        first = worker.stdout.readline().strip()
        time.sleep(chance.uniform(0.0, 0.25))
        if worker.poll() is None:
            os.kill(worker.pid, signal.SIGKILL)
        said = [first, *worker.stdout.read().split()]
        ended = "end" in said
        told = max([told, *(int(one) for one in said if one.isdigit())])
    after = state(bench, now.session, at=at)
    numbers = [one.number for one in after.log]
    if len(numbers) < told or numbers != list(range(1, len(numbers) + 1)):
        raise SystemExit(f"lost: {told} entries were told, {numbers} are there")
    steps = [one.step for one in after.log]
    if len(set(steps)) != len(steps):
        raise SystemExit(f"done twice: {steps}")
    return after, not ended


def check_stock(bench: Bench, now: SessionState, before_g: float) -> None:
    """What is missing on the shelf is what was weighed."""
    with reading(bench.store) as connection:
        assert connection is not None
        found = measurements_of(connection, now.session)
    used_g = sum(one.value for one in found if one.what == "A weighed" and one.material_id == MATERIAL)
    if abs(before_g - used_g - left_g(bench)) > 1e-6:
        raise SystemExit(f"the shelf holds {left_g(bench)} g, {before_g - used_g} g are right")


def left_g(bench: Bench) -> float:
    """Grams of A of the material of the part on the shelf."""
    return amount_left(tuple(one for one in load_stock(bench.store) if one.material_id == MATERIAL)).a_g


if __name__ == "__main__":
    sys.exit(main())
