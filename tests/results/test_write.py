"""What is written of a plan, and what is told while it is: counted by hand on two small parts."""

from dataclasses import replace

import pytest

from files_shapes import knob_part
from firstpour.files.stl import stl_bytes
from firstpour.job.job import Job, PartRequest
from firstpour.parting.values import MouldKind
from firstpour.printing.printers import Process
from firstpour.results import plan_into

UP = (0.0, 0.0, 1.0)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A part in trays and one on bedding, planned anew, again, and again with the second turned over."""
    folder = tmp_path_factory.mktemp("write")
    path = folder / "knob.stl"
    path.write_bytes(stl_bytes(knob_part().mesh))
    first = PartRequest(name="trays", file=path, draw=UP, up=UP, process=Process.FILAMENT, copies=4)
    first = replace(first, kind=MouldKind.TRAYS)
    second = replace(first, name="bedding", kind=MouldKind.BEDDING, copies=1)
    runs = {}
    turned = replace(second, up=(1.0, 0.0, 0.0))
    for run, parts in (("anew", (first, second)), ("again", (first, second)), ("turned", (first, turned))):
        told = []
        saved = plan_into(
            Job(name="knobs", parts=parts), folder / run, progress=lambda *words, told=told: told.append(words),
            kept=folder / "kept",
        )  # fmt: skip
        runs[run] = (saved, told, folder / run)
    return runs


def while_writing(told):
    return [(done, total, words) for done, total, words in told if "written" in words or words == "done"]


@pytest.mark.parametrize(
    ("run", "expected"),
    [
        ("anew", [(5, 6, "trays"), (6, 6, "bedding"), (6, 6, "done")]),
        ("again", [(6, 6, "done")]),
        ("turned", [(6, 6, "bedding"), (6, 6, "done")]),
    ],
)
def test_each_part_is_a_third_step_once_it_is_written_and_what_was_kept_is_no_work(written, run, expected):
    _, told, _ = written[run]
    said = [(done, total, words.partition(":")[0]) for done, total, words in while_writing(told)]
    assert said == expected


def test_what_was_kept_is_put_back_whole(written):
    entry, again = (written[run][0].entry for run in ("anew", "again"))
    assert again == entry
    assert set(entry.files) == {
        file.relative_to(written["again"][2]).as_posix() for file in written["again"][2].rglob("*") if file.is_file()
    }


def test_totals_are_those_of_all_moulds_and_of_all_copies(written):
    saved, *_ = written["anew"]
    trays, bedding = (one.mould for one in saved.plan.parts)
    totals = saved.entry.totals
    assert totals.casting_ml == pytest.approx(4 * trays.casting_ml + bedding.casting_ml)
    assert totals.silicone_ml == pytest.approx(trays.silicone_ml + bedding.silicone_ml)
    prints = [one for part in saved.entry.parts for one in part.prints]
    assert totals.print_ml == pytest.approx(sum(one.material_ml for one in prints))


def test_each_part_names_its_source_and_only_what_it_has(written):
    trays, bedding = written["anew"][0].entry.parts
    assert (trays.source, bedding.source) == ("knob.stl", "knob.stl")
    assert trays.fill is not None
    assert (trays.flow, trays.materials, trays.master) == (None, None, None)
    assert bedding.master is not None
    assert len(bedding.master.directions) == 5


def test_pictures_and_the_file_with_all_prints_are_there(written):
    saved, _, out = written["anew"]
    for one in saved.entry.parts:
        assert one.mould.print_file is not None
        assert (out / one.mould.print_file).is_file()
        named = {picture.partition("-")[2] for picture in one.pictures}
        assert {"draw.png", "mould.png", "to-print.png"} <= named
        assert ("master.png" in named) is (one.name == "bedding")
        assert any("fill" in picture for picture in one.pictures)
        assert all((out / picture).is_file() for picture in one.pictures)
