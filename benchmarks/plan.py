"""A whole plan of one part of about 100,000 faces, warm: all stages, every file written."""

from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.rows import Row, once_ms
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job, PartRequest
from firstpour.results import plan_into
from firstpour.samples.samples import Sample, sample_part

FACES = 100_000


def run() -> list[Row]:
    """The sea star and the bollard, read from a file as a maker would."""
    return [row for sample in (Sample.SEA_STAR, Sample.BOLLARD) for row in rows_of(sample)]


def rows_of(sample: Sample) -> list[Row]:
    """All stages, after one run to warm up."""
    part = sample_part(sample, faces=FACES)
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"{sample}.stl"
        file.write_bytes(stl_bytes(part.mesh))
        job = Job(name="bench", parts=(PartRequest(name=str(sample), file=file),))
        work = lambda: plan_into(job, Path(folder) / "out", progress=lambda *_: None)  # noqa: E731
        work()
        took = once_ms(work)
    what = f"plan of one part, all stages and files, {sample}, {len(part.mesh.faces)} faces"
    return [Row(what=what, ours=took, at_most=5_000.0)]
