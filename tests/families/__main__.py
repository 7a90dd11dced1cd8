"""Plan and check families: `python -m families [--only wheel,bowl] [--size 20,50] [--jobs 2] [--again] [--docs]`."""

import argparse
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from families import table
from families.catalogue import FAMILIES, SIZES_MM
from families.trial import Row, kept_rows, try_family

ROOT = Path(__file__).parents[2]


def asked(words: list[str]) -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(prog="families", description="Plan every family, check what was written.")
    parser.add_argument("--only", default=",".join(FAMILIES), help="families, with commas between")
    parser.add_argument("--size", default=",".join(f"{size:g}" for size in SIZES_MM), help="sizes in mm")
    parser.add_argument("--faces", type=int, help="about so many faces, whatever the size")
    parser.add_argument("--kind", help="trays, bedding, open-face or block, where the plan shall not choose")
    parser.add_argument("--jobs", type=int, default=1, help="so many at a time")
    parser.add_argument("--out", type=Path, default=ROOT / "results" / "families")
    parser.add_argument("--again", action="store_true", help="only check again what was planned before")
    parser.add_argument(
        "--docs", action="store_true", help="write docs/families.md and its picture from all that is kept in --out"
    )
    given = parser.parse_args(words)
    unknown = set(given.only.split(",")) - set(FAMILIES)
    if unknown:
        parser.error(f"no family is called {', '.join(sorted(unknown))}; there are: {', '.join(FAMILIES)}")
    return given


def main(words: list[str]) -> int:
    """Run what is asked for; 1 if fewer pass than should."""
    given = asked(words)
    os.environ.setdefault("NUMBA_NUM_THREADS", "2")
    trials = [(name, float(size)) for size in given.size.split(",") for name in given.only.split(",")]
    rows: list[Row] = []
    with ProcessPoolExecutor(max_workers=given.jobs) as pool:
        waiting = [
            pool.submit(try_family, name, size, given.out, faces=given.faces, kind=given.kind, again=given.again)
            for name, size in trials
        ]
        for one in waiting:
            rows.append(one.result())
            print(table.line(rows[-1]), flush=True)
            for words_of_fault in table.troubles(rows[-1]):
                print(f"      {words_of_fault}", flush=True)
    print(table.summary(rows))
    if given.docs:
        table.write_docs(kept_rows(given.out), ROOT / "docs")
    return int(not table.good_enough(rows))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
