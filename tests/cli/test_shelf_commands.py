"""The commands, as they are typed."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from firstpour.cli.main import app, register_commands
from firstpour.errors import WorkshopError

register_commands()
CONTRACT = {
    "total_g",
    "part_a_g",
    "part_b_g",
    "additives_g",
    "pot_life_min",
    "demould_min",
    "container_ml",
    "ratio_error_ratio",
    "findings",
}


@pytest.fixture(autouse=True)
def own_shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shelf").mkdir()
    monkeypatch.setenv("FIRSTPOUR_SHELF", str(tmp_path / "shelf"))


def typed(*words: str) -> Result:
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == 0, (result.output, result.exception)
    return result


def answer(*words: str) -> Any:
    return json.loads(typed(*words, "--json").stdout)


def refusal(*words: str) -> WorkshopError:
    result = CliRunner().invoke(app, list(words))
    assert isinstance(result.exception, WorkshopError), result.output
    return result.exception


def test_mix_gives_the_keys_of_the_contract() -> None:
    mix = answer("mix", "rigid-plastic-d75-middling", "--volume-ml", "120", "--loss-ml", "0")
    assert set(mix) >= CONTRACT
    # by hand: 100 g of A at 1.1 g/ml and 90 g of B at 0.99 g/ml make 181.8182 ml, 1.045 g/ml
    assert mix["total_g"] == pytest.approx(120 * 1.045, abs=5e-5)
    assert mix["part_a_g"] == pytest.approx(66.0, abs=5e-5)
    assert mix["additives_g"] == {}


def test_mix_with_colour_accelerator_and_a_warm_room() -> None:
    words = ("mix", "flexible-rubber-a30-slow", "--volume-ml", "400")
    plain = answer(*words)
    full = answer(*words, "--colourant-ratio", "0.01", "--accelerator-ratio", "0.01", "--temperature-c", "28")
    assert set(full["additives_g"]) == {"urethane-colourant", "urethane-accelerator"}
    assert full["pot_life_min"] < 0.5 * plain["pot_life_min"]
    assert full["demould_min"] < 0.5 * plain["demould_min"]
    other = answer(*words, "--additive", "urethane-softener=20 %", "--softener-ratio", "0")
    assert other["additives_g"]["urethane-softener"] == pytest.approx(0.2 * other["part_b_g"])


def test_a_material_is_shown_with_the_range_of_its_class_and_both_ratios() -> None:
    words = " ".join(typed("shelf", "show", "rigid-plastic-d75-middling").stdout.split())
    for said in ("100:90 A:B by weight, 100:100 by volume", "6 to 12 min", "0.2 to 0.8 %", "until 2028-12-31"):
        assert said in words


def test_mix_in_words_says_what_to_weigh_and_the_cautions() -> None:
    asked = ("mix", "rigid-plastic-d70-fast", "--volume-ml", "180", "--cavities", "4")
    words, weigh_a_g = typed(*asked).stdout, answer(*asked)["batch"]["weigh_a_g"]
    for said in ("part A", f"{weigh_a_g:g}", "pot life", "Prepare the cups", "Cautions", "The data sheet", "NIOSH"):
        assert said in words


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("mix", "nothing-like-it", "--volume-ml", "10"), "no material"),
        (("mix", "filament-rigid", "--volume-ml", "10"), "nothing to mix"),
        (("mix", "rigid-plastic-d75-middling", "--volume-ml", "-3"), "volume"),
        (("mix", "rigid-plastic-d75-middling", "--volume-ml", "10", "--temperature-c", "50"), "50 °C"),
        (("mix", "rigid-plastic-d75-middling", "--volume-ml", "10", "--accelerator-ratio", "0.1"), "no accelerator"),
        (("mix", "flexible-rubber-a30-slow", "--volume-ml", "10", "--accelerator-ratio", "0.1"), "outside its table"),
        (("mix", "flexible-rubber-a30-slow", "--volume-ml", "10", "--accelerator-ratio", "-0.1"), "is -0.1"),
        (("mix", "flexible-rubber-a30-slow", "--volume-ml", "10", "--pace", "frantic"), "no pace"),
        (("mix", "flexible-rubber-a30-slow", "--volume-ml", "10", "--scale-g", "0"), "scale"),
        (("shelf", "show", "x"), "no material"),
        (("shelf", "list", "--kind", "cheese"), "no kind"),
        (("shelf", "add", "brand-new"), "new"),
        (("shelf", "add", "brand-new", "--like", "filament-rigid", "--set", "density=1 stone"), "stone"),
        (("shelf", "add", "brand-new", "--like", "filament-rigid", "--set", "weight=1 g"), "no figure"),
        (("shelf", "add", "brand-new", "--like", "filament-rigid", "--set", "density"), "sets nothing"),
        (("shelf", "add", "brand-new", "--like", "filament-rigid", "--json"), "no figure"),
        (("shelf", "add", "filament-rigid", "--pack", "1 kg + 1 kg"), "1 kg + 1 kg"),
        (("shelf", "add", "filament-rigid", "--pack", "soon"), "no amount"),
        (("shelf", "add", "filament-rigid", "--pack", "1 kg", "--like", "filament-rigid"), "--pack"),
        (("shelf", "add", "filament-rigid", "--pack", "1 kg", "--bought", "yesterday"), "no date"),
        (
            ("shelf", "add", "filament-rigid", "--pack", "1 kg", "--bought", "2026-03-01", "--opened", "2025-01-01"),
            "before it was bought",
        ),
        (("shelf", "take", "filament-rigid", "1 kg"), "left that is still good"),
        (("shelf", "take", "filament-rigid", "-1 kg"), "no amount"),
        (("shelf", "count", "filament-rigid", "1 kg"), "no such pack"),
        (("shelf", "use-up", "--volume-ml", "100", "--master", "clay"), "no printing process"),
        (("shelf", "use-up", "--volume-ml", "-1"), "volume"),
    ],
)
def test_what_cannot_be_meant_is_a_problem_with_a_remedy(words: tuple[str, ...], says: str) -> None:
    if any(word.startswith("-1 ") for word in words):
        words = (*words[:2], "--", *words[2:])
    error = refusal(*words)
    assert says in error.problem
    assert error.remedy


def test_an_own_material_is_entered_shown_and_not_lost(tmp_path: Path) -> None:
    added = answer(
        "shelf",
        "add",
        "own-a22",
        "--like",
        "addition-silicone-a20-fast",
        "--name",
        "Own silicone",
        "--ratio",
        "1:1 by volume",
        "--set",
        "density_b=1.02 g/ml",
        "--set",
        "pot_life=0.2 h @ 77 F, 0.2 kg",
        "--set",
        "shore_a=22",
    )
    pot_life = added["figures"]["pot_life"]
    assert (pot_life["value"], pot_life["temperature_c"], pot_life["mass_g"]) == (12, 25, 200)
    assert pot_life["origin"] == "data sheet"
    assert added["figures"]["demould"]["origin"] == "typical"
    assert added["ratio_b_per_100_a"] == pytest.approx(100 * 1.02 / 1.08)
    shown = answer("shelf", "show", "own-a22")
    assert {key: shown[key] for key in ("figures", "name", "kind")} == {
        key: added[key] for key in ("figures", "name", "kind")
    }
    assert "Own silicone" in typed("shelf", "show", "own-a22").stdout
    assert "already" in refusal("shelf", "add", "own-a22", "--set", "shore_a=23").problem
    answer("shelf", "add", "own-a22", "--set", "shore_a=23", "--replace")
    assert answer("shelf", "show", "own-a22")["figures"]["shore_a"]["value"] == 23
    assert "above" in refusal("shelf", "add", "own-b", "--like", "own-a22", "--set", "pot_life=2 h").problem


def test_a_material_file_is_taken_as_it_is(tmp_path: Path) -> None:
    from shelf_samples import PLASTIC_TEXT

    file = tmp_path / "plastic.toml"
    file.write_text(PLASTIC_TEXT)
    answer("shelf", "add", "worked-plastic", "--from-file", str(file))
    assert (
        answer("mix", "worked-plastic", "--volume-ml", "120", "--loss-ml", "0")["findings"][0]["code"]
        == "left-overs-get-hot"
    )
    assert "holds" in refusal("shelf", "add", "another", "--from-file", str(file)).problem
    assert "there is no" in refusal("shelf", "add", "another", "--from-file", str(tmp_path / "no.toml")).problem


def test_packs_are_put_up_taken_counted_and_listed() -> None:
    key = "rigid-plastic-d75-middling"
    put = answer("shelf", "add", key, "--pack", "450 g + 405 g", "--packs", "2", "--price", "28")
    assert [pack["pack"] for pack in put["packs"]] == [1, 2]
    taken = answer("shelf", "take", key, "190 g")["packs"]
    assert [(pack["pack"], pack["left_a_g"], pack["left_b_g"]) for pack in taken] == [(1, 350, 315)]
    assert "2 packs" in refusal("shelf", "count", key, "100 g + 90 g").problem
    answer("shelf", "count", key, "100 g + 90 g", "--pack", "1")
    listed = answer("shelf", "list")
    assert [pack["left_a_g"] for pack in listed["packs"]] == [100, 450]
    assert [one["id"] for one in listed["materials"]] == [key]
    assert len(answer("shelf", "list", "--all")["materials"]) > 35
    assert "Middling rigid" in typed("shelf", "list").stdout
    assert "Middling rigid" in typed("shelf", "list", "--all", "--kind", "rigid casting plastic").stdout


def test_left_overs_are_used_up() -> None:
    key = "addition-silicone-a25-middling"
    assert "Nothing is on the shelf" in typed("shelf", "list").stdout
    assert "Not enough" in typed("shelf", "use-up", "--volume-ml", "200").stdout
    typed("shelf", "add", key, "--pack", "500 g + 500 g", "--left", "250 g + 240 g", "--opened", "2099-01-01")
    used = answer("shelf", "use-up", "--volume-ml", "200", "--volume-ml", "150", "--master", "filament")
    assert used["left"][0]["left_g"] == pytest.approx(480)
    assert [piece["silicone_id"] for piece in used["ways"][0]["pieces"]] == [key, key]
    assert "Way 1" in typed("shelf", "use-up", "--volume-ml", "200").stdout


def test_figures_are_asked_for_at_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    from firstpour.cli import record_commands

    monkeypatch.setattr(record_commands, "at_a_screen", lambda: True)
    answers = "\n1.21 g/ml\n" + "\n" * 30
    words = ["shelf", "add", "own-filament", "--like", "filament-rigid"]
    result = CliRunner().invoke(app, words, input="1.31 g/ml\n" + answers)
    assert result.exit_code == 0, result.output
    figure = answer("shelf", "show", "own-filament")["figures"]["density"]
    assert (figure["value"], figure["origin"]) == (1.31, "data sheet")


@pytest.mark.parametrize(
    ("check", "words"), [("iterdir", ("mix", "x", "--volume-ml", "9")), ("exists", ("shelf", "list"))]
)
def test_a_shelf_folder_that_may_not_be_read_is_told(monkeypatch: pytest.MonkeyPatch, check: str, words: Any) -> None:
    def refuse(path: Path, **_: Any) -> bool:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, check, refuse)
    error = refusal(*words)
    assert "cannot be read: Permission denied" in error.problem
    assert "your own shelf" in error.remedy


@pytest.mark.parametrize(
    "words",
    [
        ("mix", "filament-rigid", "--volume-ml", "9"),
        ("shelf", "list"),
        ("shelf", "show", "filament-rigid"),
        ("shelf", "take", "filament-rigid", "1 g"),
        ("shelf", "count", "filament-rigid", "1 g"),
        ("shelf", "use-up", "--volume-ml", "9"),
        ("plan", "part.stl", "--out", "x"),
    ],
)
def test_a_mistyped_shelf_is_told_and_not_taken_for_an_empty_one(tmp_path: Path, words: tuple[str, ...]) -> None:
    error = refusal(*words, "--shelf", str(tmp_path / "shelv"))
    assert "there is no shelf folder" in error.problem
    assert not (tmp_path / "shelv").exists()


@pytest.mark.parametrize("named", ["shelv", "a-file"])
@pytest.mark.parametrize(
    "words",
    [
        ("shelf", "list"),
        ("shelf", "remove", "1"),
        ("mix", "filament-rigid", "--volume-ml", "9"),
        ("plan", "part.stl", "--out", "x"),
        ("bench", "show"),
        ("store", "export", "all.zip"),
    ],
)
def test_so_is_one_that_the_variable_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str, words: tuple[str, ...]
) -> None:
    (tmp_path / "a-file").write_text("no shelf", encoding="utf-8")
    monkeypatch.setenv("FIRSTPOUR_SHELF", str(tmp_path / named))
    assert "there is no shelf folder" in refusal(*words).problem
    assert not (tmp_path / "shelv").exists()


def test_no_shelf_named_and_none_made_yet_is_an_empty_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FIRSTPOUR_SHELF")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "own"))
    assert answer("shelf", "list")["packs"] == []


def test_a_new_shelf_is_made_by_the_first_pack(tmp_path: Path) -> None:
    answer("shelf", "add", "filament-rigid", "--pack", "1 kg spool", "--shelf", str(tmp_path / "new"))
    assert len(answer("shelf", "list", "--shelf", str(tmp_path / "new"))["packs"]) == 1


def test_where_nobody_can_be_asked_what_is_missing_is_told() -> None:
    error = refusal("shelf", "add", "brand-new", "--like", "addition-silicone-a25-middling")
    assert "nobody is here to be asked" in error.problem
    for key in ("pot_life", "density_a", "shore_a", "--ratio"):
        assert key in error.remedy
    assert "specific gravity" in refusal("shelf", "add", "brand-new").remedy


def test_packs_and_kinds_in_the_words_of_makers() -> None:
    key = "addition-silicone-a25-middling"
    (kit,) = answer("shelf", "add", key, "--pack", "2 x 1 kg kits")["packs"]
    assert kit["left_a_g"] + kit["left_b_g"] == pytest.approx(2000)
    assert len(answer("shelf", "list", "--kind", "platinum cure")["packs"]) == 1
    assert answer("shelf", "list", "--kind", "pigment")["packs"] == []


def test_no_pour_is_said_to_be_certain() -> None:
    words = typed("mix", "addition-silicone-a25-middling", "--volume-ml", "50").stdout
    assert "Over 99 % of such pours" in words
    assert "100%" not in words
