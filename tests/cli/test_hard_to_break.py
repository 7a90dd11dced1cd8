"""What a command does with numbers that cannot be meant, streams that take nothing, odd names and an early Ctrl-C."""

import io
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import pytest
import typer

from firstpour.cli.main import app, register_commands
from part_files import binary_stl
from sample_shapes import box

register_commands()
START = (sys.executable, "-m", "firstpour.cli.start")
DOCS = Path(__file__).parents[2] / "docs" / "robust.md"


def commands(group: Any, name: str = "") -> list[tuple[str, Any]]:
    """Every command by the words one types."""
    found = [(f"{name} {one.name}".strip(), one.callback) for one in group.registered_commands]
    for below in group.registered_groups:
        found += commands(below.typer_instance, f"{name} {below.name}".strip())
    return found


def numbers_of(callback: Any) -> list[tuple[str, Any]]:
    """Every option or argument of a command that is a number, with what is said of it."""
    found = []
    for key, hint in get_type_hints(callback, include_extras=True).items():
        if get_origin(hint) is not Annotated:
            continue
        kind, told = get_args(hint)[:2]
        kinds = {kind, *get_args(kind)} | {inner for one in get_args(kind) for inner in get_args(one)}
        if kinds & {int, float}:
            found.append((key, told))
    return found


NUMBERS = [(name, key, told) for name, callback in commands(app) for key, told in numbers_of(callback)]


def limits_of(name: str, key: str, told: Any) -> tuple[str, str]:
    """The least and the most, as the help says them; the one argument that is a number has its own."""
    if isinstance(told, typer.models.ArgumentInfo):
        return str(told.min), str(told.max)
    said = re.search(r"\((\S+) to (\S+)\)\.$", told.help)
    assert said is not None, (name, key)
    return said[1], said[2]


def test_numbers_are_found() -> None:
    assert len(NUMBERS) > 30


@pytest.mark.parametrize(("name", "key", "told"), NUMBERS)
def test_every_number_has_sensible_limits_and_they_are_in_the_docs(name: str, key: str, told: Any) -> None:
    low, high = limits_of(name, key, told)
    assert -1e3 < float(low) < float(high) <= 1e9
    typed = f"--{key.replace('_', '-')}" if isinstance(told, typer.models.OptionInfo) else key.upper()
    assert f"| `{name}` | `{typed}` | {low} | {high} |" in DOCS.read_text(encoding="utf-8")


NEEDED = {
    "fill": ["part.stl"], "master": ["part.stl"], "draw": ["part.stl"], "plan": ["part.stl", "--out", "x"],
    "demo": [], "samples": [], "mix": ["rigid-plastic-d75-middling", "--volume-ml", "9"],
    "shelf add": ["filament-rigid", "--pack", "1 kg"], "shelf count": ["filament-rigid", "1 g"],
    "shelf use-up": ["--volume-ml", "9"],
}  # fmt: skip


@pytest.mark.parametrize(("name", "key", "told"), [row for row in NUMBERS if row[0] in NEEDED])
def test_numbers_that_cannot_be_meant_are_refused_in_words(name: str, key: str, told: Any, typed: Any) -> None:
    for given in (
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        *(["5e-324"] if float(limits_of(name, key, told)[0]) > 0 else []),
    ):
        code, out, err = typed(*name.split(), *NEEDED[name], f"--{key.replace('_', '-')}={given}")
        assert (code, out) == (2, ""), given
        assert err.startswith("Problem: "), given
        assert "Remedy:  " in err


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    (tmp_path / "shelf").mkdir()
    return {**os.environ, "FIRSTPOUR_SHELF": str(tmp_path / "shelf"), "FIRSTPOUR_KEPT": ""}


@pytest.fixture
def cube_file(tmp_path: Path) -> Path:
    (tmp_path / "cube.stl").write_bytes(binary_stl(box(20, 20, 20)))
    return tmp_path / "cube.stl"


def test_few_letters_are_no_trouble(cube_file: Path, environment: dict[str, str]) -> None:
    few = {**environment, "PYTHONIOENCODING": "ascii"}
    ran = subprocess.run([*START, "measure", str(cube_file)], capture_output=True, env=few, check=True)
    assert b"20.0 x 20.0 x 20.0 mm" in ran.stdout
    assert b"cm2" in ran.stdout
    assert ran.stderr == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("words", [("shelf", "list", "--all"), ("--help",), ("measure", "cube.stl", "--json")])
def test_a_full_stdout_is_told(cube_file: Path, environment: dict[str, str], words: tuple[str, ...]) -> None:
    with open("/dev/full", "w") as full:
        ran = subprocess.run(
            [*START, *words], stdout=full, stderr=subprocess.PIPE, text=True, env=environment, cwd=cube_file.parent,
            check=False,
        )  # fmt: skip
    assert ran.returncode == 2
    assert ran.stderr.startswith("Problem: what was to be shown could not be written")
    assert len(ran.stderr.splitlines()) == 2


def test_a_reader_that_left_and_a_closed_stdout_are_no_trouble(environment: dict[str, str]) -> None:
    read, write = os.pipe()
    os.close(read)
    for stdout in (write, None):
        shut = {"preexec_fn": lambda: os.close(1)} if stdout is None else {"stdout": stdout}
        ran = subprocess.run(
            [*START, "shelf", "list", "--all", "--json"], stderr=subprocess.PIPE, env=environment, check=False, **shut
        )
        assert ran.stderr == b""
        assert ran.returncode in (0, 1, 141)
    os.close(write)


@pytest.mark.parametrize("wait_s", [0.08, 0.2, 0.4])
def test_an_early_ctrl_c_ends_in_one_line(environment: dict[str, str], tmp_path: Path, wait_s: float) -> None:
    words = (*START, "mould", "gone.stl", "--out", "x")
    with subprocess.Popen(words, stderr=subprocess.PIPE, text=True, env=environment, cwd=tmp_path) as process:
        time.sleep(wait_s)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate()
    if process.returncode != -signal.SIGINT:  # before any code of ours ran
        assert process.returncode in (130, 2)
        assert "Traceback" not in err
        assert len(err.splitlines()) == (1 if process.returncode == 130 else 2)


LONG = "n" * 300


@pytest.mark.parametrize(
    "words",
    [
        ("measure", LONG),
        ("mould", "cube.stl", "--out", LONG),
        ("mould", "cube.stl", "--out", "a\0b"),
        ("fill", "cube.stl", "--up", "0,0,1", "--out", "a\0b"),
        ("master", "cube.stl", "--picture", f"{LONG}.png"),
        ("samples", "--faces", "5000", "--out", LONG),
        ("shelf", "list", "--shelf", LONG),
        ("shelf", "add", "filament-rigid", "--pack", "1 kg", "--shelf", "a\0b"),
        ("shelf", "add", LONG, "--like", "filament-rigid", "--set", "density=1.2 g/ml"),
        ("workshop", "set", "vacuum=no", "--workshop", LONG),
        ("workshop", "show", "--workshop", "a\0b"),
    ],
)
def test_names_that_no_file_can_have_are_refused_in_words(
    typed: Any, cube_file: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(cube_file.parent)
    monkeypatch.setenv("FIRSTPOUR_SHELF", str(cube_file.parent / "shelf"))
    code, _, err = typed(*words)
    assert code == 2
    assert err.startswith("Problem: ")
    assert [one.name for one in cube_file.parent.iterdir() if one.name != "shelf"] == ["cube.stl"]


def test_a_line_break_in_a_name_is_written_and_read_again(
    typed: Any, cube_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(cube_file.parent)
    code, _, err = typed("fill", "cube.stl", "--up", "0,0,1", "--out", "a\nb")
    assert (code, err) == (0, "")
    assert any((cube_file.parent / "a\nb").iterdir())


def test_small_matrices_get_one_thread_unless_the_user_says_otherwise(tmp_path):
    shown = "import os, sys; sys.argv = ['firstpour', '--help']\nfrom firstpour.cli.start import run\n"
    shown += "try:\n    run()\nexcept SystemExit:\n    print('threads', os.environ['OPENBLAS_NUM_THREADS'])"
    for set_by_user, expected in (({}, "1"), ({"OPENBLAS_NUM_THREADS": "3"}, "3")):
        free = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
        ran = subprocess.run([sys.executable, "-c", shown], env=free | set_by_user, capture_output=True, text=True)
        assert ran.stdout.splitlines()[-1] == f"threads {expected}"


def test_a_name_that_no_folder_can_have_is_refused_in_words(typed: Any) -> None:
    code, out, err = typed("bench", "keep", "a" * 300)
    assert (code, out) == (2, "")
    assert "File name too long" in err


def test_odd_letters_and_the_end_of_what_is_typed_are_no_trouble_at_the_bench(
    typed: Any, peg_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FIRSTPOUR_SHELF", str(peg_folder / "shelf"))
    (peg_folder / "shelf").mkdir()
    assert typed("plan", peg_folder / "peg.stl", "--out", peg_folder / "out")[0] == 0
    assert typed("bench", "keep", peg_folder / "out")[0] == 0
    assert typed("bench", "start", 1, "peg")[0] == 0
    code, out, err = typed("bench", "clock", "\udcff", "20")
    assert (code, out) == (2, "")
    assert err.startswith("Problem: what was typed has letters that are not UTF-8 ('\\udcff')")
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    code, _, err = typed("bench", "walk")
    assert (code, err) == (130, "Stopped; nothing half-written was left behind.\n")
