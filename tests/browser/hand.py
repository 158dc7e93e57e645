"""One person at one device: what they press, type and read. Everything goes by the words on the page."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO

from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

LOOKED_AT = re.compile(r"[?&]look=1")


class Hand:
    """Presses buttons, follows links, fills labelled fields on a page, or within one part of it (see `within`)."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.place: Page | Locator = page

    @contextmanager
    def within(self, selector: str, text: str = "") -> Iterator["Hand"]:
        """Only the first part of the page that fits: `with hand.within("form", "Log this time"):`."""
        before = self.place
        self.place = before.locator(selector, has_text=text or None).first
        yield self
        self.place = before

    def sign_in(self, name: str, password: str) -> None:
        self.page.goto("/")
        self.type(Name=name, Password=password)
        self.press("Sign in")
        self.reads("Today")

    def go(self, address: str) -> None:
        answer = self.page.goto(address)
        assert answer is not None
        assert answer.status == 200, f"{address} answers {answer.status}"

    def press(self, label: str) -> None:
        self.act(self.place.get_by_role("button", name=label, exact=True).first)

    def follow(self, label: str) -> None:
        self.act(self.place.get_by_role("link", name=label).first)

    def open(self, summary: str) -> None:
        """Unfold a part of the page, unless it is unfolded already."""
        fold = self.place.locator("details", has=self.page.locator("summary", has_text=summary)).first
        if fold.get_attribute("open") is None:
            self.unfold(fold)

    def field(self, label: str) -> Locator:
        """The field whose label begins so: behind it stand the unit and “optional”."""
        return self.place.get_by_label(re.compile(rf"^\s*{re.escape(label)}")).locator("visible=true").first

    def fill(self, label: str, text: str) -> None:
        self.write(self.field(label), text)

    def type(self, **fields: str) -> None:
        """`type(Name="…")` for labels of one word."""
        for label, text in fields.items():
            self.fill(label, text)

    def choose(self, label: str, option: str) -> None:
        self.pick(self.field(label), option)

    def tick(self, label: str) -> None:
        self.check(self.field(label))

    # The five ways in which a page is touched. `KeyboardHand` has its own.

    def act(self, target: Locator) -> None:
        target.click()
        self.page.wait_for_load_state()  # what is typed next must find the page's scripts at work

    def unfold(self, fold: Locator) -> None:
        fold.locator("summary").first.click()

    def write(self, target: Locator, text: str) -> None:
        target.fill(text)

    def pick(self, target: Locator, option: str) -> None:
        target.select_option(label=option)

    def check(self, target: Locator) -> None:
        target.check()

    def reads(self, text: str) -> None:
        """The text is on the page, and can be seen."""
        expect(self.place.get_by_text(text).locator("visible=true").first).to_be_visible()

    def reads_not(self, text: str) -> None:
        expect(self.place.get_by_text(text).locator("visible=true")).to_have_count(0)

    def heading(self) -> str:
        return self.page.locator("h1").inner_text()

    def paper(self, label: str) -> str:
        """The text of the paper that a link leads to: first it is looked at, then taken as it is printed."""
        # the whole word: a "Tag" is no part of an output stage
        address = self.place.get_by_role("link", name=re.compile(rf"\b{re.escape(label)}\b")).first.get_attribute("href")
        assert address
        seen = self.page.request.get(address)
        assert "page 1 of" in seen.text(), f"{address} shows no page"
        return self.paper_at(LOOKED_AT.sub("", address))

    def paper_at(self, address: str) -> str:
        answer = self.page.request.get(address)
        assert answer.status == 200, f"{address} answers {answer.status}"
        assert answer.body().startswith(b"%PDF-")
        return "\n".join(page.extract_text() for page in PdfReader(BytesIO(answer.body())).pages)

    def fits_the_screen(self) -> None:
        """Nothing makes the page wider than the device."""
        screen = self.page.viewport_size
        assert screen is not None
        wide = self.page.evaluate("document.documentElement.scrollWidth") - screen["width"]
        assert wide <= 0, f"{self.page.url} is {wide} px wider than the screen"
