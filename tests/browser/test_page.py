"""The page in a browser: the tide pool from its one click to the first logged copy, by mouse and by keyboard."""

import gzip
import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Response, expect

from browser.conftest import ROOT, SHOWN_PART, SIZES, WITHIN_MS, opened

AXE = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
VIEWS = ("", "/part", "/materials", "/routes", "/schedule", "/files")
OTHERS = ("#/", "#/bench", "#/shelf", "#/workshop")
FACES = ("light", "dark")


def settle(page: Page, place: str) -> None:
    page.goto(place)
    page.get_by_role("heading", level=1).first.wait_for()
    if place.endswith("/part"):
        page.locator(SHOWN_PART).wait_for(timeout=60_000)
    page.wait_for_timeout(300)


def violations(page: Page) -> list[str]:
    """What axe finds, in a line each."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    return [f"{one['id']}: {json.dumps([node['html'][:160] for node in one['nodes'][:3]])}" for one in found]


@pytest.mark.parametrize("scheme", FACES)
@pytest.mark.parametrize("size", SIZES)
def test_every_view_fits_and_can_be_used_by_everybody(
    browser: Browser, address: str, job: str, size: str, scheme: str
) -> None:
    with opened(browser, address, size=size, scheme=scheme) as page:
        for place in (*(job + view for view in VIEWS), *(address + other for other in OTHERS)):
            settle(page, place)
            assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0], place
            assert violations(page) == [], place


def test_the_plan_says_what_the_command_says(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job)
        words = page.locator("main").inner_text()
        for expected in (
            "sea star",
            "limpet",
            "porthole ring",
            "bollard",
            "Cautions",
            "pot life",
            "first proof after",
        ):
            assert expected in words


def test_the_part_is_drawn_coloured_cut_and_filled(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job + "/part")
        plain = page.locator("[data-shown]").screenshot()
        page.get_by_label("Draft").check()
        page.wait_for_timeout(300)
        draft = page.locator("[data-shown]").screenshot()
        assert draft != plain
        page.get_by_label("Cut through across").select_option("x")
        page.wait_for_timeout(300)
        assert page.locator("[data-shown]").screenshot() != draft
        page.get_by_label("Cut through across").select_option("")
        things = page.get_by_label("Gate, vent, pocket or undercut")
        things.select_option("gate-1")
        assert "mm wide at the part" in page.locator(".side").inner_text()
        page.get_by_role("button", name="The fill").click()
        level = page.get_by_label("Level of the mix")
        page.wait_for_timeout(300)
        full = page.locator("[data-shown]").screenshot()
        level.fill(level.get_attribute("min") or "0")
        page.wait_for_timeout(300)
        assert page.locator("[data-shown]").screenshot() != full
        page.get_by_role("button", name="See what air stays").click()
        page.get_by_role("button", name="As planned again").wait_for(timeout=60_000)
        page.get_by_role("button", name="The mould").click()
        opening = page.get_by_label("The mould:")
        opening.wait_for(timeout=60_000)
        page.wait_for_timeout(500)
        half = page.locator("[data-shown]").screenshot()
        opening.fill("0")
        page.wait_for_timeout(500)
        assert page.locator("[data-shown]").screenshot() != half


def test_faces_are_marked_and_unmarked_without_a_pointer(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job + "/part")
        page.get_by_role("button", name="Show and hidden faces").press("Enter")
        before = page.locator(".side").inner_text()
        page.get_by_label("keep clear").check()
        page.get_by_role("button", name="Mark them").press("Enter")
        assert page.locator(".side").inner_text() != before
        page.get_by_role("button", name="Undo").press("Enter")
        assert page.locator(".side").inner_text() == before


def test_the_keyboard_alone_reaches_the_part_and_turns_it(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job)
        page.get_by_role("tab", name="Plan").focus()
        page.keyboard.press("ArrowRight")
        page.locator(SHOWN_PART).wait_for(timeout=60_000)
        assert page.evaluate("document.activeElement.textContent") == "On the part"
        for _ in range(20):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.hasAttribute('data-shown')"):
                break
        view = page.locator("[data-shown]")
        page.wait_for_timeout(300)
        before = view.screenshot()
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(300)
        assert view.screenshot() != before


def test_the_schedule_tells_of_each_task_by_pointer_tap_and_keys(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job + "/schedule")
        told = page.locator(".told")
        bars = page.get_by_role("button", name="sea star: ").and_(page.locator("[data-spot]"))
        bars.first.wait_for()
        assert page.locator("[data-spot][tabindex='0']").count() == 1
        pour = page.get_by_role("button", name="mix and pour silicone-upper, sea star")
        pour.hover(force=True)
        assert "mix and pour silicone-upper, sea star" in told.inner_text()
        assert "set up for the pour" in told.inner_text()
        page.get_by_role("button", name="set up for the pour, sea star").focus()
        page.keyboard.press("Enter")
        page.keyboard.press("ArrowRight")
        assert told.locator("strong").inner_text() == "set up for the pour"
        page.keyboard.press("Escape")
        assert told.locator("strong").inner_text() != "set up for the pour"
        page.keyboard.press("ArrowLeft")
        assert told.locator("strong").inner_text() == "set up for the pour"
        assert page.evaluate("document.activeElement.hasAttribute('data-spot')")
        page.get_by_label("Rows").select_option("hands")
        assert "filament printer" in page.get_by_role("region", name="Chart of the schedule").inner_text()
    with opened(browser, address, size="phone") as page:
        settle(page, job + "/schedule")
        bar = page.get_by_role("button", name="mix and pour silicone-upper, sea star")
        bar.evaluate("one => one.scrollIntoView({block: 'center', inline: 'center'})")
        frame = bar.bounding_box()
        assert frame is not None
        page.touchscreen.tap(frame["x"] - 3, frame["y"] + frame["height"] / 2)
        page.get_by_role("button", name="Let go").wait_for()


def test_the_day_on_which_a_job_begins_moves_the_order(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job + "/schedule")
        begins = page.get_by_label("The job begins on")
        assert begins.input_value() == "2027-03-01"
        begins.fill("2027-03-08")
        page.get_by_role("button", name="Keep it and put in order").click()
        page.get_by_text("It begins on Mon 8 Mar").wait_for(timeout=WITHIN_MS)
        page.get_by_role("rowheader", name="As it stands").wait_for(timeout=WITHIN_MS)
        assert "another mould of sea star" in page.get_by_role("region", name="What would buy time").inner_text()


def test_the_clocks_follow_the_room_while_the_slider_moves(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job + "/materials")
        room = page.get_by_role("slider", name="Room at")
        own = float(room.input_value())
        room.focus()
        for _ in range(12):
            page.keyboard.press("ArrowRight")
        warm = f"At {own + 6:g} °C"
        clock = page.get_by_role("img", name=warm)
        clock.first.wait_for()
        assert clock.count() >= 8
        assert warm in page.get_by_role("status").first.inner_text()
        assert page.get_by_role("button", name=f"Plan it for {own + 6:g} °C").is_visible()
        page.get_by_role("button", name="Back to").click()
        page.get_by_role("img", name=f"At {own:g} °C").first.wait_for()


def test_a_route_is_chosen_planned_and_taken_back(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        settle(page, job + "/routes")
        page.get_by_role("button", name="Set the routes side by side").click()
        limpet = page.get_by_role("region", name="Routes of limpet")
        limpet.wait_for(timeout=WITHIN_MS)
        page.get_by_label("Every route").click()
        before = limpet.get_by_role("row").filter(has_text="the plan’s").get_by_role("rowheader").inner_text()
        limpet.get_by_role("button", name="Choose printed in Tough").first.click()
        page.get_by_text("Chosen here:").wait_for()
        expect(page.get_by_role("heading", name="limpet")).to_be_focused()
        expect(page.get_by_role("button", name="Plan again")).to_be_visible(timeout=WITHIN_MS)
        assert limpet.get_by_role("row").filter(has_text="chosen here").count() >= 1
        assert page.get_by_text("Something has changed").count() == 0
        assert violations(page) == []
        page.set_viewport_size({"width": 390, "height": 844})
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.set_viewport_size({"width": 1366, "height": 768})
        page.get_by_role("tab", name="Plan").click()
        page.get_by_text("printed directly: no mould").wait_for(timeout=WITHIN_MS)
        page.get_by_role("tab", name="Routes").click()
        page.get_by_role("button", name="Take the choice back").click()
        page.get_by_text("Chosen here:").wait_for(state="detached", timeout=WITHIN_MS)
        expect(page.get_by_role("button", name="Plan again")).to_be_visible(timeout=WITHIN_MS)
        page.get_by_label("Every route").click()
        assert limpet.get_by_role("row").filter(has_text="the plan’s").get_by_role("rowheader").inner_text() == before
        page.get_by_role("tab", name="Plan").click()
        page.get_by_role("heading", name="limpet").wait_for()
        expect(page.get_by_text("printed directly: no mould")).to_have_count(0)


def test_on_paper_the_words_stay_and_the_controls_go(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address, scheme="dark") as page:
        page.set_viewport_size({"width": 700, "height": 990})
        for view, words in (("", "Order of the work"), ("/materials", "Pot life"), ("/schedule", "Day by day")):
            settle(page, job + view)
            page.evaluate("document.documentElement.dataset.scheme = 'dark'")
            page.emulate_media(media="print")
            assert page.get_by_role("heading", level=1).is_visible()
            assert page.get_by_text("Printed on").is_visible()
            assert page.locator("button:visible:not([data-spot]), .no-print:visible, header.top:visible").count() == 0
            assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
            red, green, blue = page.evaluate("getComputedStyle(document.body).color.match(/[0-9]+/g).map(Number)")
            assert max(red, green, blue) < 60
            assert page.evaluate("document.documentElement.scrollWidth") <= 700, view
            assert page.pdf().startswith(b"%PDF")
            assert words.lower() in page.locator("main").inner_text().lower()
            page.emulate_media(media="screen")
        settle(page, job)
        page.emulate_media(media="print")
        assert page.get_by_text("silicone cures").first.is_visible()


def test_the_first_page_loads_little(browser: Browser, address: str) -> None:
    scripts: list[Path] = []
    with opened(browser, address) as page:

        def note(one: Response) -> None:
            if one.url.endswith(".js"):
                scripts.append(Path(one.url))

        page.on("response", note)
        page.goto(address)
        page.get_by_role("heading", level=1).wait_for()
    home = ROOT / "src" / "firstpour" / "web" / "static" / "assets"
    packed = sum(len(gzip.compress((home / one.name).read_bytes())) for one in scripts)
    assert 0 < packed <= 60_000
