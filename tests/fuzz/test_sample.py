"""A sample of the mutated files, and every case that was found once."""

import warnings
from pathlib import Path

import pytest

from firstpour.errors import BadJob
from firstpour.files.job_toml import job_from_text
from fuzz.cases import Kind, kinds, tried, try_case
from fuzz.commands import try_line

SAMPLE = 40
FOUND = sorted(Path(__file__).parent.joinpath("found").glob("*.bin"))
BY_NAME = {one.name.replace(" ", "-"): one for one in kinds()}


@pytest.mark.parametrize("kind", kinds(), ids=lambda one: one.name)
def test_a_mutated_file_is_read_or_refused_in_words(kind: Kind) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for sound in kind.sound:
            kind.read(sound)
        failures = [found for seed in range(SAMPLE) if (found := try_case(kind, seed)) is not None]
    assert [(one.seed, one.what) for one in failures] == []


@pytest.mark.parametrize("seed", range(30))
def test_a_command_line_at_random_ends_in_a_result_or_in_words(seed: int) -> None:
    found = try_line(seed)
    assert found is None, found


@pytest.mark.parametrize("path", FOUND, ids=lambda one: one.stem)
def test_what_was_found_once_is_mended(path: Path) -> None:
    found = tried(BY_NAME[path.stem.rpartition("-")[0]], path.read_bytes())
    assert found is None, found


@pytest.mark.parametrize("length", ["5e-324", "0.0009", "0", "-1", "1e5"])
def test_a_length_that_cannot_be_meant_is_refused(length: str, tmp_path: Path) -> None:
    text = f'[[part]]\nsample = "bollard"\n[[part.fit]]\nkind = "hole"\nnominal_mm = {length}\ntolerance_mm = 0.1\n'
    with pytest.raises(BadJob, match="nominal_mm"):
        job_from_text(text, folder=tmp_path)
