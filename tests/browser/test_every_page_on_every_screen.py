"""Every page as the owner sees it: the accessibility rules of axe-core in both colour schemes, and no sideways scroll.

All rules are run on the phone in the light scheme; in the dark one those that depend on colours.
"""

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page

from shop.models import Staff
from tests.browser.driver import DESKTOP, PHONE, TABLET
from tests.conftest import StillClock
from tests.house.one_of_everything import Everything, one_of_everything, samples
from tests.house.pages import addresses
from tests.house.test_every_page import PIECES, none

pytestmark = pytest.mark.looks

HALVES = 2
"""The walk is cut in parts, so that two workers share it."""
OF_COLOURS = ["color-contrast", "link-in-text-block"]


@pytest.fixture
def shop(transactional_db: None, still_clock: StillClock) -> Everything:
    return one_of_everything()


def told(page: Page, axe: Axe, **options: Any) -> list[str]:
    answer = axe.run(page, options={"resultTypes": ["violations"], **options}).response
    assert answer["passes"], "no rule was looked at"
    return [f"{one['id']}: {one['nodes'][0]['target']} ({len(one['nodes'])})" for one in answer["violations"]]


def too_wide(page: Page, width: int) -> list[str]:
    """A phone's window grows with what is too wide for it, so the device's own width counts."""
    wide = page.evaluate("document.documentElement.scrollWidth") - width
    return [f"{wide} px wider than a screen of {width}"] if wide > 0 else []


def faults(page: Page, axe: Axe) -> list[str]:
    """All that is wrong with the page that is open, on every width and in both schemes; it is left as it was."""
    found = [*told(page, axe), *too_wide(page, PHONE["width"])]
    page.emulate_media(color_scheme="dark")
    found += [f"in the dark, {one}" for one in told(page, axe, runOnly=OF_COLOURS)]
    page.emulate_media(color_scheme="light")
    for size in (TABLET, DESKTOP):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        found += too_wide(page, size["width"])
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    return found


def opens(page: Page, address: str) -> bool:
    """Whether it is a page that shows something. Asked for beforehand: the browser shows other files in ways of its own."""
    answer = page.request.get(address, max_redirects=0)
    if answer.status != 200 or not answer.headers["content-type"].startswith("text/html"):
        return False
    page.goto(address)
    return True


@pytest.mark.parametrize("half", range(HALVES))
def test_every_page_on_every_screen(half: int, shop: Everything, phone: Page, sign_in: Callable[[Page, Staff], Page]) -> None:
    page, axe, wrong, seen = sign_in(phone, shop.staff["owner"]), Axe(), {}, 0
    page.emulate_media(reduced_motion="reduce")  # colours that are still on their way would be measured
    for one in list(addresses())[half::HALVES]:
        if one.name in PIECES or one.name in ("login", "logout"):
            continue
        address = reverse(one.name, kwargs=samples(shop, one.route, one.name)[0])
        if not opens(page, address):
            continue
        seen += 1
        wrong[address] = faults(page, axe)
    none({address: found for address, found in wrong.items() if found})
    assert seen > 40


def test_what_is_too_wide_or_unlabelled_is_seen(phone: Page, transactional_db: None) -> None:
    """The walk above can fail: it finds what is put wrong on purpose."""
    phone.goto("/")
    phone.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend', '<input><svg width=\"900\" height=\"9\"></svg>')"
    )
    found = " ".join(faults(phone, Axe()))
    assert "label" in found
    assert "px wider than a screen of 390" in found
    assert "px wider than a screen of 820" in found


def test_the_sign_in_page_on_a_phone(phone: Page, transactional_db: None) -> None:
    phone.goto("/")
    assert faults(phone, Axe()) == []
