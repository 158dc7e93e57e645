"""The main job by clicking and typing: from the counter through bench, consent and proof into the customer's hands."""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from playwright.sync_api import Page

from billing.models import Invoice
from jobs.queries.sheet import sheet_of
from shop.money import show
from tests.browser.bench_steps import finish_the_work, inspect, prove, repair, stop_at_the_ceiling
from tests.browser.counter_steps import carry_the_called_for_list, estimate_and_agree, revise_by_telephone, take_it_in
from tests.browser.driver import DEVICES
from tests.browser.hand import Hand
from tests.browser.keyboard import KeyboardHand
from tests.browser.tour import Tour, furnish
from tests.conftest import StillClock

ONE_DATABASE = pytest.mark.looks


@pytest.fixture(
    params=[
        pytest.param("desktop", marks=pytest.mark.second),
        pytest.param("tablet by keyboard", marks=ONE_DATABASE),
        pytest.param("phone without scripts", marks=ONE_DATABASE),
        pytest.param("phone", marks=[ONE_DATABASE, pytest.mark.long]),
    ]
)
def tour(request: pytest.FixtureRequest, open_device: Callable[..., Page], still_clock: StillClock, live_server: Any) -> Tour:
    furnish()
    device, _, how = request.param.partition(" ")
    with_scripts = how != "without scripts"

    def hand() -> Hand:
        page = open_device(DEVICES[device], java_script_enabled=with_scripts)
        return KeyboardHand(page) if how == "by keyboard" else Hand(page)

    return Tour(hand(), hand(), still_clock, hand, with_scripts=with_scripts)


def test_one_set_goes_through_the_shop(tour: Tour) -> None:
    take_it_in(tour)
    carry_the_called_for_list(tour)
    inspect(tour)
    estimate_and_agree(tour)
    repair(tour)
    stop_at_the_ceiling(tour)
    revise_by_telephone(tour)
    finish_the_work(tour)
    prove(tour)
    bill_and_hand_over(tour)
    nothing_is_left(tour)


def bill_and_hand_over(tour: Tour) -> None:
    counter = tour.counter
    counter.follow("Today")
    counter.reads(tour.job.number)
    counter.go(tour.at("jobs:job"))
    counter.follow("Invoice and payment")
    counter.follow("Issue the invoice")
    counter.reads("Can’t be undone")
    counter.press("Issue the invoice")
    counter.reads("is issued.")
    with counter.within("section.leaf", "What keeps the set here"):
        counter.reads("needed")
    counter.follow("Book a payment")
    counter.choose("By", "Card")
    counter.press("Book it")
    counter.reads("Free to go")
    the_bill_is_the_log(tour)
    counter.go(tour.at("jobs:job"))
    counter.follow("Hand the set over")
    counter.fill("Received and signed by", "Iwona Brzask")
    counter.press("Hand it over")
    counter.reads("Received by Iwona Brzask")


def the_bill_is_the_log(tour: Tour) -> None:
    """The parts of the invoice page, of its paper, of the job summary and of the log come to one sum."""
    counter, invoice = tour.counter, Invoice.objects.get()
    parts = show(sheet_of(tour.job).parts_minor, "GBP")
    assert sum(line.amount_minor for line in invoice.lines.filter(kind="part")) == sheet_of(tour.job).parts_minor
    counter.go(tour.at("billing:job_money"))
    counter.follow(invoice.number)
    rows = counter.page.locator("tr", has=counter.page.locator(".position")).all_inner_texts()
    shown = [re.findall(r"£(\d+\.\d\d)", row)[-1] for row in rows]
    assert f"£{sum(map(Decimal, shown))}" == parts
    paper = counter.paper("Paper")
    counter.go(tour.at("jobs:job"))
    summary = counter.paper("Job summary")
    assert all(text in paper for text in (invoice.number, "C1", "C2", "C3", "µF", show(invoice.gross_minor, "GBP")))
    assert parts in paper
    assert parts in summary
    assert all(text in summary for text in ("tone switch is bridged", "kΩ", "C2", "0.012 µF"))


def nothing_is_left(tour: Tour) -> None:
    counter = tour.counter
    counter.go(tour.at("jobs:job"))
    counter.follow("Warranty")
    counter.reads("lines are still covered")
    assert "0.012 µF" in counter.paper("Warranty record")
    counter.follow("Benches")
    counter.reads("No set is here")
    counter.follow("Today")
    counter.reads("Nothing stands in the workshop")
