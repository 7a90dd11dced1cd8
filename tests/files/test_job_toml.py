"""job.toml: what is read, and how each mistake is told."""

import dataclasses
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.demo.tide_pool import job_text, tide_pool_job, write_samples
from firstpour.errors import BadJob
from firstpour.files.checked import keys_of
from firstpour.files.job_tables import (
    FitTable,
    JobFile,
    JobTable,
    MarkTable,
    PartTable,
    PlaceTable,
)
from firstpour.files.job_toml import job_from_text, read_job, settings_from_words
from firstpour.mould.settings import MouldSettings
from firstpour.part.part import FaceMark
from firstpour.parting.values import MouldKind
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit
from firstpour.workshop.equipment import Equipment

WHOLE = """
[job]
name = "Tide pool"
due = 2027-04-16

[[workshop.printer]]
name = "large one"
process = "filament"
size_mm = [180, 180, 200]

[mould]
wall_mm = 10

[[part]]
name = "star"
file = "star.stl"
units = "in"
copies = 12
kind = "bedding"
draw = [0, 0, 2]
[[part.show]]
facing = [0, 0, 1]
within_deg = 60
[[part.keep_clear]]
box_mm = [[0, 0, 0], [1, 2, 3]]
[[part.hidden]]
faces = [3, 4]
[[part.gate]]
at_mm = [1, 2, 3]

[[part]]
sample = "limpet"
"""


def read(text: str, folder: Path):
    (folder / "star.stl").touch()
    return job_from_text(text, folder=folder)


def test_every_key_lands_where_it_belongs(tmp_path):
    job = read(WHOLE, tmp_path)
    star, limpet = job.parts
    assert (job.name, job.due, job.printer_mm) == ("Tide pool", date(2027, 4, 16), (180.0, 180.0, 200.0))
    assert job.settings == dataclasses.replace(MouldSettings(), wall_mm=10.0)
    assert (star.name, star.file, star.unit, star.copies) == ("star", tmp_path / "star.stl", LengthUnit.IN, 12)
    assert (star.kind, star.draw, star.gates_mm) == (MouldKind.BEDDING, (0.0, 0.0, 2.0), ((1.0, 2.0, 3.0),))
    assert [rule.mark for rule in star.marks] == [FaceMark.SHOW, FaceMark.HIDDEN, FaceMark.KEEP_CLEAR]
    assert star.marks[0].facing == (0.0, 0.0, 1.0)
    assert star.marks[0].within_deg == 60.0
    assert star.marks[1].faces == (3, 4)
    assert star.marks[2].box_mm == ((0.0, 0.0, 0.0), (1.0, 2.0, 3.0))
    assert (limpet.name, limpet.sample, limpet.file, limpet.copies) == ("limpet", Sample.LIMPET, None, 1)


def test_what_is_not_given_has_a_sensible_value(tmp_path):
    job = job_from_text('[[part]]\nsample = "bollard"', folder=tmp_path / "rope-posts")
    assert (job.name, job.due, job.settings, job.equipment) == ("rope-posts", None, MouldSettings(), Equipment())


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ('[[part]]\nsample = "limpet"\ncopys = 2', "part 1, copys is not a key", "did you mean copies?"),
        ('[job]\nduedate = 1\n[[part]]\nsample = "limpet"', "job, duedate is not a key", "did you mean due?"),
        ('[[part]]\nname = "a"\nfiel = "star.stl"', "part 1 (a), fiel is not a key", "did you mean file?"),
        ('[mould]\nwal_mm = 2\n[[part]]\nsample = "limpet"', "mould, wal_mm is not a key", "did you mean wall_mm?"),
        ('zzz = 1\n[[part]]\nsample = "limpet"', "zzz is not a key", "use one of: job, workshop, mould, part"),
        ('[[part]]\nsample = "limpet"\ncopies = 0', "part 1, copies is 0", "greater than or equal to 1"),
        ('[[part]]\nsample = "limpet"\ncopies = 1.5', "part 1, copies is 1.5", "copies: give an integer"),
        ('[[part]]\nsample = "limpet"\ndraw = [0, 1]', "part 1, draw has", "draw: give three, [x, y, z]"),
        ('[[part]]\nsample = "limpet"\nup = [0, 0, 1e308]', "up", "less than or equal to 100000"),
        ('[job]\ndue = "soon"\n[[part]]\nsample = "limpet"', "job, due is 'soon'", "a date such as 2027-04-16"),
        (
            '[[part]]\nsample = "limpet"\ncopies = 10001',
            "copies is 10001",
            "give a number less than or equal to 10000",
        ),
        ('[[part]]\nsample = "limpet"\ndraw = [0, 1, nan]', "part 1, draw 3 is nan", "finite"),
        ('[[part]]\nsample = "limpet"\nkind = "jelly"', "part 1, kind is 'jelly'", "'trays', 'bedding'"),
        ('[[part]]\nsample = "whale"', "part 1, sample is 'whale'", "'sea-star', 'limpet'"),
        ('[[part]]\nsample = "limpet"\nunits = "ft"', "part 1, units is 'ft'", "'mm', 'cm' or 'in'"),
        (
            '[[part]]\nsample = "limpet"\n[[part.show]]\nfacing = [0, 0, 1]\nwithin_dg = 4',
            "show 1, within_dg",
            "within_deg",
        ),
        ('[[part]]\nsample = "limpet"\n[[part.show]]', "a show table chooses no faces", "facing"),
        ('[[part]]\nsample = "limpet"\n[[part.gate]]', "gate 1, at_mm is missing", "add at_mm"),
        ('[[part]]\nname = "a"', "needs either a file or a sample", "sea-star"),
        ('[[part]]\nsample = "limpet"\nfile = "star.stl"', "needs either a file or a sample", "file ="),
        ('[[part]]\nfile = "gone.stl"', "there is no file", "relative to the job file"),
        (
            '[[part]]\nsample = "limpet"\n[[part]]\nsample = "limpet"',
            "two parts are named 'limpet'",
            "name of its own",
        ),
        ('[mould]\nwall_mm = -1\n[[part]]\nsample = "limpet"', "wall_mm is -1", "greater than or equal to 0"),
        ('[mould]\nwall_mm = "thick"\n[[part]]\nsample = "limpet"', "mould, wall_mm is 'thick'", "number"),
        (
            "[[workshop.printer]]\nname = 'x'\nsize_mm = [1, 2, 0]\n[[part]]\nsample = 'limpet'",
            "workshop, printer 1 (x), size_mm 3 is 0",
            "greater than or equal to 0.001",
        ),
        ('[job]\nname = "x"', "names no part", "[[part]]"),
        ("part = 3", "part is 3", "part:"),
        ("name = ", "not valid TOML", "mend that line"),
    ],
)
def test_a_mistake_is_told_with_its_key_and_its_remedy(text, problem, remedy, tmp_path):
    with pytest.raises(BadJob) as caught:
        read(text, tmp_path)
    assert problem in caught.value.problem
    assert remedy in caught.value.remedy


def test_all_mistakes_are_told_at_once(tmp_path):
    with pytest.raises(BadJob) as caught:
        read('[job]\ndue = "soon"\n[[part]]\nsample = "limpet"\ncopies = -1\ncolour = "red"', tmp_path)
    assert all(key in caught.value.problem for key in ("due", "copies", "colour"))


def test_a_bare_part_file_is_a_job_of_one_copy(tmp_path):
    (tmp_path / "knob.stl").touch()
    job = read_job(tmp_path / "knob.stl")
    assert (job.name, len(job.parts), job.parts[0].file, job.parts[0].copies) == (
        "knob",
        1,
        tmp_path / "knob.stl",
        1,
    )


@pytest.mark.parametrize("name", ["job.toml", "part.stl", "folder"])
def test_a_missing_file_is_told(name, tmp_path):
    with pytest.raises(BadJob, match="there is no"):
        read_job(tmp_path / name)


def test_a_job_file_that_is_not_text_is_told(tmp_path):
    (tmp_path / "job.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadJob, match="cannot be read"):
        read_job(tmp_path / "job.toml")


def test_settings_come_from_words_too():
    assert settings_from_words(["wall_mm=12.5", " floor_mm = 3 "]).wall_mm == 12.5
    for word, problem in (("wall_mm", "no value"), ("wall=1", "not a key"), ("wall_mm=nan", "nan")):
        with pytest.raises(BadJob, match=problem):
            settings_from_words([word])


@given(st.sampled_from([field.name for field in dataclasses.fields(MouldSettings)]))
def test_every_mould_setting_is_a_key_of_the_mould_table(name):
    default = getattr(MouldSettings(), name)
    assert settings_from_words([f"{name}={default}"]) == MouldSettings()
    assert name in keys_of(JobFile, ["mould"])


def test_keys_are_found_by_their_table():
    assert keys_of(JobFile) == list(JobFile.model_fields)
    assert keys_of(JobFile, ["part"]) == list(PartTable.model_fields)
    assert keys_of(JobFile, ["part", "hidden"]) == list(MarkTable.model_fields)


def test_the_example_job_is_what_the_code_writes_and_reads_like_the_demo(tmp_path):
    example = Path(__file__).parents[2] / "examples" / "tide-pool" / "job.toml"
    text = example.read_text(encoding="utf-8")
    assert text == job_text(from_files=True), "run python tools/publish.py"
    for sample in Sample:
        (tmp_path / f"{sample}.stl").touch()
    read_back, demo = job_from_text(text, folder=tmp_path), tide_pool_job()
    assert [part.name for part in read_back.parts] == [part.name for part in demo.parts]
    assert [part.copies for part in read_back.parts] == [part.copies for part in demo.parts]
    assert all(part.marks for part in read_back.parts)
    assert (read_back.due, read_back.settings, read_back.equipment) == (demo.due, demo.settings, demo.equipment)


def test_sample_files_are_written_whole_and_an_edited_job_is_kept(tmp_path):
    (tmp_path / "job.toml").write_text("# mine\n", encoding="utf-8")
    written = write_samples(tmp_path, faces=5000)
    assert sorted(file.name for file in tmp_path.iterdir()) == sorted(file.name for file in written)
    assert all((tmp_path / f"{sample}.stl").stat().st_size > 84 + 50 * 1000 for sample in Sample)
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == "# mine\n"


def test_every_key_of_a_job_is_in_the_docs_with_its_default():
    text = (Path(__file__).parents[2] / "docs" / "job.md").read_text(encoding="utf-8")
    for table in (JobTable, PartTable, MarkTable, PlaceTable, FitTable):
        for key in table.model_fields:
            assert f"| `{key}` |" in text or f"`[[part.{key}]]`" in text, key
    for entry in dataclasses.fields(MouldSettings):
        assert f"| `{entry.name}` | {entry.default:g} |" in text, entry.name
    documented = {line.split("`")[1] for line in text.split("## `[mould]`")[1].splitlines() if line.startswith("| `")}
    assert documented == set(keys_of(JobFile, ["mould"]))
    assert f"`within_deg` | … within this angle, {MarkTable().within_deg:g} if" in text


def test_the_job_in_the_docs_can_be_read(tmp_path):
    text = (Path(__file__).parents[2] / "docs" / "job.md").read_text(encoding="utf-8")
    (tmp_path / "sea-star.stl").touch()
    job = job_from_text(text.split("```toml\n")[1].split("```")[0], folder=tmp_path)
    assert (job.name, job.parts[0].copies, job.settings.wall_mm) == ("Tide pool", 12, 10.0)


def test_a_material_without_a_hardness_is_told_and_not_passed_over(tmp_path):
    text = '[[part]]\nsample = "limpet"\ncasting = "rigid-plastic-d75-middling"\n'
    with pytest.raises(BadJob, match="names its casting but no hardness") as refused:
        job_from_text(text, folder=tmp_path)
    assert "hardness =" in refused.value.remedy
    assert job_from_text(text + 'hardness = "rigid"\n', folder=tmp_path).parts[0].casting is not None
