"""A disk that runs full under a command, for `tools/soak.py`: a small one in memory, where that is permitted."""

import os
import random
import re
import subprocess
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

BLOCK = 4096
FULL = re.compile("disk is full|No space left")


@contextmanager
def small_disk(at: Path, size_mb: int) -> Iterator[bool]:
    """A disk of so many MiB at `at`, gone afterwards; False where it may not be made (only root may)."""
    at.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size_mb}m", "tmpfs", str(at)], check=False, capture_output=True
    )
    try:
        yield made.returncode == 0
    finally:
        if made.returncode == 0:
            subprocess.run(["umount", "-l", str(at)], check=True, capture_output=True)


def fill(disk: Path, left_bytes: int) -> Path:
    """A file that takes all room of the disk but so much."""
    filler = disk / ".filler"
    filler.unlink(missing_ok=True)
    room = os.statvfs(disk)
    with open(filler, "wb") as file:
        os.posix_fallocate(file.fileno(), 0, max(BLOCK, room.f_bavail * room.f_frsize - left_bytes))
    return filler


def on_full_disks(
    disk: Path,
    words: Callable[[int], list[str]],
    own: dict[str, str],
    check: Callable[[int, bool], None],
    *,
    most_bytes: int,
    times: int,
    chance: random.Random,
) -> Counter[str]:
    """Run a command again and again with from no room to enough; it does it, or says in words that the disk is full.

    `words` gives the command of a trial, `check` looks whether all or nothing of it was done.
    """
    seen: Counter[str] = Counter()
    for trial in range(times):
        filler = fill(disk, BLOCK * chance.randrange(most_bytes // BLOCK))
        ran = subprocess.run(words(trial), env=own, check=False, capture_output=True, text=True)
        filler.unlink()
        if ran.returncode not in (0, 2) or "Traceback" in ran.stderr:
            raise SystemExit(f"on a full disk it ended with {ran.returncode}: {ran.stderr[-400:]}")
        if ran.returncode == 2 and not ("Problem: " in ran.stderr and FULL.search(ran.stderr)):
            raise SystemExit(f"a full disk is not told: {ran.stderr[-400:]}")
        check(trial, ran.returncode == 0)
        seen["done" if ran.returncode == 0 else "refused in words, all as before"] += 1
    return seen
