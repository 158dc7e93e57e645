"""Every page as the owner sees it on a phone: axe-core's accessibility rules (WCAG 2.2 and best practice), no sideways scroll."""

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page

from shop.models import Staff
from tests.browser.driver import PHONE
from tests.conftest import StillClock
from tests.house.one_of_everything import Everything, one_of_everything, samples
from tests.house.pages import addresses
from tests.house.test_every_page import PIECES, none

pytestmark = pytest.mark.looks

IN_THE_DARK = ("today", "jobs:job", "jobs:change_log", "jobs:position", "jobs:estimate", "billing:invoice", "approve")


@pytest.fixture
def shop(transactional_db: None, still_clock: StillClock) -> Everything:
    return one_of_everything()


def faults(page: Page, axe: Axe) -> list[str]:
    told = axe.run(page, options={"resultTypes": ["violations"]}).response
    assert told["passes"], "no rule was looked at"
    found = [f"{one['id']}: {one['nodes'][0]['target']} ({len(one['nodes'])})" for one in told["violations"]]
    # A phone's window grows with what is too wide for it, so the device's own width counts.
    wide = page.evaluate("document.documentElement.scrollWidth") - PHONE["width"]
    return [*found, *([f"{wide} px wider than the screen"] if wide > 0 else [])]


def test_every_page_on_a_phone(shop: Everything, phone: Page, sign_in: Callable[[Page, Staff], Page]) -> None:
    page, axe, wrong, seen = sign_in(phone, shop.staff["owner"]), Axe(), {}, 0
    page.emulate_media(reduced_motion="reduce")  # colours that are still on their way would be measured
    for one in addresses():
        if one.name in PIECES or one.name in ("login", "logout"):
            continue
        address = reverse(one.name, kwargs=samples(shop, one.route, one.name)[0])
        answer: Any = page.request.get(address, max_redirects=0)
        if answer.status != 200 or not answer.headers["content-type"].startswith("text/html"):
            continue
        seen += 1
        page.goto(address)
        wrong[address] = faults(page, axe)
        if one.name in IN_THE_DARK:
            page.emulate_media(color_scheme="dark")
            wrong[f"{address} in the dark"] = faults(page, axe)
            page.emulate_media(color_scheme="light")
    none({address: found for address, found in wrong.items() if found})
    assert seen > 50


def test_what_is_too_wide_or_unlabelled_is_seen(phone: Page, transactional_db: None) -> None:
    """The walk above can fail: it finds what is put wrong on purpose."""
    phone.goto("/")
    phone.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend', '<input><svg width=\"900\" height=\"9\"></svg>')"
    )
    found = " ".join(faults(phone, Axe()))
    assert "label" in found
    assert "px wider than the screen" in found


def test_the_sign_in_page_on_a_phone(phone: Page, transactional_db: None) -> None:
    phone.goto("/")
    assert faults(phone, Axe()) == []
