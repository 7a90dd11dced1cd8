"""Jobs as folders: job.toml with its part files, and beside them what was worked out."""

import hashlib
import json
import re
import secrets
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from firstpour.demo.tide_pool import tide_pool_job, write_samples
from firstpour.errors import BadJob
from firstpour.files.job_toml import job_from_text, read_job
from firstpour.files.pieces import file_stems
from firstpour.files.toml_text import read_text
from firstpour.files.workshop_toml import read_equipment
from firstpour.job.job import Job, PartRequest
from firstpour.stock.demo_stock import demo_stock
from firstpour.store.place import store_in
from firstpour.store.stock_rows import add_packs
from firstpour.web.entries import Doing
from firstpour.web.refusals import NotThere
from firstpour.writing.beside import clear_left_overs, partial_folder
from firstpour.writing.whole import Over, write_all_whole, write_whole

JOB_FILE, RESULTS, SHOWN, SHELF = "job.toml", "results", "shown", "shelf"
STAMPS_FILE, CALENDAR_FILE = "stamps.json", "calendar.ics"
ID = re.compile(r"[a-z0-9][a-z0-9-]{0,79}")
FILE_OF = {Doing.ROUTES: "routes.json", Doing.SCHEDULE: "schedule.json"}


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFolder:
    """One job on the disk; `workshop` is the user's workshop file where it is not the usual one."""

    id: str
    path: Path
    workshop: Path | None = None

    @property
    def job_file(self) -> Path:
        """The job file."""
        return self.path / JOB_FILE

    @property
    def results(self) -> Path:
        """Where the plan is written."""
        return self.path / RESULTS

    @property
    def shelf(self) -> Path | None:
        """The job's own shelf; None where it is planned from the user's."""
        own = self.path / SHELF
        return own if own.is_dir() else None

    def read(self) -> Job:
        """The job as it is asked now.

        Raises
        ------
        BadJob
            If its file cannot be meant, names a file outside the folder, or has parts together in one mould.
        """
        job = read_job(self.job_file, equipment=read_equipment(self.workshop))
        self._refuse_foreign(job)
        return job

    def text(self) -> str:
        """The text of the job file."""
        return read_text(self.job_file, refused=BadJob, what="job file")

    def change(self, text: str) -> Job:
        """Write another job file, once it can be read.

        Raises
        ------
        BadJob
            If it cannot be meant; the file is then as it was.
        """
        job = job_from_text(text, folder=self.path, equipment=read_equipment(self.workshop))
        self._refuse_foreign(job)
        write_whole(self.job_file, text.encode(), over=Over.ANYTHING)
        return job

    def part(self, key: str) -> PartRequest:
        """The part of that key.

        Raises
        ------
        NotThere
            If there is none.
        """
        parts = keyed_parts(self.read())
        if key not in parts:
            raise NotThere(f"the job has no part {key!r}", remedy=f"there are: {', '.join(parts)}")
        return parts[key]

    def asked(self, job: Job | None = None) -> str:
        """Names what is asked: equal as long as nothing of it has changed. `job`: as it was just read."""
        told = hashlib.blake2b(self.text().encode(), digest_size=12)
        for part in (job or self.read()).parts:
            if part.file is not None:
                status = part.file.stat()
                told.update(f"{part.file.name} {status.st_size} {status.st_mtime_ns}".encode())
        return told.hexdigest()

    def stamps(self) -> dict[str, str]:
        """What was asked when each result was worked out."""
        try:
            read = json.loads((self.path / STAMPS_FILE).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return {str(key): str(value) for key, value in read.items()} if isinstance(read, dict) else {}

    def stamp(self, doing: Doing, asked: str) -> None:
        """Note that a result answers what was asked so."""
        stamps = {**self.stamps(), doing.value: asked}
        write_whole(self.path / STAMPS_FILE, json.dumps(stamps).encode(), over=Over.ANYTHING)

    def result_file(self, doing: Doing) -> Path:
        """The file that holds a result."""
        return self.results / "plan.json" if doing is Doing.PLAN else self.path / FILE_OF[doing]

    def tidy(self) -> None:
        """Clear what a run that was ended may have left."""
        clear_left_overs(self.results)
        clear_left_overs(self.path / SHOWN)

    def _refuse_foreign(self, job: Job) -> None:
        home = self.path.resolve()
        for part in job.parts:
            if part.members:
                raise BadJob(
                    f"{part.name}: parts together in one mould cannot be shown here yet",
                    remedy="plan the job file at the command line, or take its [[together]] table out",
                )
            if part.file is not None and home not in part.file.resolve().parents:
                raise BadJob(
                    f"{part.name}: its file lies outside the job", remedy="put the part file beside job.toml"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFolders:
    """All jobs of the user: `root` holds a folder for each."""

    root: Path
    workshop: Path | None = None

    def all(self) -> list[JobFolder]:
        """Every job, the last changed first."""
        if not self.root.is_dir():
            return []
        found = [self._at(one.name) for one in self.root.iterdir() if ID.fullmatch(one.name)]
        there = [one for one in found if one.job_file.is_file()]
        return sorted(there, key=lambda one: one.job_file.stat().st_mtime_ns, reverse=True)

    def get(self, job_id: str) -> JobFolder:
        """The job of that id.

        Raises
        ------
        NotThere
            If there is none.
        """
        if ID.fullmatch(job_id) and self._at(job_id).job_file.is_file():
            return self._at(job_id)
        raise NotThere(f"there is no job {job_id[:80]!r}", remedy="go back to the list of jobs")

    def add(self, files: Mapping[Path, bytes], *, name: str) -> JobFolder:
        """A new job of these files, by their paths in its folder; none where they make no job.

        Raises
        ------
        BadJob
            If the job file among them cannot be meant.
        CannotWrite
            If the disk refuses.
        """
        job = self._at(f"{file_stems([name])[0]}-{secrets.token_hex(3)}")
        self.root.mkdir(parents=True, exist_ok=True)
        with partial_folder(job.path) as partial:
            write_all_whole({partial / path: content for path, content in files.items()}, over=Over.NOTHING)
            JobFolder(id=job.id, path=partial, workshop=self.workshop).read()
            partial.rename(job.path)
        return job

    def add_demo(self, *, today: date, now: datetime, faces: int = 20_000) -> JobFolder:
        """The tide pool, with the invented shelf of its workshop."""
        job = self._at(f"tide-pool-{secrets.token_hex(3)}")
        self.root.mkdir(parents=True, exist_ok=True)
        begins = tide_pool_job().begin or today
        with partial_folder(job.path) as partial:
            write_samples(partial, faces=faces)
            add_packs(store_in(partial / SHELF), list(demo_stock(today=begins)), at=now)
            partial.rename(job.path)
        return job

    def remove(self, job: JobFolder) -> None:
        """Take a job away with all that was worked out for it."""
        shutil.rmtree(job.path, ignore_errors=True)

    def _at(self, job_id: str) -> JobFolder:
        return JobFolder(id=job_id, path=self.root / job_id, workshop=self.workshop)


def keyed_parts(job: Job) -> dict[str, PartRequest]:
    """The parts by the key that names them in addresses: the stem of their files in the results."""
    return dict(zip(file_stems([part.name for part in job.parts]), job.parts, strict=True))
