"""Plan parts that are very large, very thin or full of holes: planned, or refused in words, within limits.

`PYTHONPATH=src python tools/sizes.py [--only NAME,NAME] [--cpu-s 60] [--memory-gb 3]`. Each part is planned alone in
a new process, nothing kept from before. The time is that of the processor, so that other work on the machine does
not count; the memory is the most that was resident. Gives a line for each part, and 1 if any went over a limit or
ended without words.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import trimesh
from manifold3d import Manifold

START = (sys.executable, "-m", "firstpour.cli.start", "plan", "part.stl", "--out", "out", "--processes", "1")
IN_WORDS = (0, 1, 2)
"""Planned; planned with a finding that it cannot work; refused with problem and remedy."""


def ball(faces: int) -> trimesh.Trimesh:
    """A wavy ball of about so many faces, 60 mm across."""
    around = round((faces / 2) ** 0.5) // 4 * 4
    round_one = Manifold.sphere(30.0, around * 2).to_mesh()
    points = np.asarray(round_one.vert_properties[:, :3], dtype=float)
    points *= 1.0 + 0.01 * np.sin(points[:, 0:1] * 0.8) * np.sin(points[:, 1:2] * 0.8)
    return trimesh.Trimesh(points, np.asarray(round_one.tri_verts), process=False)


def sieve() -> trimesh.Trimesh:
    """A plate with a hundred holes through it: genus 100."""
    plate = Manifold.cube((82.0, 82.0, 6.0))
    drill = Manifold.cylinder(10.0, 2.0, 2.0, 24)
    holes = [drill.translate((5.0 + 8.0 * x, 5.0 + 8.0 * y, -2.0)) for x in range(10) for y in range(10)]
    made = (plate - Manifold.compose(holes)).to_mesh()
    return trimesh.Trimesh(made.vert_properties[:, :3], made.tri_verts)


def box(*sides_mm: float) -> trimesh.Trimesh:
    """A plain box."""
    return trimesh.creation.box(sides_mm)


PARTS: dict[str, Callable[[], trimesh.Trimesh]] = {
    "needle 0.5 x 0.5 x 100 mm": partial(box, 0.5, 0.5, 100.0),
    "plate 200 x 200 x 0.8 mm": partial(box, 200.0, 200.0, 0.8),
    "genus 100": sieve,
    "1M faces": partial(ball, 1_000_000),
    "2M faces": partial(ball, 2_000_000),
}


def main() -> int:
    """Run it, and tell what was seen."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--only", default="", help="beginnings of names, with commas between")
    asked.add_argument("--cpu-s", type=int, default=60)
    asked.add_argument("--memory-gb", type=float, default=3.0)
    given = asked.parse_args()
    wanted = tuple(given.only.split(","))
    kept = [
        tried(name, make(), given.cpu_s, given.memory_gb) for name, make in PARTS.items() if name.startswith(wanted)
    ]
    return 0 if all(kept) else 1


def tried(name: str, mesh: trimesh.Trimesh, cpu_s: int, memory_gb: float) -> bool:
    """Plan one part; tell how it ended, and whether that was in words and within the limits."""
    with tempfile.TemporaryDirectory() as folder, open(Path(folder, "said"), "w+", encoding="utf-8") as said:
        mesh.export(Path(folder, "part.stl"))
        (Path(folder) / "shelf").mkdir()
        own = {**os.environ, "FIRSTPOUR_KEPT": "", "FIRSTPOUR_SHELF": str(Path(folder, "shelf"))}
        own["FIRSTPOUR_WORKSHOP"] = str(Path(folder, "workshop.toml"))
        process = subprocess.Popen(
            START, cwd=folder, env=own, stdout=subprocess.DEVNULL, stderr=said, preexec_fn=partial(limit, cpu_s)
        )
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = code = os.waitstatus_to_exitcode(status)
        said.seek(0)
        last = next((line.strip() for line in reversed(said.readlines()) if line.startswith("Problem")), "")
    took_s, took_gb = used.ru_utime + used.ru_stime, used.ru_maxrss / 2**20
    fine = code in IN_WORDS and took_s <= cpu_s and took_gb <= memory_gb
    sys.stdout.write(
        f"{name}: {len(mesh.faces):,} faces, {took_s:.0f} s, {took_gb:.2f} GB, ended with {code}"
        f"{'' if fine else ': NOT WITHIN THE LIMITS'} {last}\n"
    )
    sys.stdout.flush()
    return fine


def limit(cpu_s: int) -> None:
    """End this process for good after so many seconds of the processor."""
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s + 1, cpu_s + 1))


if __name__ == "__main__":
    sys.exit(main())
