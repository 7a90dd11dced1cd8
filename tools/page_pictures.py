"""Pictures of the page for the README: the tide pool planned, looked at on the part, and at the bench.

`python tools/page_pictures.py` writes docs/pictures/page-*.png with Debian's chromium; it plans the demo job first.
"""

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from browser.chromium import ARGUMENTS, chromium_path  # noqa: E402
from browser.conftest import SHOWN_PART, WITHIN_MS  # noqa: E402
from browser.page_server import served_page  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
MOST_BYTES = 250_000
COLOURS = 256


def main() -> None:
    """Write all of them."""
    found = chromium_path()
    if found is None:
        sys.exit("no browser is there: install Debian's chromium")
    with tempfile.TemporaryDirectory() as home, served_page(Path(home)) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=list(ARGUMENTS))
        page = browser.new_page(viewport={"width": 1366, "height": 900})
        page.goto(address)
        page.get_by_role("button", name="Plan the tide pool").click()
        page.get_by_role("heading", name="sea star").wait_for(timeout=WITHIN_MS)
        job = page.url
        save(page, "page-plan")
        page.goto(job + "/part")
        page.locator(SHOWN_PART).wait_for(timeout=WITHIN_MS)
        page.get_by_label("Draft").check()
        page.wait_for_timeout(800)
        save(page, "page-part")
        page.get_by_role("button", name="The mould").click()
        page.get_by_label("The mould:").wait_for(timeout=WITHIN_MS)
        page.wait_for_timeout(800)
        save(page, "page-mould")
        page.goto(job + "/schedule")
        page.get_by_label("Width of a day").fill("170")
        page.get_by_role("button", name="sand the primer, limpet").press("Enter")
        page.evaluate("document.querySelector('.zoom').scrollIntoView({block: 'start'})")
        page.wait_for_timeout(500)
        save(page, "page-schedule")
        page.goto(job + "/materials")
        room = page.get_by_role("slider", name="Room at")
        for _ in range(14):
            room.press("ArrowRight")
        page.wait_for_timeout(500)
        save(page, "page-clocks")
        phone = browser.new_page(viewport={"width": 390, "height": 844}, color_scheme="dark")
        phone.goto(f"{address}#/bench/{job.rsplit('/', 1)[-1]}")
        phone.get_by_role("button", name="limpet").click()
        phone.locator("h2.title").wait_for()
        while not phone.locator(".scales").count():
            stage = phone.locator(".stage").inner_text()
            phone.locator("button.first.big").click()
            phone.wait_for_function("before => document.querySelector('.stage').innerText !== before", arg=stage)
        save(phone, "page-bench")
        browser.close()


def save(page: Page, name: str) -> None:
    """One picture, its colours reduced only where it would not stay small.

    Raises
    ------
    ValueError
        If it is larger than a README should carry.
    """
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    file = PICTURES / f"{name}.png"
    picture.save(file, optimize=True)
    if file.stat().st_size > MOST_BYTES:
        picture.quantize(COLOURS).save(file, optimize=True)
    if file.stat().st_size > MOST_BYTES:
        raise ValueError(f"{file.name} takes {file.stat().st_size} bytes, more than {MOST_BYTES}")
    print(f"{file.relative_to(ROOT)}: {file.stat().st_size // 1000} kB")


if __name__ == "__main__":
    main()
