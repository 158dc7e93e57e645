"""Chromium for the tests: `phone` and `desktop` are pages of the two widths, `device` is both in turn."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from shop.models import Staff
from shop.setup.programs import find_chromium

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1440, "height": 900}
DEVICES = {"phone": PHONE, "desktop": DESKTOP}
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SLOWEST_MS = 15_000


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = find_chromium()
    if path is None:
        pytest.fail("Chromium was not found: install it, or set CHROMIUM to its path.", pytrace=False)
    # Playwright keeps an event loop in this thread, for which the framework would refuse the tests' own queries.
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def open_device(chromium: Browser, live_server: Any) -> Iterator[Callable[[dict[str, int]], Page]]:
    """`open_device(PHONE)` gives a page of that size on the test's own server (`page.goto("/")`). Script errors fail the test."""
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def open_page(size: dict[str, int]) -> Page:
        touch = size["width"] < 600
        viewport: Any = size
        context = chromium.new_context(
            base_url=live_server.url, viewport=viewport, has_touch=touch, is_mobile=touch, locale="en-GB"
        )
        context.set_default_timeout(SLOWEST_MS)
        context.on("weberror", lambda error: errors.append(str(error.error)))
        contexts.append(context)
        return context.new_page()

    yield open_page
    for context in contexts:
        context.close()
    assert errors == []


@pytest.fixture
def phone(open_device: Callable[[dict[str, int]], Page]) -> Page:
    return open_device(PHONE)


@pytest.fixture
def desktop(open_device: Callable[[dict[str, int]], Page]) -> Page:
    return open_device(DESKTOP)


@pytest.fixture(params=sorted(DEVICES))
def device(request: pytest.FixtureRequest, open_device: Callable[[dict[str, int]], Page]) -> Page:
    return open_device(DEVICES[request.param])


@pytest.fixture
def sign_in(live_server: Any, settings: Any) -> Callable[[Page, Staff], Page]:
    """Give the page the cookie of a signed-in person, without going through the form."""

    def sign(page: Page, person: Staff) -> Page:
        client = Client()
        client.force_login(person)
        name = settings.SESSION_COOKIE_NAME
        page.context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": live_server.url}])
        return page

    return sign


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever opens Chromium is a browser test, marked or not, so that a quick run can leave it out."""
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
