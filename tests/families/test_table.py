"""The table of families: what passes, what is counted, and the page that keeps it."""

import json
from dataclasses import asdict, replace

from families import table
from families.trial import Row, kept_rows

GOOD = Row(
    family="ball", size_mm=50.0, faces=8000, seconds=2.0, kind="trays", draw=(0.0, 0.0, 1.0), silicone_ml=224.0
)
ROWS = [
    GOOD,
    replace(GOOD, family="lattice", kind="block"),
    replace(GOOD, family="mug", outline=True, faults=(("wall", "thin"), ("wall", "thin again"))),
    replace(GOOD, family="fan", errors=("void: shut",)),
    replace(GOOD, family="hook", problem="no surface"),
]


def test_a_row_passes_without_problem_error_and_fault():
    assert [row.passes for row in ROWS] == [True, True, False, False, False]
    assert table.good_enough(ROWS[:1])
    assert not table.good_enough(ROWS)


def test_the_summary_counts_each_check_once_a_row_and_blocks_by_themselves():
    said = table.summary(ROWS)
    assert said.startswith("2 of 5 pass; 2 of 4 seams are smooth, 1 cut open by hand; longest plan 2.0 s.")
    assert "wall 1" in said
    assert "error 1" in said
    assert "no mould 1" in said


def test_the_page_has_a_line_for_each_row_kept(tmp_path):
    for row in ROWS:
        (tmp_path / f"{row.family}-50.json").write_text(json.dumps(asdict(row)), encoding="utf-8")
    rows = kept_rows(tmp_path)
    assert sorted(rows, key=lambda row: row.family) == sorted(ROWS, key=lambda row: row.family)
    table.write_docs(rows, tmp_path)
    page = (tmp_path / "families.md").read_text(encoding="utf-8")
    assert sum(line.startswith(("| ball | 50 ", "| hook | 50 ")) for line in page.splitlines()) == 2
    assert (tmp_path / "pictures" / "families.png").exists()
