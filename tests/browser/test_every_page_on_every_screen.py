"""Every page as the owner sees it: the accessibility rules of axe-core in both colour schemes, and no sideways scroll.

On the phone all rules look at the whole page, but for those of colours, which take three times as long as all others together:
they look, in either scheme, at what differs in its looks from all that they saw on the pages before.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Error, Page

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
# All else asks for no other file, so axe-core needn't fetch the style sheets once more (its rules for those are experimental).
ALL_BUT_COLOURS = {"preload": False, "rules": {name: {"enabled": False} for name in OF_COLOURS}}
RUN = """([within, options]) => axe.run(within ? {include: within.flatMap(look => looks.get(look))} : document,
  {resultTypes: ["violations"], ...options}).then(found => [found.violations, found.passes.length])"""
# What contrast goes by: the element's own classes, colour and letters, and each ground that shines through from behind.
LOOKS = """() => {
  const ground = (at) => {
    const shown = getComputedStyle(at);
    const clear = shown.backgroundColor === "rgba(0, 0, 0, 0)" && shown.backgroundImage === "none" && shown.opacity === "1";
    return clear ? [] : [`${shown.backgroundColor} ${shown.backgroundImage} ${shown.opacity}`];
  };
  const look = (one) => {
    const behind = [];
    for (let at = one; at; at = at.parentElement) behind.push(...ground(at));
    const own = getComputedStyle(one), around = getComputedStyle(one.parentElement);
    const marks = [one.disabled, one.ariaDisabled, own.color, own.fontSize, own.fontWeight, own.position, around.color];
    return [one.localName, one.className, one.type, one.parentElement.className, ...marks, ...behind].join("|");
  };
  const says = (one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
  window.looks = new Map();
  for (const one of document.body.querySelectorAll("*")) {
    if (!(says(one) || one.matches("input, select, textarea")) || !one.checkVisibility()) continue;
    const its = look(one), alike = looks.get(its) ?? [];
    if (alike.length < 3) looks.set(its, [...alike, one]);
  }
  return [...looks.keys()];
}"""


@pytest.fixture
def shop(transactional_db: None, still_clock: StillClock) -> Everything:
    return one_of_everything()


@dataclass
class Eye:
    """Looks at one page after another; `seen` are the looks that the rules of colours went through."""

    page: Page
    seen: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.page.emulate_media(reduced_motion="reduce")  # colours that are still on their way would be measured

    def faults(self) -> list[str]:
        """All that is wrong with the page that is open, on every width and in both schemes; it is left as it was."""
        page = self.page
        page.evaluate(Axe().axe_script)
        found = [*self._told(None, ALL_BUT_COLOURS), *too_wide(page, PHONE["width"]), *self._colours("light")]
        page.emulate_media(color_scheme="dark")
        found += [f"in the dark, {one}" for one in self._colours("dark")]
        page.emulate_media(color_scheme="light")
        for size in (TABLET, DESKTOP):
            page.set_viewport_size(size)  # type: ignore[arg-type]
            found += too_wide(page, size["width"])
        page.set_viewport_size(PHONE)  # type: ignore[arg-type]
        return found

    def _colours(self, scheme: str) -> list[str]:
        new = [look for look in self.page.evaluate(LOOKS) if f"{scheme} {look}" not in self.seen]
        self.seen |= {f"{scheme} {look}" for look in new}
        return self._told(new, {"preload": False, "runOnly": OF_COLOURS}) if new else []

    def _told(self, within: list[str] | None, options: dict[str, Any]) -> list[str]:
        violations, passes = self.page.evaluate(RUN, [within, options])
        assert passes or within, "no rule was looked at"
        return [f"{one['id']}: {one['nodes'][0]['target']} ({len(one['nodes'])})" for one in violations]


def too_wide(page: Page, width: int) -> list[str]:
    """A phone's window grows with what is too wide for it, so the device's own width counts."""
    wide = page.evaluate("document.documentElement.scrollWidth") - width
    return [f"{wide} px wider than a screen of {width}"] if wide > 0 else []


def keep_out_what_is_no_page(page: Page) -> None:
    """The browser would show other files, and refusals without a word, in ways of its own; here `goto` ends with an error."""
    browser = page.context.new_cdp_session(page)

    def look(paused: dict[str, Any]) -> None:
        kinds = [one["value"] for one in paused.get("responseHeaders", []) if one["name"].lower() == "content-type"]
        shows = paused.get("responseStatusCode") == 200 and kinds and kinds[0].startswith("text/html")
        one = {"requestId": paused["requestId"]}
        browser.send(*("Fetch.continueRequest", one) if shows else ("Fetch.failRequest", {**one, "errorReason": "Aborted"}))

    browser.on("Fetch.requestPaused", look)
    browser.send("Fetch.enable", {"patterns": [{"resourceType": "Document", "requestStage": "Response"}]})


def opens(page: Page, address: str) -> bool:
    """Whether it is a page that shows something."""
    try:
        page.goto(address)
    except Error as error:
        if "ERR_ABORTED" not in error.message:
            raise
        return False
    return True


@pytest.mark.parametrize("half", range(HALVES))
def test_every_page_on_every_screen(half: int, shop: Everything, phone: Page, sign_in: Callable[[Page, Staff], Page]) -> None:
    eye, wrong, seen = Eye(sign_in(phone, shop.staff["owner"])), {}, 0
    keep_out_what_is_no_page(phone)
    for one in list(addresses())[half::HALVES]:
        if one.name in PIECES or one.name in ("login", "logout"):
            continue
        address = reverse(one.name, kwargs=samples(shop, one.route, one.name)[0])
        if opens(phone, address):
            seen += 1
            wrong[address] = eye.faults()
    none({address: found for address, found in wrong.items() if found})
    assert seen > 40


def test_what_is_too_wide_or_unlabelled_or_pale_is_seen(phone: Page, transactional_db: None) -> None:
    """The walk above can fail: it finds what is put wrong on purpose, on a page whose other pieces it saw before."""
    phone.goto("/")
    eye = Eye(phone)
    assert eye.faults() == []
    phone.evaluate(
        """() => {
          const wrong = '<input><svg width="900" height="9"></svg><p id="pale">pale</p>';
          document.querySelector("main").insertAdjacentHTML("beforeend", wrong);
          Object.assign(document.getElementById("pale").style, {color: "#808080", backgroundColor: "#787878"});
        }"""
    )
    found = " ".join(eye.faults())
    assert "label" in found
    assert "px wider than a screen of 390" in found
    assert "px wider than a screen of 820" in found
    assert found.count("color-contrast: ['#pale'] (1)") == 2


def test_the_sign_in_page_on_a_phone(phone: Page, transactional_db: None) -> None:
    phone.goto("/")
    assert Eye(phone).faults() == []
