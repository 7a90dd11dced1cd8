"""A browser, a server, and the tide pool planned once by its one click."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Request, expect, sync_playwright

from browser.chromium import ARGUMENTS, chromium_path
from browser.page_server import served_page

ROOT = Path(__file__).resolve().parents[2]
STATIC = ROOT / "src" / "firstpour" / "web" / "static"
SHOWN_PART = '[data-shown]:not([data-shown=""])'
"""The view of the part, once it shows one."""
SIZES = {"laptop": (1366, 768), "phone": (390, 844)}
WITHIN_MS = 300_000
expect.set_options(timeout=WITHIN_MS)


def missing(what: str, remedy: str) -> None:
    """Fail where everything should be there, skip with the reason elsewhere."""
    words = f"{what}: {remedy}"
    if os.environ.get("CI"):
        pytest.fail(words)
    pytest.skip(words)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    found = chromium_path()
    if found is None:
        missing("no browser is there", "install Debian's chromium to run these tests")
    if not (STATIC / "index.html").is_file():
        missing("the page is not built", "run `make page` first")
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=found, args=list(ARGUMENTS))
        yield one
        one.close()


@pytest.fixture(scope="package")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Jobs and shelf of the server that all share."""
    return tmp_path_factory.mktemp("page")


@pytest.fixture(scope="package")
def address(home: Path, browser: Browser) -> Iterator[str]:
    """The page; what was worked out is kept as a user's is, so that a wish is planned again quickly."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPOUR_KEPT", str(home / "kept"))
        with served_page(home) as here:
            yield here


@contextmanager
def opened(browser: Browser, address: str, *, size: str = "laptop", scheme: str = "light") -> Iterator[Page]:
    """A page that may ask nobody but its own server, and may say no error."""
    wide, high = SIZES[size]
    context = browser.new_context(
        viewport={"width": wide, "height": high},
        color_scheme="dark" if scheme == "dark" else "light",
        has_touch=size == "phone",
        reduced_motion="reduce",
    )
    page = context.new_page()
    asked_elsewhere: list[str] = []
    errors: list[str] = []

    def note(request: Request) -> None:
        if not request.url.startswith((address.split("#")[0], "data:", "blob:")):
            asked_elsewhere.append(request.url)

    page.on("request", note)
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(f"{said.text} {said.location}") if said.type == "error" else None)
    try:
        yield page
        assert not asked_elsewhere
        assert not errors
    finally:
        context.close()


@pytest.fixture(scope="package")
def job(browser: Browser, address: str) -> str:
    """The tide pool's address on the page, planned from the first page by one click."""
    with opened(browser, address) as page:
        page.goto(address)
        page.get_by_role("button", name="Plan the tide pool").click()
        page.get_by_role("heading", name="sea star").wait_for(timeout=WITHIN_MS)
        return page.url
