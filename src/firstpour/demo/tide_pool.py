"""The example job: a children's museum builds a touch-table tide pool. All of it is invented."""

from pathlib import Path

from firstpour.files.job_toml import job_from_text
from firstpour.files.rounding import rounded
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job
from firstpour.samples.samples import Sample, sample_part
from firstpour.writing.whole import Over, may_write, write_all_whole, write_whole

JOB_TEXT = """\
# A children's museum builds a touch-table tide pool. Everything here is invented.
# `firstpour samples` writes the part files; `firstpour plan job.toml --out results` plans the job.

[job]
name = "Tide pool"
begin = 2027-03-01
due = 2027-04-16

[workshop.room]
temperature_c = 21

[mould]
wall_mm = 8

# Soft, lies on its flat back: nobody sees the underside.
[[part]]
name = "sea star"
{sea-star}
copies = 12
hardness = "A 20"

# Rigid shell with a deep cone.
[[part]]
name = "limpet"
{limpet}
copies = 8
hardness = "rigid"

# Soft, screwed to the wall of the table by its lugs; a window sits in the bore, so roundness matters:
# a master printed by itself, laid half deep in a bedding.
[[part]]
name = "porthole ring"
{porthole-ring}
copies = 2
kind = "bedding"
hardness = "soft as rubber"

# Rigid, with an undercut neck for the rope.
[[part]]
name = "bollard"
{bollard}
copies = 4
hardness = "D 75"
"""

MARKS = {
    Sample.SEA_STAR: """\
[[part.show]]
facing = [0, 0, 1]
within_deg = 135
[[part.hidden]]
facing = [0, 0, -1]
within_deg = 45""",
    Sample.LIMPET: """\
[[part.show]]
facing = [0, 0, 1]
within_deg = 91
[[part.hidden]]
facing = [0, 0, -1]
within_deg = 89""",
    Sample.PORTHOLE_RING: """\
[[part.hidden]]
facing = [0, 0, -1]
within_deg = 30""",
    Sample.BOLLARD: """\
[[part.hidden]]
facing = [0, 0, -1]
within_deg = 45""",
}


def job_text(*, from_files: bool) -> str:
    """The job file; the parts are the samples themselves, or files that `write_samples` wrote."""
    text = JOB_TEXT
    for sample in Sample:
        text = text.replace("{" + sample + "}", f'file = "{sample}.stl"' if from_files else f'sample = "{sample}"')
    return "\n\n".join(_with_marks(block) if from_files else block for block in text.split("\n\n")).rstrip() + "\n"


def _with_marks(block: str) -> str:
    """The block of one part with its marks: a file carries none."""
    marks = [MARKS[sample] for sample in Sample if f"{sample}.stl" in block]
    return "\n".join([block.rstrip(), *marks])


def tide_pool_job() -> Job:
    """The job with its parts made on the spot."""
    return job_from_text(job_text(from_files=False), folder=Path())


def write_samples(folder: Path, *, faces: int = 20_000) -> tuple[Path, ...]:
    """Write the four parts and job.toml into `folder`; give the files. A job.toml that is there already is kept.

    Raises
    ------
    CannotWrite
        If the folder or a file cannot be written, or a part of that name is there that is not ours.
    """
    files = {folder / f"{sample}.stl": sample for sample in Sample}
    for path in files:
        may_write(path, over=Over.OURS)
    parts = {path: stl_bytes(rounded(sample_part(sample, faces=faces).mesh).mesh) for path, sample in files.items()}
    write_all_whole(parts, over=Over.OURS)
    job = folder / "job.toml"
    if not job.exists():
        write_whole(job, job_text(from_files=True).encode(), over=Over.NOTHING)
    return (*files, job)
