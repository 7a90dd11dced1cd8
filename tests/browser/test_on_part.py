"""On the part, by pointer: openings dragged, things picked, a cut, directions clicked, faces painted and undone."""

import io
import re
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from browser.conftest import SHOWN_PART, opened

ORANGE, PURPLE = (0xE6, 0x9F, 0x00), (0xCC, 0x79, 0xA7)
"""Gate and pocket by the table of colours of the page."""


def look(page: Page, job: str, part: str = "sea star") -> None:
    page.goto(job + "/part")
    page.locator(SHOWN_PART).wait_for(timeout=60_000)
    page.locator(".choice select").select_option(label=part)
    page.locator(f'[data-shown="{part.replace(" ", "-")}"]').wait_for(timeout=60_000)
    page.wait_for_timeout(300)


def picture(page: Page) -> np.ndarray[Any, np.dtype[np.float64]]:
    """The view of the part as it is drawn, (high, wide, 3)."""
    page.wait_for_timeout(400)
    shot = page.locator("[data-shown]").screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB"), np.float64)


def of_hue(pixels: np.ndarray[Any, np.dtype[np.float64]], colour: tuple[int, int, int]) -> Any:
    """Where a colour is drawn, lighter or darker as the light falls: its direction in RGB within 6 degrees."""
    wanted = np.array(colour, np.float64) / np.linalg.norm(colour)
    along = pixels @ wanted / np.maximum(np.linalg.norm(pixels, axis=2), 1.0)
    return along > np.cos(np.radians(6.0))


def spot(page: Page, colour: tuple[int, int, int]) -> tuple[float, float]:
    """A place on the screen where that colour is drawn: the pixel of it nearest to its middle."""
    rows, columns = np.nonzero(of_hue(picture(page), colour))
    assert len(rows) > 20
    middle = np.argmin(np.hypot(rows - np.median(rows), columns - np.median(columns)))
    frame = page.locator("[data-shown]").bounding_box()
    assert frame is not None
    return frame["x"] + float(columns[middle]), frame["y"] + float(rows[middle])


def centre(page: Page) -> tuple[float, float]:
    frame = page.locator("[data-shown]").bounding_box()
    assert frame is not None
    return frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, steps=4)
    page.mouse.move(*end, steps=4)
    page.mouse.up()


def air_mm3(page: Page) -> float:
    """The air that stays as the page says it."""
    words = page.get_by_text("of air stay").last.inner_text()
    found = re.search(r"([\d.,]+) mm³", words)
    assert found, words
    return float(found.group(1).replace(",", ""))


@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_the_gate_is_dragged_and_other_air_stays(browser: Browser, job: str, size: str) -> None:
    with opened(browser, job, size=size) as page:
        look(page, job)
        page.get_by_role("button", name="The fill").click()
        page.get_by_role("button", name="Above").click()
        planned = page.get_by_label("x, mm").first.input_value()
        before = picture(page)
        page.locator("[data-shown]").scroll_into_view_if_needed()
        drag(page, spot(page, ORANGE), centre(page))
        page.get_by_role("button", name="Keep these, and plan again").wait_for(timeout=60_000)
        assert page.get_by_label("x, mm").first.input_value() != planned
        assert abs(air_mm3(page) - 0.61) > 1.0
        assert not np.array_equal(picture(page), before)
        page.get_by_role("button", name="As planned again").click()
        assert page.get_by_label("x, mm").first.input_value() == planned
        page.reload()
        page.locator(SHOWN_PART).wait_for(timeout=60_000)
        assert page.get_by_role("button", name="The fill").get_attribute("aria-pressed") == "true"


def test_a_vent_left_out_lets_air_stay_and_one_put_by_a_click_counts(browser: Browser, job: str) -> None:
    with opened(browser, job) as page:
        look(page, job)
        page.get_by_role("button", name="The fill").click()
        page.get_by_role("button", name="Leave out Vent 1").click()
        page.get_by_role("button", name="Keep these, and plan again").wait_for(timeout=60_000)
        without = air_mm3(page)
        assert without > 100
        page.get_by_role("button", name="Another vent").click()
        page.get_by_role("button", name="Above").click()
        page.wait_for_timeout(300)
        page.mouse.click(*centre(page))
        expect(page.locator("[aria-pressed=true]", has_text=re.compile("^on the part$"))).to_have_count(0)
        page.wait_for_timeout(500)
        assert "Vent 3" in page.locator(".side").inner_text()


def test_a_pocket_is_picked_on_the_part_with_its_number_and_reason(browser: Browser, job: str) -> None:
    with opened(browser, job) as page:
        look(page, job)
        page.mouse.click(*spot(page, PURPLE))
        told = page.locator(".side [role=status]")
        told.wait_for()
        assert "Air pocket" in told.inner_text()
        assert "mm³ of air" in told.inner_text()
        assert "shut in once the mix stands" in told.inner_text()


def test_a_cut_shows_the_inside_and_either_side(browser: Browser, job: str) -> None:
    with opened(browser, job) as page:
        look(page, job, "limpet")
        whole = picture(page)
        page.get_by_label("Cut through across").select_option("y")
        one = picture(page)
        page.get_by_label("the other side").check()
        other = picture(page)
        for first, second in ((whole, one), (one, other), (whole, other)):
            assert np.mean(np.any(first != second, axis=2)) > 0.004


def test_a_direction_is_clicked_on_its_map(browser: Browser, job: str) -> None:
    with opened(browser, job) as page:
        look(page, job)
        page.get_by_role("button", name="Directions").click()
        for label in ("How the mould may open", "Which side may be up"):
            chosen = page.locator("label", has_text=label).locator("select")
            before = chosen.input_value()
            chart = page.get_by_role("img", name=re.compile(label))
            dot = chart.locator("circle.dot:not(.chosen)").last.bounding_box()
            assert dot is not None
            page.mouse.click(dot["x"] + dot["width"] / 2, dot["y"] + dot["height"] / 2)
            assert chosen.input_value() != before
        assert page.get_by_role("button", name=re.compile("Open it along")).is_enabled()


def test_faces_are_painted_by_brush_and_by_flood_and_undone(browser: Browser, job: str) -> None:
    with opened(browser, job) as page:
        look(page, job, "bollard")
        page.get_by_role("button", name="Show and hidden faces").click()
        side = page.locator(".side")
        before = side.inner_text()
        page.get_by_label("keep clear").check()
        middle = centre(page)
        drag(page, (middle[0] - 10, middle[1]), (middle[0] + 10, middle[1]))
        brushed = side.inner_text()
        assert brushed != before
        page.get_by_label("all that goes on smoothly").check()
        page.mouse.click(*middle)
        assert int(re.findall(r"keep clear\s+(\d+) faces", side.inner_text())[0]) > int(
            re.findall(r"keep clear\s+(\d+) faces", brushed)[0]
        )
        undo = page.get_by_role("button", name="Undo")
        while undo.is_enabled():
            undo.click()
        page.get_by_label("a brush").check()
        assert side.inner_text() == before
