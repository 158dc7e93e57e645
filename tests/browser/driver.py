"""Chromium for the tests: `phone` and `desktop` are pages of two widths, `device` is all three in turn."""

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from shop.models import Staff
from shop.setup.programs import find_chromium
from tests.browser.chromium import ARGUMENTS

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1440, "height": 900}
TABLET = {"width": 820, "height": 1180}
DEVICES = {"phone": PHONE, "tablet": TABLET, "desktop": DESKTOP}
SLOWEST_MS = 15_000


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = find_chromium()
    if path is None:
        pytest.fail("Chromium was not found: install it, or set CHROMIUM to its path.", pytrace=False)
    # Playwright keeps an event loop in this thread, for which the framework would refuse the tests' own queries.
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        patch.setattr(StaticFilesHandler, "serve", _kept_by_the_browser(StaticFilesHandler.serve))
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


def _kept_by_the_browser(serve: Callable[..., Any]) -> Callable[..., Any]:
    """Styles and scripts are the same on every page of a walk; files of a fresh checkout would be asked for each time anew."""

    def kept(self: Any, request: Any) -> Any:
        answer = serve(self, request)
        answer.headers["Cache-Control"] = "max-age=3600"
        return answer

    return kept


# A page that refuses in words answers 4xx by design, and some tests cut the network; the browser then notes that in its console.
REFUSED_IN_WORDS = re.compile(
    r"Failed to load resource: "
    r"(the server responded with a status of (403|404|405|409|422)|net::ERR_(FAILED|INTERNET_DISCONNECTED))"
)


def _is_fault(message: ConsoleMessage) -> bool:
    """Script errors and breaches of the security policy are console errors; so is a refused page, which is none of ours."""
    return message.type == "error" and not REFUSED_IN_WORDS.match(message.text)


@pytest.fixture
def open_device(chromium: Browser, live_server: Any) -> Iterator[Callable[..., Page]]:
    """`open_device(PHONE)` gives a page of that size on the test's own server (`page.goto("/")`).

    More words are options of the browser's context (`java_script_enabled=False`). Script errors, console errors and breaches of
    the security policy fail the test.
    """
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def open_page(size: dict[str, int], **options: Any) -> Page:
        touch = size["width"] < 1000
        viewport: Any = size
        context = chromium.new_context(
            base_url=live_server.url, viewport=viewport, has_touch=touch, is_mobile=touch, locale="en-GB", **options
        )
        context.set_default_timeout(SLOWEST_MS)
        context.on("weberror", lambda error: errors.append(str(error.error)))
        context.on("console", lambda message: errors.append(message.text) if _is_fault(message) else None)
        contexts.append(context)
        return context.new_page()

    yield open_page
    for context in contexts:
        context.close()
    assert errors == []


@pytest.fixture
def phone(open_device: Callable[..., Page]) -> Page:
    return open_device(PHONE)


@pytest.fixture
def desktop(open_device: Callable[..., Page]) -> Page:
    return open_device(DESKTOP)


@pytest.fixture(params=sorted(DEVICES))
def device(request: pytest.FixtureRequest, open_device: Callable[..., Page]) -> Page:
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
