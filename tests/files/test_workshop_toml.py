"""workshop.toml: read over what is typical, overridden by a job, changed without losing what the maker wrote."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadJob, BadRequest
from firstpour.files.job_toml import job_from_text
from firstpour.files.places import WORKSHOP_VARIABLE
from firstpour.files.schemas import schema_of
from firstpour.files.workshop_edit import WorkshopFile
from firstpour.files.workshop_tables import WorkshopTable
from firstpour.files.workshop_toml import equipment_from_text, equipment_tables, read_equipment
from firstpour.printing.printers import FILAMENT_PRINTER, TYPICAL_PRINTERS, VAT_PRINTER
from firstpour.workshop.equipment import Equipment
from firstpour.workshop.hours import TYPICAL_WEEK, Weekday
from shelf_samples import MODEST

PAGE = (Path(__file__).parents[2] / "docs" / "workshop.md").read_text(encoding="utf-8")
EXAMPLE = PAGE.split("```toml\n")[1].split("```")[0]
PART = '[[part]]\nsample = "limpet"\n'
MINE = """# mine
[room]
temperature_c = 19  # by the door

[[printer]]
name = "old one"
process = "vat"
pixel_mm = 0.035
"""


def test_what_is_not_said_is_typical() -> None:
    assert equipment_from_text("") == Equipment()
    equipment = equipment_from_text(MINE)
    assert equipment.room.temperature_c == 19
    assert equipment.bench == Equipment().bench
    assert equipment.printers == (replace(VAT_PRINTER, name="old one", pixel_mm=0.035, origin="own figures"),)
    assert {"room.temperature_c", "printer.old one.pixel_mm"} <= equipment.given
    assert "bench.pace" not in equipment.given


def test_the_example_of_the_page_is_read() -> None:
    equipment = equipment_from_text(EXAMPLE)
    assert not equipment.vacuum.available
    assert not equipment.printers[0].overnight
    assert equipment.hours.days_off == (date(2027, 4, 2),)
    assert equipment.hours.week[Weekday.MONDAY] == TYPICAL_WEEK[Weekday.MONDAY]
    assert equipment.hours.week_min == 40 * 60 + 4 * 60


def test_the_page_says_what_is_typical() -> None:
    tables = equipment_tables(Equipment())
    for part in ("vacuum", "pressure_pot", "room"):
        for key, value in tables[part].items():
            shown = str(value).lower() if isinstance(value, bool) else f"{value:.8g}"
            assert f"| `{key}` | {shown} |" in PAGE.split(f"## `[{part}]`")[1].split("## ")[0], key


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ("[romo]\n", "romo is not a key", "did you mean room?"),
        ("[room]\ntemperature_c = true", "room, temperature_c is true", "give a number"),
        ("[room]\ntemperature_c = 66", "room, temperature_c is 66", "less than or equal to 60"),
        ("[room]\nby_hour_c = [20, 21]", "room, by_hour_c is [20, 21]", "at least 24"),
        ("[bench]\ncontainers_ml = []", "containers_ml is []", "at least 1"),
        ("[bench]\npace = 'frantic'", "pace is 'frantic'", "'practised'"),
        ("[hours]\nmonday = ['9-5']", "monday is", "09:00-12:00"),
        ("[hours]\nmonday = '9:00-17:00'", "monday is", "a list"),
        ("[hours]\ntime_zone = 'Mars/Base'", "time_zone is 'Mars/Base'", "Atlantic/Azores"),
        ("[hours]\ntime_zone = '../../etc/passwd'", "time_zone is", "Atlantic/Azores"),
        ("[hours]\ndays_off = ['soon']", "days_off 1 is 'soon'", "2027-04-16"),
        ("[pressure_pot]\nrated_pa = 100000", "above the 1 bar", "a pot above its rating bursts"),
        ("[[printer]]\nname = 'a'", "the printer 'a' says no process", "process ="),
        ("[[printer]]\nname = 'a'\nprocess = 'laser'", "printer 1 (a), process is 'laser'", "'filament' or 'vat'"),
        ("[[printer]]\nprocess = 'vat'", "printer 1, name is missing", "add name"),
        ("[[printer]]\nname = 'vat printer'\n" * 2, "two printers are named 'vat printer'", "name of its own"),
        ("[[printer]]\nname = 'vat printer'\npixel_mm = 0", "pixel_mm of 0", "above 0"),
        ("[[printer]]\nname = 'vat printer'\nlayer_heights_mm = [50]", "layer_heights_mm 1 is 50", "equal to 2"),
        ("printer = []", "list of printers is empty", "leave it out"),
    ],
)
def test_a_mistake_is_told_with_its_key_and_its_remedy(text: str, problem: str, remedy: str) -> None:
    with pytest.raises(BadRequest) as refused:
        equipment_from_text(text)
    assert problem in refused.value.problem
    assert remedy in refused.value.remedy


def test_a_job_lays_its_own_over_the_workshop_and_both_over_what_is_typical() -> None:
    here = equipment_from_text(MINE)
    job = job_from_text(PART + "[workshop.vacuum]\navailable = false\n", folder=Path(), equipment=here)
    assert job.equipment == replace(
        here, vacuum=replace(here.vacuum, available=False), given=here.given | {"vacuum.available"}
    )
    assert (job.temperature_c, job.printer_mm) == (19, VAT_PRINTER.size_mm)


def test_printers_of_a_job_are_its_only_ones_and_a_name_picks_one() -> None:
    here = Equipment()
    picked = '[[workshop.printer]]\nname = "filament printer"\n'
    assert job_from_text(PART + picked, folder=Path(), equipment=here).equipment.printers == (FILAMENT_PRINTER,)
    with pytest.raises(BadJob, match="limpet: there is no vat printer"):
        job_from_text(PART + 'process = "vat"\n' + picked, folder=Path(), equipment=here)
    with pytest.raises(BadJob, match=r"job.toml, workshop: the printer 'x' says no process"):
        job_from_text(PART + '[[workshop.printer]]\nname = "x"\n', folder=Path())


def test_a_named_file_must_be_there_and_the_usual_one_need_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(WORKSHOP_VARIABLE, str(tmp_path / "none.toml"))
    assert read_equipment(None) == Equipment()
    with pytest.raises(BadRequest, match="there is no workshop file"):
        read_equipment(tmp_path / "mistyped.toml")
    (tmp_path / "none.toml").write_text(MINE, encoding="utf-8-sig")
    assert read_equipment(None).room.temperature_c == 19


def changed(path: Path, *words: str) -> Equipment:
    file = WorkshopFile(path)
    file.set_words(words)
    return file.save()


def test_a_change_keeps_comments_and_everything_else(tmp_path: Path) -> None:
    path = tmp_path / "shop" / "workshop.toml"
    path.parent.mkdir()
    path.write_text(MINE, encoding="utf-8")
    equipment = changed(path, "vacuum=no", "printer.old one.sag_ratio=0.2 %", "room.temperature_c=20")
    assert (equipment.vacuum.available, equipment.printers[0].sag_ratio, equipment.room.temperature_c) == (
        False,
        0.002,
        20,
    )
    text = path.read_text(encoding="utf-8")
    assert "# mine" in text
    assert "temperature_c = 20 # by the door" in text.replace("  #", " #")
    assert read_equipment(path) == equipment


@pytest.mark.parametrize(
    ("word", "key", "value"),
    [
        ("vacuum=no", "vacuum.available", False),
        ("pressure_pot=yes", "pressure_pot.available", True),
        ("pressure_pot.used_pa=40 psi", "pressure_pot.used_pa", pytest.approx(275_790, abs=1)),
        ("room.temperature_c=68 °F", "room.temperature_c", 20),
        ("vacuum.size_ml=2.5 l", "vacuum.size_ml", 2500),
        ("bench.containers_ml=[100, 200]", "bench.containers_ml", (100, 200)),
        ("bench.pace=unhurried", "bench.pace", "unhurried"),
        ("hours.monday=closed", "hours.monday", []),
        ("hours.monday=9:00-12:00, 13:00-17:00", "hours.monday", ["09:00-12:00", "13:00-17:00"]),
        ("hours.time_zone=UTC", "hours.time_zone", "UTC"),
    ],
)
def test_words_are_set_as_they_are_said(word: str, key: str, value: object, tmp_path: Path) -> None:
    equipment = changed(tmp_path / "w.toml", word)
    part, _, name = key.partition(".")
    assert equipment_tables(equipment)[part][name] == value
    assert key in equipment.given


@pytest.mark.parametrize(
    ("word", "problem", "remedy"),
    [
        ("vacuum", "sets nothing", "key=value"),
        ("rom.temperature_c=3", "no key of a workshop", "did you mean room.temperature_c?"),
        ("room.temprature_c=3", "temprature_c is not a key", "did you mean temperature_c?"),
        ("vacuum=maybe", "no key of a workshop", ""),
        ("room.temperature_c=warm", "temperature_c is 'warm'", "give a number"),
        ("room.temperature_c=20 stone", "stone", "°F"),
        ("printer.nobody.pixel_mm=1", "no printer 'nobody'", "old one"),
        ("printer.old one.pixl_mm=1", "pixl_mm is not a key", "did you mean pixel_mm?"),
    ],
)
def test_a_change_that_makes_no_sense_leaves_the_file_as_it_was(
    word: str, problem: str, remedy: str, tmp_path: Path
) -> None:
    path = tmp_path / "workshop.toml"
    path.write_text(MINE, encoding="utf-8")
    with pytest.raises(BadRequest) as refused:
        changed(path, "room.temperature_c=21", word)
    assert problem in refused.value.problem
    assert remedy in refused.value.remedy
    assert path.read_text(encoding="utf-8") == MINE


def test_printers_come_and_go_and_without_any_the_typical_ones_stand_in(tmp_path: Path) -> None:
    path = tmp_path / "w.toml"
    for name in ("one", "two"):
        file = WorkshopFile(path)
        file.add_printer(name, ["process=filament", "size_mm=[250, 210, 200]"])
        file.save()
    assert [printer.name for printer in read_equipment(path).printers] == ["one", "two"]
    with pytest.raises(BadRequest, match="already"):
        WorkshopFile(path).add_printer("one", [])
    with pytest.raises(BadRequest, match="no printer 'three'"):
        WorkshopFile(path).remove_printer("three")
    for name, left in (("one", ["two"]), ("two", [printer.name for printer in TYPICAL_PRINTERS])):
        file = WorkshopFile(path)
        file.remove_printer(name)
        assert [printer.name for printer in file.save().printers] == left


def test_a_figure_of_a_typical_printer_keeps_the_other_one(tmp_path: Path) -> None:
    equipment = changed(tmp_path / "w.toml", "printer.vat printer.pixel_mm=0.03")
    assert [printer.name for printer in equipment.printers] == [printer.name for printer in TYPICAL_PRINTERS]
    assert equipment.printers[1].pixel_mm == 0.03


@MODEST
@given(
    temperature_c=st.floats(-20, 60),
    containers_ml=st.lists(st.floats(1, 1e6), min_size=1, max_size=4),
    name=st.text(min_size=1, max_size=20).filter(lambda one: one.isprintable() and one == one.strip()),
    overnight=st.booleans(),
)
def test_all_that_is_known_can_be_written_down_and_read_again(
    temperature_c: float, containers_ml: list[float], name: str, overnight: bool
) -> None:
    import tomlkit

    tables = equipment_tables(Equipment())
    tables["room"]["temperature_c"] = temperature_c
    tables["bench"]["containers_ml"] = containers_ml
    tables["printer"][0] |= {"name": name, "overnight": overnight}
    plain = {part: dict(table) if isinstance(table, dict) else table for part, table in tables.items()}
    text = tomlkit.dumps(plain)
    equipment = equipment_from_text(text)
    assert (equipment.room.temperature_c, equipment.bench.containers_ml) == (temperature_c, tuple(containers_ml))
    assert (equipment.printers[0].name, equipment.printers[0].overnight) == (name, overnight)
    assert equipment_from_text(tomlkit.dumps(equipment_tables(equipment))) == equipment


def test_the_schema_takes_the_example_and_not_what_the_reader_refuses() -> None:
    import tomllib

    validator = jsonschema.Draft202012Validator(schema_of(WorkshopTable))
    example = tomllib.loads(EXAMPLE.replace("2027-04-02", '"2027-04-02"'))
    validator.validate(example)
    with pytest.raises(jsonschema.ValidationError):
        validator.validate({"room": {"temperature_c": 66}})
