"""Beside the steps at the bench: clocks of one's own, causes, new moulds, photos, the part shown."""

import io
import json
from pathlib import Path

import pytest
from fastapi import UploadFile
from PIL import Image

from firstpour.errors import BadRequest
from firstpour.files.results import PLAN_FILE
from firstpour.results import SavedPlan
from firstpour.web import bench_routes, bench_seen_routes
from firstpour.web.bench_entries import BenchBeginWish, BenchDefect, BenchOutcomeWish, BenchSessionEntry
from firstpour.web.bench_seen_entries import BenchClockWish, BenchNewMouldWish, BenchPhotosEntry
from firstpour.web.job_folders import SHOWN, JobFolder
from firstpour.web.refusals import NotThere, TooLarge
from firstpour.web.serving import Serving
from firstpour.web.shown import MARKS_FILE
from web.test_bench_routes import Moving, clock, folder, serving, until_outcome
from web.test_runs import in_a_loop

__all__ = ["clock", "folder", "serving"]


@pytest.fixture
def begun(folder: JobFolder, serving: Serving) -> BenchSessionEntry:
    return bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))


def sent(serving: Serving, session: str, name: str, content: bytes) -> BenchPhotosEntry:
    photo = UploadFile(io.BytesIO(content), filename=name)
    kept: BenchPhotosEntry = in_a_loop(bench_seen_routes.add_photo(session, serving, photo))
    return kept


def picture(kind: str) -> bytes:
    content = io.BytesIO()
    Image.new("RGB", (4, 3), (200, 90, 40)).save(content, kind)
    return content.getvalue()


def test_a_clock_of_ones_own_runs_beside_the_steps(begun: BenchSessionEntry, serving: Serving) -> None:
    told = bench_seen_routes.own_clock(begun.session, serving, BenchClockWish(name="tea", minutes=4.5))
    assert [(one.name, one.left_s) for one in told.clocks] == [("tea", 270)]
    assert told.step == begun.step
    assert bench_routes.take_back(begun.session, serving).clocks == []


def test_causes_of_a_spoiled_copy_are_ranked(begun: BenchSessionEntry, serving: Serving, clock: Moving) -> None:
    with pytest.raises(BadRequest, match="spoiled"):
        bench_seen_routes.causes(begun.session, serving)
    at = until_outcome(begun, serving, clock)
    assert at.step is not None
    seen = BenchOutcomeWish(step=at.step.id, defects=(BenchDefect(kind="flash", place="along the parting line"),))
    assert bench_routes.outcome(begun.session, serving, seen).spoiled == 1
    found = bench_seen_routes.causes(begun.session, serving).causes
    shares = [one.share for one in found]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1)
    assert found[0].reasons_for
    assert found[0].share > found[0].prior_share
    assert bench_seen_routes.causes(begun.session, serving, outcome=1).causes == found
    with pytest.raises(BadRequest):
        bench_seen_routes.causes(begun.session, serving, outcome=2)


def test_a_mould_is_renewed_between_two_rounds_only(
    begun: BenchSessionEntry, serving: Serving, clock: Moving
) -> None:
    wish = BenchNewMouldWish(instead_of=1)
    with pytest.raises(BadRequest, match="between two rounds"):
        bench_seen_routes.renew_mould(begun.session, serving, wish)
    at = until_outcome(begun, serving, clock)
    assert at.step is not None
    after = bench_routes.outcome(begun.session, serving, BenchOutcomeWish(step=at.step.id))
    while after.step_number != 1:
        assert after.step is not None
        after = bench_routes.step_done(begun.session, serving, bench_routes.BenchDoneWish(step=after.step.id))
    renewed = bench_seen_routes.renew_mould(begun.session, serving, wish)
    assert [one.number for one in renewed.moulds if one.in_use] == [2]


@pytest.mark.parametrize(("name", "kind"), [("a.jpg", "JPEG"), ("b.PNG", "PNG"), ("../c.webp", "WEBP")])
def test_a_photo_is_kept_with_the_step_and_given_back(
    begun: BenchSessionEntry, serving: Serving, name: str, kind: str
) -> None:
    content = picture(kind)
    (kept,) = sent(serving, begun.session, name, content).photos
    assert begun.step is not None
    assert kept.step == begun.step.id
    given = bench_seen_routes.photo_file(begun.session, kept.file, serving)
    assert Path(given.path).read_bytes() == content
    assert given.media_type == f"image/{kind.lower()}"
    assert bench_seen_routes.photos(begun.session, serving).photos == [kept]


def test_what_is_no_photo_is_refused(begun: BenchSessionEntry, serving: Serving) -> None:
    for name, content in (("a.svg", b"<svg/>"), ("a.png", b"<html>"), ("a.txt", picture("PNG")), ("", b"")):
        with pytest.raises(BadRequest):
            sent(serving, begun.session, name, content)
    with pytest.raises(TooLarge):
        sent(serving, begun.session, "a.png", picture("PNG") + bytes(bench_seen_routes.LARGEST_PHOTO_BYTES))
    assert bench_seen_routes.photos(begun.session, serving).photos == []
    for name in ("../../job.toml", "plan.json", "x.png"):
        with pytest.raises(NotThere):
            bench_seen_routes.photo_file(begun.session, name, serving)


def test_the_part_is_shown_as_long_as_its_plan_is_the_same(
    begun: BenchSessionEntry, folder: JobFolder, serving: Serving, demo: SavedPlan
) -> None:
    with pytest.raises(NotThere, match="cannot be shown"):
        bench_seen_routes.part_seen(begun.session, serving)
    marks = folder.path / SHOWN / "limpet" / MARKS_FILE
    marks.parent.mkdir(parents=True)
    marks.write_text("{}", encoding="utf-8")
    seen = bench_seen_routes.part_seen(begun.session, serving)
    assert (seen.job, seen.part) == (folder.id, "limpet")
    plan = json.loads(demo.entry.model_dump_json())
    limpet = next(one for one in plan["parts"] if one["name"] == "limpet")
    limpet["chosen_draw"]["direction"] = [0.0, 1.0, 0.0]
    (folder.results / PLAN_FILE).write_text(json.dumps(plan), encoding="utf-8")
    with pytest.raises(NotThere):
        bench_seen_routes.part_seen(begun.session, serving)
