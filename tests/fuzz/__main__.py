"""`make fuzz`: so many cases of every kind, by two processes, with limits of time and memory; what fails is kept."""

import argparse
import resource
import sys
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from fuzz.cases import Failure, kinds, try_case

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
    options = asked.parse_args()
    every, began = kinds(), time.monotonic()
    each = -(-options.cases // len(every))
    starts = [(at, min(LOT, each - at)) for at in range(0, each, LOT)]
    lots = [(number, options.first + at, count) for at, count in starts for number in range(len(every))]
    failures: list[Failure] = []
    with ProcessPoolExecutor(max_workers=options.jobs, initializer=limited) as crew:
        for found in crew.map(run_lot, *zip(*lots, strict=True)):
            failures += found
    spent_s = time.monotonic() - began
    cases = each * len(every)
    print(f"{cases} cases in {spent_s:.0f} s, {cases / spent_s * 3600:.0f} an hour; {len(failures)} failed")
    kept: dict[tuple[str, str], Failure] = {}
    for one in failures:
        kept.setdefault((one.kind, one.what.split(":")[0]), one)
    for one in kept.values():
        print(f"{one.kind}, seed {one.seed}: {one.what[:200]}")
        if len(one.data) <= LARGEST_KEPT:
            FOUND.mkdir(exist_ok=True)
            (FOUND / f"{one.kind.replace(' ', '-')}-{one.seed}.bin").write_bytes(one.data)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
