"""`firstpour route`: the table, JSON and charts of a small rigid part."""

import json
from pathlib import Path

import pytest

from firstpour.cli.route_commands import marks_said

JOB = """\
[job]
prefer = "cheapest"
hands_per_h = 20

[[part]]
file = "peg.stl"
copies = 4
hardness = "rigid"
"""


@pytest.fixture
def job(peg_folder: Path) -> Path:
    """A job of a round peg."""
    path = peg_folder / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def test_the_routes_of_a_peg_in_words_json_and_charts(typed, job: Path, tmp_path: Path) -> None:
    charts = tmp_path / "charts"
    code, said, _ = typed("route", job, "--charts", charts, "--processes", 1)
    assert code == 0
    for words in (
        "print, Rigid filament",
        "Break-even: ",
        "By number: least money: ",
        "Left out: ",
        "Pick: cheapest for 4 copies",
        "too soft for D 75",
        "*: no other route is as good in everything",
    ):
        assert words in said
    assert sorted(path.name for path in charts.iterdir()) == ["peg-routes.png", "peg-routes.svg"]
    code, said, _ = typed("route", job, "--json", "--processes", 1)
    assert code == 0
    part = json.loads(said)["parts"][0]
    assert part["pick"]["preference"] == "cheapest"
    assert part["pick"]["route"] == part["routes"][0]["name"]
    shown = [route for route in part["routes"] if route["telling"]]
    assert all(route["whys"] for route in shown)
    assert part["candidates"] == len(shown) + sum(left["count"] for left in part["left_out"])
    assert part["not_printed"] is None
    for route in part["routes"]:
        assert sum(route["go_copies"]) == route["tries"]
        assert route["cost"] == pytest.approx(sum(cost["money"] for cost in route["costs"]))
        assert route["hands_min"] == pytest.approx(sum(work["hands_min"] for work in route["work"]))
    code, said, _ = typed("route", job, "--details", "--processes", 1)
    assert code == 0
    assert "typical price" in said


def test_only_the_marks_that_stand_before_a_route_are_explained() -> None:
    assert marks_said(
        ["1*e cast, trays, 1 mould", "5P cast, block, 1 mould", "– print directly: misses by 20 points"]
    ) == [
        "*: no other route is as good in everything and better in something",
        "P: the plan's own",
        "e: its mould is not worked out, an estimate",
    ]
    assert marks_said(["2 print, Extra Plastic"]) == []


def test_a_job_without_a_hardness_is_refused_with_what_to_add(typed, job: Path) -> None:
    job.write_text(JOB.replace('hardness = "rigid"\n', ""), encoding="utf-8")
    code, _, told = typed("route", job, "--processes", 1)
    assert code == 2
    assert "hardness" in told


def test_a_soft_part_has_a_first_row_that_says_by_how_much_a_print_misses(typed, job: Path) -> None:
    job.write_text(JOB.replace('hardness = "rigid"', 'hardness = "A 30"'), encoding="utf-8")
    code, said, _ = typed("route", job, "--processes", 1)
    assert code == 0
    assert "– print directly: misses by 20" in said
    assert "nearest is Soft photopolymer, A 50" in said
