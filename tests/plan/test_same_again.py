"""The same job planned again gives the same files, whatever the number of processes and the seed of hashes."""

import os
import subprocess
import sys
from pathlib import Path

from part_files import binary_stl
from sample_shapes import revolved

PLAN = """
import sys
from datetime import date
from pathlib import Path
from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import read_job
from firstpour.plan import crew_of
from firstpour.results import plan_into
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop

today = date(2027, 1, 4)
here = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=today), today=today)
with crew_of(int(sys.argv[1])) as crew:
    plan_into(read_job(Path("job.toml")), Path(sys.argv[2]), progress=lambda *_: None, workshop=here, crew=crew)
"""
JOB = """
[job]
name = "Two pegs"
begin = 2027-03-01
[[part]]
name = "upright"
file = "peg.stl"
hardness = "D 75"
[[part]]
name = "other"
file = "peg.stl"
kind = "block"
hardness = "rigid"
"""
PEG_MM = [(0.0, 0.0), (6.0, 0.0), (5.0, 9.0), (0.0, 9.0)]


def planned(folder: Path, *, processes: int, hash_seed: int) -> dict[str, bytes]:
    """Every file of a plan by its name, planned in a new interpreter with nothing kept from before."""
    own = {**os.environ, "PYTHONHASHSEED": str(hash_seed), "FIRSTPOUR_KEPT": "", "OPENBLAS_NUM_THREADS": "1"}
    out = folder / f"seed-{hash_seed}"
    subprocess.run([sys.executable, "-c", PLAN, str(processes), out.name], cwd=folder, env=own, check=True)
    return {file.relative_to(out).as_posix(): file.read_bytes() for file in out.rglob("*") if file.is_file()}


def test_the_same_job_gives_the_same_bytes_with_other_processes_and_another_hash_seed(tmp_path: Path) -> None:
    (tmp_path / "peg.stl").write_bytes(binary_stl(revolved(PEG_MM, segments=24)))
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    alone = planned(tmp_path, processes=1, hash_seed=1)
    beside = planned(tmp_path, processes=2, hash_seed=2)
    assert {Path(name).suffix for name in alone} >= {".json", ".stl", ".3mf", ".pdf", ".png", ".ics", ".svg"}
    assert alone.keys() == beside.keys()
    assert [name for name in alone if alone[name] != beside[name]] == []
