"""`make fuzz`: so many files of every kind and command lines, by two processes, with limits of time and memory.

What fails is told, and kept if it is a small file.
"""

import argparse
import resource
import sys
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from fuzz.cases import Failure, kinds, try_case
from fuzz.commands import try_line

MOST_BYTES = 3 * 1024**3
LOT = 500
FOUND = Path(__file__).parent / "found"
LARGEST_KEPT = 4000
"""Found cases up to so many bytes are kept as regression files."""


def limited() -> None:
    """A process that takes more memory than this fails its case; warnings count as failures."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    warnings.simplefilter("error")


def run_lot(number: int, first: int, count: int) -> list[Failure]:
    """The cases of one kind from a seed on."""
    kind = kinds()[number]
    return [found for seed in range(first, first + count) if (found := try_case(kind, seed)) is not None]


def main() -> int:
    """Run the cases, tell the rate, keep what failed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--cases", type=int, default=1_000_000)
    asked.add_argument("--first", type=int, default=0, help="The first seed.")
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--lines", type=int, default=0, help="So many command lines besides.")
    options = asked.parse_args()
    failed = try_lines(options.first, options.lines, options.jobs) if options.lines else 0
    return int(try_files(options.first, options.cases, options.jobs) + failed > 0)


def try_lines(first: int, count: int, jobs: int) -> int:
    """Type so many command lines, and tell those that failed; gives their number."""
    began = time.monotonic()
    with ProcessPoolExecutor(max_workers=jobs) as crew:
        failures = [one for one in crew.map(try_line, range(first, first + count), chunksize=20) if one is not None]
    print(f"{count} command lines in {time.monotonic() - began:.0f} s; {len(failures)} failed")
    for one in failures:
        print(f"line {one.seed}: {' '.join(one.words)[:100]!r}: {one.what[:200]}")
    return len(failures)


def try_files(first: int, cases: int, jobs: int) -> int:
    """Read so many mutated files, and tell and keep those that failed; gives their number."""
    every, began = kinds(), time.monotonic()
    each = -(-cases // len(every))
    starts = [(at, min(LOT, each - at)) for at in range(0, each, LOT)]
    lots = [(number, first + at, count) for at, count in starts for number in range(len(every))]
    failures: list[Failure] = []
    with ProcessPoolExecutor(max_workers=jobs, initializer=limited) as crew:
        for found in crew.map(run_lot, *zip(*lots, strict=True)):
            failures += found
    spent_s = time.monotonic() - began
    tried = each * len(every)
    print(f"{tried} files in {spent_s:.0f} s, {tried / spent_s * 3600:.0f} an hour; {len(failures)} failed")
    kept: dict[tuple[str, str], Failure] = {}
    for one in failures:
        kept.setdefault((one.kind, one.what.split(":")[0]), one)
    for one in kept.values():
        print(f"{one.kind}, seed {one.seed}: {one.what[:200]}")
        if len(one.data) <= LARGEST_KEPT:
            FOUND.mkdir(exist_ok=True)
            (FOUND / f"{one.kind.replace(' ', '-')}-{one.seed}.bin").write_bytes(one.data)
    return len(failures)


if __name__ == "__main__":
    sys.exit(main())
