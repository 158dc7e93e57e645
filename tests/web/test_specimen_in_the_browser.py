"""Every piece in Chromium, on both widths and in both schemes: the accessibility rules hold and nothing runs off the side."""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from shop.models import Staff
from tests.browser.driver import DEVICES

pytestmark = pytest.mark.looks

# axe-core's own tags for the rules of WCAG 2.0 to 2.2, A and AA (https://github.com/dequelabs/axe-core, doc/rule-descriptions.md)
RULES = {"preload": False, "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
PAGES = ["/specimen/", "/specimen/?bench=1", "/asked/", "/refused/", "/nowhere/", "/sign-in/"]


@pytest.fixture(autouse=True)
def _specimen_pages(settings) -> None:
    settings.ROOT_URLCONF = "tests.web.urls"


@pytest.mark.parametrize(("screen", "scheme"), [("phone", "dark"), ("desktop", "light")])
def test_every_piece_meets_the_accessibility_rules(
    open_device: Callable, sign_in: Callable, owner: Staff, screen: str, scheme: str
) -> None:
    device = sign_in(open_device(DEVICES[screen]), owner)
    device.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    faults = []
    for address in PAGES:
        device.goto(address)
        found = Axe().run(device, options=RULES).response["violations"]
        faults += [(address, fault["id"], node["html"][:160]) for fault in found for node in fault["nodes"]]
    assert faults == []


def test_nothing_runs_off_the_side(device: Page, sign_in: Callable, owner: Staff) -> None:
    sign_in(device, owner)
    for address in PAGES:
        device.goto(address)
        assert device.evaluate("document.documentElement.scrollWidth <= innerWidth"), address


def test_targets_on_bench_pages_are_44_pixels_high(phone: Page, sign_in: Callable, owner: Staff) -> None:
    """Links inside running text and table headings aside (WCAG 2.2, 2.5.8 exempts what stands in a sentence)."""
    sign_in(phone, owner).goto("/specimen/?bench=1")
    heights = (
        "nodes => nodes.map(n => [n.outerHTML.slice(0, 90), n.getBoundingClientRect().height]).filter(([, h]) => h && h < 44)"
    )
    targets = "main .act, main .choice, main summary, main select, main input:not([type=hidden], [type=checkbox], [type=radio])"
    assert phone.locator(targets).evaluate_all(heights) == []


def test_what_is_typed_shows_what_is_found_and_keys_walk_through_it(desktop: Page, sign_in: Callable, owner: Staff) -> None:
    sign_in(desktop, owner).goto("/specimen/")
    desktop.locator("#f-q").press_sequentially("wil")
    desktop.get_by_role("link", name="Wilma Drummel").wait_for()
    desktop.keyboard.press("ArrowDown")
    desktop.keyboard.press("ArrowDown")
    assert desktop.evaluate("document.activeElement.textContent") == "Wilma Drummel"
    desktop.keyboard.press("Escape")
    assert desktop.evaluate("document.activeElement.id") == "f-q"
    assert desktop.locator("#found a").count() == 0


def test_a_second_click_sends_nothing(desktop: Page, sign_in: Callable, owner: Staff) -> None:
    sign_in(desktop, owner).goto("/specimen/")
    sent: list[str] = []

    def take(route) -> None:
        sent.append(route.request.method)
        route.fulfill(status=204)

    desktop.route("**/x/", take)
    button = desktop.get_by_role("button", name="Fit this one").first
    assert button.evaluate("b => { b.click(); b.click(); return b.ariaDisabled }") == "true"
    desktop.wait_for_timeout(300)
    assert sent == ["POST"]


def test_the_chosen_scheme_is_remembered(desktop: Page, sign_in: Callable, owner: Staff) -> None:
    desktop.emulate_media(color_scheme="light")
    sign_in(desktop, owner).goto("/specimen/")
    desktop.get_by_role("button", name="Dark").click()
    desktop.reload()
    desktop.get_by_role("button", name="Light").wait_for()
    assert desktop.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(18, 24, 26)"
