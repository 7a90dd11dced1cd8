"""The whole way by keyboard alone: from the list of jobs over every view of the plan to the first logged copy."""

from playwright.sync_api import Browser, Page, expect

from browser.conftest import SHOWN_PART, opened

FOCUSED = """() => {
    const one = document.activeElement;
    const style = getComputedStyle(one);
    const label = one.labels && one.labels.length ? one.labels[0].innerText : one.innerText;
    const box = one.getBoundingClientRect();
    return {
        name: (one.getAttribute('aria-label') || label || '').trim().replace(/\\s+/g, ' '),
        tag: one.tagName.toLowerCase(),
        href: one.getAttribute('href') || '',
        spot: one.dataset.spot || '',
        outline: style.outlineStyle === 'none' ? 0 : parseFloat(style.outlineWidth),
        seen: box.width > 0 && box.bottom > 0 && box.top < innerHeight,
        selected: one.getAttribute('aria-selected') === 'true',
    };
}"""
MOST_TABS = 120
THICK_PX = 2


def to(page: Page, key: str = "Tab", **wanted: object) -> dict[str, object]:
    """Press the key until something with these values has the focus; every stop between shows that it has it."""
    passed = []
    for _ in range(MOST_TABS):
        page.keyboard.press(key)
        here: dict[str, object] = page.evaluate(FOCUSED)
        if here["tag"] not in ("body", "main", "h2"):
            assert float(str(here["outline"])) >= THICK_PX, f"the focus is not seen on {here}"
            assert here["seen"], f"the focus is off the screen on {here}"
        passed.append(str(here["name"])[:40])
        if all(_meets(here[name], value) for name, value in wanted.items()):
            return here
    raise AssertionError(f"{wanted} was not reached: {passed}")


def _meets(found: object, wanted: object) -> bool:
    return wanted in found if isinstance(wanted, str) and isinstance(found, str) else found == wanted


def shows(page: Page, words: str) -> None:
    """The words stand on the page, sooner or later."""
    expect(page.get_by_text(words).first).to_be_visible()


def to_tab(page: Page, words: str) -> None:
    """Back to the tabs of the job, and along them to that one."""
    to(page, "Shift+Tab", selected=True)
    for _ in range(6):
        if page.evaluate(FOCUSED)["name"] == words:
            expect(page.get_by_role("tab", name=words, selected=True)).to_be_visible()
            return
        page.keyboard.press("ArrowRight")
    raise AssertionError(f"there is no tab “{words}”")


def test_the_keyboard_alone_leads_from_the_jobs_to_the_first_copy(browser: Browser, address: str, job: str) -> None:
    with opened(browser, address) as page:
        page.goto(address)
        page.get_by_role("heading", level=1).wait_for()
        assert to(page)["name"] == "To the content"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "main"
        to(page, tag="a", href=job.rsplit("/", 1)[-1])
        page.keyboard.press("Enter")
        shows(page, "Order of the work")
        look_at_the_part(page)
        move_the_room(page)
        read_the_schedule(page)
        to(page, "Shift+Tab", tag="a", name="To the bench")
        page.keyboard.press("Enter")
        shows(page, "Begin with a part of")
        to(page, tag="button", name="limpet")
        page.keyboard.press("Enter")
        page.locator("h2.title").wait_for()
        work_to_the_first_copy(page)


def look_at_the_part(page: Page) -> None:
    to(page, selected=True)
    page.keyboard.press("ArrowRight")
    page.locator(SHOWN_PART).wait_for()
    to(page, name="in three dimensions")
    page.keyboard.press("ArrowRight")
    to(page, tag="input", name="nothing")
    page.keyboard.press("ArrowDown")
    expect(page.get_by_label("Draft")).to_be_checked()
    to(page, tag="select", name="Gate, vent, pocket or undercut")
    page.keyboard.press("ArrowDown")
    shows(page, "mm wide at the part")


def move_the_room(page: Page) -> None:
    to_tab(page, "What to mix")
    to(page, tag="input", name="Room at")
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    expect(page.get_by_role("button", name="Plan it for")).to_be_enabled()
    to(page, tag="button", name="Back to")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Plan it for")).to_be_disabled()


def read_the_schedule(page: Page) -> None:
    to_tab(page, "Schedule")
    shows(page, "Day by day")
    first = to(page, tag="button", spot="0-0-0")["name"]
    page.keyboard.press("ArrowRight")
    assert page.evaluate(FOCUSED)["name"] != first
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    told = page.locator(".told strong").inner_text()
    assert str(page.evaluate(FOCUSED)["name"]).startswith(told)
    expect(page.get_by_role("button", name="Let go")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("button", name="Let go")).to_have_count(0)


def work_to_the_first_copy(page: Page) -> None:
    """Every step by its keys, until the first copy is good."""
    for _ in range(80):
        stage = page.locator(".stage").inner_text()
        if page.get_by_role("button", name="Good copy").count():
            to(page, tag="button", name="Good copy")
            page.keyboard.press("Enter")
            shows(page, "1 of 8 good copies")
            return
        scales = page.locator(".scales label")
        for k in range(scales.count()):
            wanted = scales.nth(k).locator("strong").inner_text().removesuffix(" g")
            to(page, tag="input", name="as weighed")
            page.keyboard.type(wanted)
        if scales.count():
            page.keyboard.press("Enter")
        else:
            to(page, tag="button", name=page.locator("button.first.big").inner_text())
            page.keyboard.press("Enter")
        expect(page.locator(".stage")).not_to_have_text(stage, use_inner_text=True, timeout=30_000)
        expect(page.locator("button.big[disabled]")).to_have_count(0)
    raise AssertionError("the first copy was not reached")
