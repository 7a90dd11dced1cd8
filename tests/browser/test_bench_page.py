"""The bench on the phone: the first copy, a spoiled one tapped on the part, its causes, clocks, photos, a restart."""

import base64
import io
import re
import shutil
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from browser.conftest import SIZES, WITHIN_MS, opened
from browser.page_server import served_page
from browser.test_page import violations
from web_server import peg_bytes

SPOILED = ("small bubbles", "flash")


def begun(address: str, job: str, part: str) -> str:
    """A session of a part of the planned job, by its name."""
    with client_of(address) as client:
        answer = client.post(f"api/jobs/{job.rsplit('/', 1)[-1]}/bench", json={"part": part})
        return str(answer.raise_for_status().json()["session"])


def client_of(address: str) -> httpx.Client:
    return httpx.Client(base_url=address, timeout=60.0, trust_env=False)


def on_to_outcome(address: str, session: str) -> None:
    """All steps done up to the question what came out."""
    with client_of(address) as client:
        while True:
            step = client.get(f"api/bench/{session}").json()["step"]
            if step["kind"] == "say what came out":
                return
            body: dict[str, Any] = {"step": step["id"]}
            if step["weigh"]:
                body |= {"a_g": step["weigh"]["a_g"], "b_g": step["weigh"]["b_g"]}
            path = "weigh" if step["weigh"] else "done"
            client.post(f"api/bench/{session}/{path}", json=body).raise_for_status()


def no_viewer(loaded: list[str]) -> bool:
    return not any("viewer" in url or "/src-" in url or "TapPart" in url for url in loaded)


def to_first_copy(page: Page) -> bool:
    """Every step by its buttons until the first copy is good; whether the page was loaded anew while a clock ran."""
    reloaded = False
    for _ in range(80):
        expect(page.locator("button.big[disabled]")).to_have_count(0)
        stage = page.locator(".stage").inner_text()
        good = page.get_by_role("button", name="Good copy")
        if good.count():
            good.click()
            break
        scales = page.locator(".scales label")
        if scales.count():
            for k in range(scales.count()):
                wanted = scales.nth(k).locator("strong").inner_text().removesuffix(" g")
                scales.nth(k).locator("input").fill(wanted)
            page.get_by_role("button", name="Weighed").click()
        elif page.locator(".clock").count() and not reloaded:
            named = page.locator(".clock .name").first.inner_text()
            page.reload()
            page.locator("h2.title").wait_for()
            assert page.locator(".clock .name").first.inner_text() == named
            assert page.locator(".stage").inner_text() == stage
            reloaded = True
            continue
        else:
            page.locator("button.first.big").click()
        expect(page.locator(".stage")).not_to_have_text(stage, use_inner_text=True)
    return reloaded


DROP = """([name, content]) => {
    const moved = new DataTransfer();
    moved.items.add(new File([Uint8Array.from(atob(content), one => one.charCodeAt(0))], name));
    const onto = document.querySelector('.drop');
    for (const what of ['dragover', 'drop'])
        onto.dispatchEvent(new DragEvent(what, {dataTransfer: moved, bubbles: true, cancelable: true}));
}"""


@pytest.mark.parametrize("size", SIZES)
def test_from_dropping_a_file_to_the_first_logged_copy(browser: Browser, address: str, size: str) -> None:
    with opened(browser, address, size=size) as page:
        page.goto(address)
        page.locator(".drop").wait_for()
        page.evaluate(DROP, ["knob.stl", base64.b64encode(peg_bytes()).decode()])
        page.get_by_label("Copies", exact=True).fill("2")
        page.get_by_label("Feel of the copies").select_option("rigid")
        page.get_by_role("button", name="Work out the plan").click()
        page.get_by_role("link", name="To the bench").click(timeout=WITHIN_MS)
        page.get_by_role("button", name="knob").click()
        page.locator("h2.title").wait_for()
        assert to_first_copy(page)
        page.get_by_text("1 of 2 good copies").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]


def test_the_first_copy_is_logged_at_the_bench(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address, size="phone", scheme="dark") as page:
        loaded: list[str] = []
        page.on("request", lambda request: loaded.append(request.url))
        page.goto(address + "#/bench/" + job.rsplit("/", 1)[-1])
        page.get_by_role("button", name="limpet").click()
        page.locator("h2.title").wait_for()
        reloaded = to_first_copy(page)
        page.get_by_text("1 of 8 good copies").wait_for()
        assert reloaded
        assert violations(page) == []
        assert no_viewer(loaded)


def tapped(page: Page) -> None:
    """The middle of the part that is shown there."""
    page.locator('[data-tap="ready"]').wait_for(timeout=60_000)
    page.locator("[data-tap]").scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    frame = page.locator("[data-tap]").bounding_box()
    assert frame is not None
    page.touchscreen.tap(frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)


def test_a_spoiled_copy_is_tapped_and_its_causes_are_ranked(browser: Browser, address: str, job: str) -> None:
    session = begun(address, job, "bollard")
    on_to_outcome(address, session)
    with opened(browser, address, size="phone") as page:
        loaded: list[str] = []
        page.on("request", lambda request: loaded.append(request.url))
        page.goto(f"{address}#/bench/session/{session}")
        page.get_by_role("button", name="Something is wrong with it").click()
        for kind in SPOILED:
            page.get_by_label(kind, exact=True).check()
        assert no_viewer(loaded)
        page.get_by_role("button", name="Tap it on the part").first.click()
        tapped(page)
        places = page.get_by_role("group", name=re.compile("The place at"))
        places.wait_for()
        assert not no_viewer(loaded)
        assert "against the mould" in places.inner_text()
        told = places.locator("[aria-pressed=true]").inner_text()
        assert page.get_by_label(f"Where: {SPOILED[0]}").input_value() == told
        places.get_by_role("button", name="against the mould").click()
        assert page.get_by_label(f"Where: {SPOILED[0]}").input_value() == "against the mould"
        assert violations(page) == []
        page.get_by_role("button", name="Note it as spoiled").click()
        page.get_by_text("1 spoiled").wait_for()
        page.get_by_text("Why the last one was spoiled").click()
        page.get_by_text("before anything was known").first.wait_for()
        causes = page.locator("details[open] ol > li")
        assert causes.count() == 3
        shares = [int(one.split()[0]) for one in page.locator("details[open] .share").all_inner_texts()]
        assert shares == sorted(shares, reverse=True)
        assert "Try:" in causes.first.inner_text()
        assert violations(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
    with client_of(address) as client:
        log = client.get(f"api/bench/{session}").json()
        assert (log["good"], log["spoiled"]) == (0, 1)


def test_clock_photo_and_new_mould_are_to_hand(browser: Browser, address: str, job: str) -> None:
    session = begun(address, job, "limpet")
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), (200, 90, 40)).save(picture, "JPEG")
    with opened(browser, address, size="phone") as page:
        page.goto(f"{address}#/bench/session/{session}")
        page.get_by_text("A clock of your own").click()
        page.get_by_label("What for").fill("tea")
        page.get_by_label("Minutes").fill("4,5")
        page.get_by_role("button", name="Start it").click()
        page.get_by_role("timer", name="tea").wait_for()
        page.get_by_text("Photos", exact=True).click()
        page.get_by_text("None yet").wait_for()
        chosen = {"name": "spot.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
        page.locator("input[type=file]").set_input_files([chosen])
        shown = page.get_by_role("img", name=re.compile("Photo of"))
        shown.wait_for()
        expect(shown).to_have_js_property("naturalWidth", 40)
        assert violations(page) == []
        page.reload()
        page.get_by_role("timer", name="tea").wait_for()


def test_a_restart_of_the_server_loses_nothing(
    browser: Browser, address: str, job: str, home: Path, tmp_path: Path
) -> None:
    shutil.copytree(home / "jobs", tmp_path / "jobs")
    with served_page(tmp_path) as here:
        session = begun(here, job, "limpet")
        on_to_outcome(here, session)
        with client_of(here) as client:
            step = client.get(f"api/bench/{session}").json()["step"]["id"]
            client.post(f"api/bench/{session}/clock", json={"name": "tea", "minutes": 30}).raise_for_status()
            outcome = {"step": step, "defects": [{"kind": "flash"}]}
            client.post(f"api/bench/{session}/outcome", json=outcome).raise_for_status()
            before = client.get(f"api/bench/{session}").json()
    with served_page(tmp_path) as here:
        with client_of(here) as client:
            after = client.get(f"api/bench/{session}").json()
        same = ("step", "good", "spoiled", "moulds", "entries")
        assert [after[key] for key in same] == [before[key] for key in same]
        assert [one["ends_at"] for one in after["clocks"]] == [one["ends_at"] for one in before["clocks"]]
        with opened(browser, here, size="phone") as page:
            page.goto(f"{here}#/bench/session/{session}")
            page.get_by_role("timer", name="tea").wait_for()
            page.get_by_text("1 spoiled").wait_for()
            page.get_by_text("The moulds").click()
            page.get_by_role("button", name="Make a new mould in the place of mould 1").click()
            page.get_by_text("mould 2: 0 shots").wait_for()
            assert "mould 1" in page.get_by_text("no longer in use").inner_text()
