"""The owner's round: terms, people, what to buy, a bill put right, the books, the pictures, and a calendar that can be shut."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page

from billing.models import Invoice
from inventory.models import Order, Part
from jobs.models import Stage
from shop.models import Profile, Staff
from tests.browser.driver import DEVICES
from tests.browser.hand import Hand
from tests.browser.keyboard import KeyboardHand
from tests.conftest import PASSWORD, StillClock
from tests.house.one_of_everything import Everything, one_of_everything

SCREENS = [
    pytest.param("phone", marks=pytest.mark.looks),
    "tablet by keyboard",
    pytest.param("desktop", marks=[pytest.mark.looks, pytest.mark.long]),
]


@pytest.fixture
def shop(transactional_db: None, still_clock: StillClock) -> Everything:
    """Of one part that a supplier offers there is far too little."""
    everything = one_of_everything()
    Part.objects.filter(marking="0.022 µF 630 V").update(minimum=900)
    return everything


@pytest.fixture(params=SCREENS)
def owner(
    request: pytest.FixtureRequest,
    shop: Everything,
    open_device: Callable[..., Page],
    sign_in: Callable[[Page, Staff], Page],
) -> Hand:
    device, _, how = request.param.partition(" ")
    page = sign_in(open_device(DEVICES[device]), shop.staff["owner"])
    return KeyboardHand(page) if how else Hand(page)


def test_the_owner_minds_the_shop(owner: Hand, shop: Everything, open_device: Callable[..., Page]) -> None:
    owner.go("/")
    terms(owner)
    people(owner)
    buying(owner)
    a_bill_put_right(owner, shop)
    books_and_pictures(owner)
    a_calendar(owner, open_device)


def to(owner: Hand, page: str) -> None:
    """By the line at the head, then by a word on the owner's page."""
    with owner.within("nav[aria-label=Main]"):
        owner.follow("Owner")
    with owner.within("main"):
        owner.follow(page)
    owner.fits_the_screen()


def terms(owner: Hand) -> None:
    to(owner, "The shop and its terms")
    owner.fill("Labour rate per hour", "a lot")
    owner.press("Save the terms")
    owner.reads("Labour rate per hour")
    assert owner.field("Labour rate per hour").input_value() == "a lot"
    owner.fill("Labour rate per hour", "48.50")
    owner.press("Save the terms")
    assert Profile.objects.get().hour_rate_minor == 4850


def people(owner: Hand) -> None:
    to(owner, "Staff")
    owner.follow("Add somebody")
    owner.fill("Name to sign in with", "winifred")
    owner.fill("First password", PASSWORD)
    owner.choose("Role", "Bench")
    owner.fill("Name on papers", "Winifred Stackpole")
    owner.press("Let them sign in")
    owner.reads("Winifred Stackpole")
    assert Staff.objects.get(username="winifred").role == "bench"


def buying(owner: Hand) -> None:
    """What lies below its minimum is on the list with the reason; one press writes the orders."""
    written = Order.objects.count()
    with owner.within("nav[aria-label=Main]"):
        owner.follow("Drawers")
    owner.follow("To buy")
    owner.fits_the_screen()
    owner.reads("to fill up")
    owner.press("Reckon the cheapest basket")
    owner.fits_the_screen()
    owner.press("Write this order")
    assert Order.objects.count() == written + 1


def a_bill_put_right(owner: Hand, shop: Everything) -> None:
    bill = Invoice.objects.get(job=shop.jobs[Stage.READY], kind="invoice")
    with owner.within("nav[aria-label=Main]"):
        owner.follow("Money")
    owner.follow(bill.number)
    owner.follow("Credit a part")
    owner.fill("Sum", "1.00")
    owner.fill("Why this is credited", "a coin too much")
    owner.press("Issue the credit note")
    owner.reads("still stands for £0.60; £1.00 is more.")
    owner.fill("Sum", "0.10")
    owner.press("Issue the credit note")
    owner.reads("The job stays billed.")
    assert Invoice.objects.filter(credits=bill).count() == 1


def books_and_pictures(owner: Hand) -> None:
    to(owner, "Journal, tax and papers of a period")
    owner.follow("Journal")
    owner.fits_the_screen()
    to(owner, "The shop in pictures")
    assert owner.page.locator("main svg").count() >= 3


def a_calendar(owner: Hand, open_device: Callable[..., Page]) -> None:
    """A program without a cookie reads it by its address alone, until the link is revoked."""
    to(owner, "Calendar")
    owner.fill("What will read it", "the telephone in the van")
    owner.press("Make the link")
    address = owner.field("The address").input_value().strip()
    program: Any = open_device(DEVICES["desktop"]).request
    assert program.get(address).text().startswith("BEGIN:VCALENDAR")
    to(owner, "Calendar")
    with owner.within("tr", "the telephone in the van"):
        owner.press("Revoke the link for “the telephone in the van”")
    assert program.get(address).status == 404
