"""The page on loopback: the first paint, what is loaded, a part of 100,000 faces shown, a wish changed.

The peer of each is done in the same run: the server's smallest file opened bare, the same part fetched and nothing
drawn, the whole plan. Chromium draws in software.
"""

import gzip
import json
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

import httpx
from playwright.sync_api import Browser, Locator, Page, sync_playwright

from benchmarks.rows import Row, once_ms
from firstpour.files.stl import stl_bytes
from firstpour.samples.samples import Sample, sample_part

ROOT = Path(__file__).resolve().parents[1]
STATIC = ROOT / "src" / "firstpour" / "web" / "static"
sys.path.insert(0, str(ROOT / "tests"))

from browser.chromium import ARGUMENTS, chromium_path  # noqa: E402
from browser.page_server import served_page  # noqa: E402

FACES = 100_000
SMALL_FACES = 5_000
TRIES = 5
WITHIN_MS = 120_000
SHOWN = '[data-shown]:not([data-shown=""])'
SAYS = "words => [...document.querySelectorAll('section p.quiet')].some(one => one.textContent.includes(words))"
"""Looked at each frame: a locator looks twice a second at last, which is not the page's time."""
TWO_FRAMES = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def run() -> list[Row]:
    """All four, with a server and a browser of their own.

    Raises
    ------
    SystemExit
        If there is no browser, or the page is not built.
    """
    found = chromium_path()
    if found is None or not (STATIC / "index.html").is_file():
        sys.exit("the page's benchmark needs Debian's chromium and the built page: run `make page` first")
    with (
        tempfile.TemporaryDirectory() as home,
        kept_in(Path(home) / "kept"),
        served_page(Path(home)) as address,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=found, args=list(ARGUMENTS))
        rows = [*first_paint(browser, address)]
        job, whole_ms = planned(address)
        rows += [shown(browser, address, job), planned_again(browser, address, job, whole_ms=whole_ms)]
        browser.close()
    return rows


@contextmanager
def kept_in(folder: Path) -> Iterator[None]:
    """What stages worked out is kept there, so that the first plan finds nothing."""
    before = os.environ.get("FIRSTPOUR_KEPT")
    os.environ["FIRSTPOUR_KEPT"] = str(folder)
    try:
        yield
    finally:
        os.environ.pop("FIRSTPOUR_KEPT")
        if before is not None:
            os.environ["FIRSTPOUR_KEPT"] = before


def first_paint(browser: Browser, address: str) -> Iterator[Row]:
    """From asking for the address to words on the page, nothing kept from before; and the scripts loaded for it."""
    painted, bare, kept = [], [], 0
    for _ in range(TRIES):
        names: list[str] = []
        page = new_page(browser)
        page.on("response", lambda one, names=names: names.append(one.url.rsplit("/", 1)[-1]))
        took = once_ms(lambda page=page: opened(page, address))
        painted.append(took)
        kept = sum(len(gzip.compress((STATIC / "assets" / one).read_bytes())) for one in names if one.endswith(".js"))
        page.context.close()
        page = new_page(browser)
        bare.append(once_ms(lambda page=page: page.goto(f"{address}mark.svg")))
        page.context.close()
    yield Row(
        what="page: useful first paint, nothing kept, warm server",
        ours=median(painted),
        peer="its mark alone",
        peers=median(bare),
        at_most=1_000.0,
        at_least_ratio=0.1,
    )
    yield Row(what="page: scripts of the first page, packed", ours=kept / 1000, unit="kB", at_most=60.0)


def planned(address: str) -> tuple[str, float]:
    """A job of one large part, planned by a worker that stands ready; and the milliseconds that the plan took."""
    with httpx.Client(base_url=address, timeout=WITHIN_MS / 1000, trust_env=False) as client:
        job = made(client, Sample.BOLLARD, faces=SMALL_FACES)
        worked(client, job)
        job = made(client, Sample.SEA_STAR, faces=FACES)
        return job, once_ms(lambda: worked(client, job))


def made(client: httpx.Client, sample: Sample, *, faces: int) -> str:
    """A job of one part, by its id."""
    content = stl_bytes(sample_part(sample, faces=faces).mesh)
    wishes = json.dumps({"parts": {"all": {"hardness": "A 20", "copies": 2}}})
    answer = client.post("api/jobs", files=[("files", (f"{sample}.stl", content))], data={"wishes": wishes})
    return str(answer.raise_for_status().json()["id"])


def worked(client: httpx.Client, job: str) -> None:
    """Plan it, and wait until the plan is there."""
    client.post(f"api/jobs/{job}/plan").raise_for_status()
    said = client.get(f"api/jobs/{job}/progress", params={"follow": False}).text
    assert '"state":"done"' in said.splitlines()[-2] + said.splitlines()[-1], said[-500:]


def shown(browser: Browser, address: str, job: str) -> Row:
    """From pressing “On the part” to the part drawn, nothing kept; the peer fetches the same and draws nothing."""
    ours, peers = [], []
    for _ in range(TRIES):
        page = new_page(browser)
        page.goto(f"{address}#/job/{job}")
        tab = page.get_by_role("tab", name="On the part")
        tab.wait_for(timeout=WITHIN_MS)
        ours.append(once_ms(lambda page=page, tab=tab: drawn(page, tab)))
        peers.append(once_ms(lambda: fetched(address, job)))
        page.context.close()
    return Row(
        what=f"page: a part of {FACES} faces shown once its plan is there",
        ours=median(ours),
        peer="fetching it alone",
        peers=median(peers),
        at_most=2_000.0,
        at_least_ratio=0.03,
    )


def planned_again(browser: Browser, address: str, job: str, *, whole_ms: float) -> Row:
    """A wish without geometry, from its button to the new plan on the page; the peer is the first plan."""
    page = new_page(browser)
    page.goto(f"{address}#/job/{job}")
    took = []
    for k in range(TRIES):
        copies = page.get_by_label("Copies", exact=True)
        copies.fill(str(3 + k))
        took.append(once_ms(lambda k=k: changed(page, 3 + k)))
    page.context.close()
    return Row(
        what="page: planned again after another number of copies",
        ours=median(took),
        peer="the first plan",
        peers=whole_ms,
        at_most=1_000.0,
        at_least_ratio=4,
    )


def new_page(browser: Browser) -> Page:
    """A page that keeps nothing from before."""
    return browser.new_context(viewport={"width": 1366, "height": 768}).new_page()


def opened(page: Page, address: str) -> None:
    """The first page with its heading."""
    page.goto(address, wait_until="commit")
    page.get_by_role("heading", level=1).wait_for()


def drawn(page: Page, tab: Locator) -> None:
    """The part on the page, its picture taken: what is not drawn yet would be missing in it."""
    tab.click()
    page.locator(SHOWN).wait_for(timeout=WITHIN_MS)
    page.evaluate(TWO_FRAMES)
    page.locator(SHOWN).screenshot()


def fetched(address: str, job: str) -> None:
    """The mesh and what is drawn on it, by a plain client."""
    part = httpx.get(f"{address}api/jobs/{job}", trust_env=False).json()["parts"][0]["key"]
    for what in ("mesh", "marks3d"):
        httpx.get(f"{address}api/jobs/{job}/parts/{part}/{what}", trust_env=False).raise_for_status()


def changed(page: Page, copies: int) -> None:
    """Ask for that many copies, until the page shows the plan for them."""
    page.get_by_role("button", name="Keep and work out the plan").click()
    page.wait_for_function(SAYS, arg=f"{copies} copies", timeout=WITHIN_MS)
