"""Whatever bytes a maker's file holds, it is read or refused in words."""

import tempfile
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.demo.tide_pool import job_text
from firstpour.errors import BadJob, BadRequest, WorkshopError
from firstpour.files.checked import MOST_TOLD, checked
from firstpour.files.job_tables import JobFile
from firstpour.files.job_toml import job_from_text, read_job
from firstpour.files.material_toml import read_material
from firstpour.files.toml_text import LARGEST_BYTES, read_text, tables_from, value_of_word
from firstpour.files.workshop_edit import WorkshopFile
from firstpour.files.workshop_toml import equipment_from_text
from shelf_samples import MODEST, PLASTIC_TEXT

WORKSHOP = (Path(__file__).parents[2] / "docs" / "workshop.md").read_text(encoding="utf-8").split("```")[1][5:]
JOB = job_text(from_files=False)
PIECES = st.sampled_from(
    [*'\n[]{}"=.#\0\x85é', "nan", "-inf", "true", "1" * 400, "9" * 5000, "1e400", "2027-04-16", "[[part]]", "[[" * 40]
)


@st.composite
def mutated(draw: st.DrawFn, text: str) -> str:
    """The text with a few places cut out, doubled or written over."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        stop = min(len(text), start + draw(st.integers(0, 12)))
        text = text[:start] + draw(st.one_of(PIECES, st.just(text[start:stop] * 2), st.just(""))) + text[stop:]
    return text


def told_of(read: Callable[[], object]) -> None:
    """Read it; a refusal has a problem of a sensible length and a remedy, and nothing else may be raised."""
    told = ("", "")
    try:
        read()
    except (BadJob, BadRequest) as refused:
        told = (refused.problem, refused.remedy)
    assert (told[0] == "") == (told[1] == "")
    assert max(len(words) for words in told) < 20_000


@MODEST
@given(mutated(JOB))
def test_a_broken_job_is_read_or_refused_in_words(text: str) -> None:
    told_of(lambda: job_from_text(text, folder=Path()))


@MODEST
@given(mutated(PLASTIC_TEXT))
def test_a_broken_record_is_read_or_refused_in_words(text: str) -> None:
    told_of(lambda: read_material(text, source="x"))


@MODEST
@given(mutated(WORKSHOP))
def test_a_broken_workshop_is_read_or_refused_in_words(text: str) -> None:
    told_of(lambda: equipment_from_text(text))


@MODEST
@given(
    st.lists(st.text(max_size=40), max_size=3),
    st.sampled_from(["", "room.temperature_c=", "hours.monday=", "vacuum="]),
)
def test_any_words_are_set_or_refused_in_words(words: list[str], key: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = WorkshopFile(Path(folder, "workshop.toml"))
        told_of(lambda: file.set_words([key + word for word in words]))
        told_of(file.save)


@given(st.dictionaries(st.text(), st.recursive(st.integers() | st.booleans() | st.text(), st.lists), max_size=4))
def test_tables_of_anything_are_read_or_refused_in_words(tables: dict[str, object]) -> None:
    tables = {**tables, "part": [tables], "mould": tables}
    told_of(lambda: checked(JobFile, tables, called="x", refused=BadJob))


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"\xff\xfe\x00", "byte 0 is no UTF-8"),
        (b"name = 'x'\n\xe9", "byte 11 is no UTF-8"),
        (b"x = " + b"[" * 100_000, "nested too deeply"),
        (b"x = " + b"9" * 5_000, "too many digits"),
        (b"#" * (LARGEST_BYTES + 1), "longer than 4 MB"),
        (b"x = 1\r\rx", "not valid TOML"),
        (b"[mould]\nwall_mm = 1" + b"0" * 4_000, "wall_mm is 1000"),
    ],
)
def test_a_file_that_no_reader_can_take_is_told(content: bytes, problem: str, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_bytes(content)
    with pytest.raises(BadJob) as refused:
        read_job(tmp_path / "job.toml")
    assert problem in refused.value.problem
    assert refused.value.remedy


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8-sig")
    assert read_job(tmp_path / "job.toml").name == "Tide pool"
    assert tables_from("\N{ZERO WIDTH NO-BREAK SPACE}a = 1", called="x", refused=BadJob) == {"a": 1}


def test_a_folder_and_a_name_that_no_file_can_have_are_told(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / ("x" * 300), tmp_path / "a\0b"):
        with pytest.raises(WorkshopError, match="cannot be read"):
            read_text(path, refused=BadRequest, what="job file")


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("[mould]\nwall_mm = true", "mould, wall_mm is true"),
        ('[mould]\nwall_mm = "10"', "mould, wall_mm is '10'"),
        ("[[part]]\nsample = 'limpet'\ncopies = true", "copies is true"),
        ("[[part]]\nsample = 'limpet'\nclear = 1", "clear is 1"),
        ("[[part]]\nsample = 'limpet'\ndraw = [true, false, true]", "draw 1 is true"),
        ('[[part]]\nsample = "limpet"\nname = "two\\nlines"', "name is 'two\\nlines'"),
        ('[[part]]\nsample = "limpet"\nname = ""', "name is ''"),
    ],
)
def test_what_only_looks_like_a_number_or_a_name_is_refused(line: str, problem: str) -> None:
    with pytest.raises(BadJob) as refused:
        job_from_text(line, folder=Path())
    assert problem in refused.value.problem
    assert "give " in refused.value.remedy


def test_a_file_name_that_does_not_print_becomes_a_plain_part_name(tmp_path: Path) -> None:
    for name in ("two\nlines.stl", "caf\udce9.stl"):
        (tmp_path / name).touch()
        assert read_job(tmp_path / name).parts[0].name.isprintable()


def test_so_many_mistakes_are_counted_and_not_all_told() -> None:
    text = "\n".join(f"key{k} = 1" for k in range(500))
    with pytest.raises(BadJob) as refused:
        job_from_text(text, folder=Path())
    assert f"and {500 - MOST_TOLD} more" in refused.value.problem
    assert len(refused.value.problem) < 2000


@given(st.text(max_size=30))
def test_a_word_of_the_command_line_is_a_toml_value_or_itself(word: str) -> None:
    value = value_of_word(word)
    try:
        expected = tomllib.loads(f"value = {word.strip()}\n")["value"]
    except (ValueError, KeyError):
        expected = word.strip()
    assert value == expected or value != value
