"""What follows a hand-over, by clicking: claims covered, partly and refused; a bad lot; a set nobody wants; data erased."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from billing.models import SurplusPayment, UncollectedSale
from inventory.models import Lot
from jobs.models import BadLotLetter, Claim, ClaimAnswer, EntryKind, Job, LogEntry, Stage
from shop.clock import now, today
from shop.models import Customer, DataRequest, Staff
from tests import builders as make
from tests.browser.driver import DESKTOP, PHONE, TABLET
from tests.browser.hand import Hand
from tests.conftest import StillClock
from tests.jobs.claims import a_claim, a_repaired_set

SAME, OTHER = "Yes: the fault that was repaired", "No: another fault"
PART = "a part that we fitted failed"


@pytest.fixture
def a_hand(
    transactional_db: None,
    owner: Staff,
    still_clock: StillClock,
    open_device: Callable[..., Page],
    sign_in: Callable[[Page, Staff], Page],
) -> Callable[..., Hand]:
    """`a_hand(PHONE)` is the owner, who may do everything, at a device of that size."""

    def take(size: dict[str, int]) -> Hand:
        return Hand(sign_in(open_device(size), owner))

    return take


def at(name: str, *args: Any) -> str:
    return reverse(name, args=args)


def write_finding(hand: Hand, text: str, *, position: str, same: str, cause: str) -> None:
    with hand.within("#finding"):
        hand.fill("What was found", text)
        hand.choose("At which position", position)
        hand.tick(same)
        hand.choose("Why it came back", cause)
        hand.press("Write it down")
    hand.reads("The finding is written down")


def decide(hand: Hand, answer: str, why: str = "") -> None:
    with hand.within("#decide"):
        hand.tick(answer)
        if why:
            hand.fill("Why", why)
        hand.press("Decide it so")


def test_a_claim_is_covered_and_repaired_at_no_charge(a_hand: Callable[..., Hand]) -> None:
    hand = a_hand(DESKTOP)
    earlier = a_repaired_set(days_ago=20)
    job = come_back(hand, earlier)
    hand.go(at("jobs:job", job.pk))
    hand.press("Start inspection")
    hand.follow("Claim")
    hand.reads("Nothing is found yet.")
    write_finding(
        hand, "C2 is open", position="C2", same="Yes: the fault that was repaired", cause="a part that we fitted failed"
    )
    hand.reads("Proposed by the rules of")
    decide(hand, "Covered")
    hand.reads("It is decided.")
    hand.fits_the_screen()
    assert "C2 is open" in hand.paper("What we decided, for the customer")
    hand.press("Covered by the warranty: no estimate")
    job.refresh_from_db()
    assert job.stage == Stage.AGREED
    fit_at_no_charge(hand, job)


def come_back(hand: Hand, earlier: Job) -> Job:
    """The counter takes the set in again: customer and set are known, and so is the warranty."""
    hand.go(at("jobs:intake") + f"?customer={earlier.customer_id}&set={earlier.radio_id}")
    hand.fill("The fault, in the customer's own words", "Dead again, just as before.")
    hand.tick("It came back under warranty")
    hand.press("Take the set in")
    hand.reads("The set is taken in.")
    claim = Claim.objects.get(warranty__job=earlier)
    return claim.job


def fit_at_no_charge(hand: Hand, job: Job) -> None:
    hand.go(at("jobs:job", job.pk))
    hand.press("Start work on the bench")
    hand.go(at("jobs:position", make.position_of(job).pk))
    hand.reads("100 % of what goes in here isn’t charged")
    with hand.within("li.offer", "0.01 µF 630 V"):
        hand.press("Fit this one")
    hand.reads("Take out: ")
    fitted = LogEntry.objects.get(job=job, kind=EntryKind.FITTED)
    assert (fitted.price_minor, fitted.charged, fitted.movement.count) == (0, False, -1)
    hand.reads(f"warranty of job {job.warranty_of}")


def test_a_claim_is_covered_in_part_and_another_is_refused(a_hand: Callable[..., Hand]) -> None:
    hand = a_hand(PHONE)
    partly, refused = a_claim(), a_claim(a_repaired_set(customer=make.a_customer("Bohumil Trnka")))
    hand.go(at("jobs:claim", partly.job_id))
    write_finding(
        hand, "C2 is open", position="C2", same="Yes: the fault that was repaired", cause="a part that we fitted failed"
    )
    write_finding(hand, "R1 has drifted", position="R1", same=OTHER, cause="an old part that was left in failed")
    decide(hand, "Partly covered")
    hand.reads("It is decided.")
    hand.fits_the_screen()
    places = partly.decisions.get().covered_places.values_list("position__designator", flat=True)
    assert "C2" in places
    assert "R1" not in places
    hand.go(at("jobs:claim", refused.job_id))
    write_finding(hand, "it was dropped", position="C2", same=OTHER, cause="transport or a fall")
    decide(hand, "Covered")
    hand.reads("Proposed was “chargeable”. Say why it is decided otherwise.")
    decide(hand, "Chargeable")
    hand.reads("It is decided.")
    assert refused.decisions.get().decided == ClaimAnswer.CHARGEABLE
    hand.go(at("jobs:claims"))
    hand.reads(partly.job.number)
    hand.reads("transport or a fall")
    hand.fits_the_screen()


def test_a_bad_lot_leads_to_every_owner(a_hand: Callable[..., Hand]) -> None:
    hand = a_hand(DESKTOP)
    job = a_repaired_set()
    lot = Lot.objects.get(log_entries__job=job)
    held = make.a_job(Stage.AGREED, customer=make.a_customer("Bohumil Trnka"))
    hand.go(at("inventory:lot", lot.pk))
    hand.follow("This lot is bad")
    hand.press("It is bad: block it")
    hand.reads("What is wrong with it")
    hand.fill("What is wrong with it", "the end seals leak")
    hand.fill("What may happen in a set", "It may short after some hours.")
    hand.press("It is bad: block it")
    hand.reads("The sets it went into")
    hand.reads(job.customer.name)
    hand.fits_the_screen()
    assert job.customer.name in hand.paper("Letters to 1 owner")
    hand.follow("The letters went out")
    hand.fill("Sent by", "registered post")
    hand.press("Write it down")
    hand.reads("the letters went out")
    assert BadLotLetter.objects.get().how == "registered post"
    nothing_of_it_is_fitted(hand, held, lot)


def nothing_of_it_is_fitted(hand: Hand, held: Job, lot: Lot) -> None:
    lot.refresh_from_db()
    assert lot.blocked_reason
    hand.go(at("jobs:bad_lots"))
    hand.reads("none to send")
    hand.go(at("jobs:position", make.position_of(held).pk))
    assert hand.page.get_by_role("button", name="Fit this one").count() == 0


def test_a_declined_set_is_put_back(a_hand: Callable[..., Hand]) -> None:
    hand = a_hand(PHONE)
    job = make.a_job(Stage.DECLINED)
    hand.go(at("jobs:declined", job.pk))
    hand.press("Let go of the held parts")
    hand.reads("they never left their drawers")
    hand.reads("Nothing is held for it.")
    hand.fits_the_screen()
    assert job.number in hand.paper("List for the bench")
    hand.follow("Give the set back")
    with hand.within("form", "Return it unsafe"):
        hand.fill("Received and signed by", job.customer.name)
        hand.fill("How the set was disabled", "line cord cut off and kept")
        hand.tick("The person was told, and signed")
    hand.press("Return it unsafe, disabled")
    job.refresh_from_db()
    assert job.stage == Stage.RETURNED


def test_a_set_that_nobody_collects_is_sold_by_the_rules(a_hand: Callable[..., Hand], still_clock: StillClock) -> None:
    make.a_profile(jurisdiction="gb")
    job = make.a_job(Stage.READY)
    make.an_invoice(job)
    hand = a_hand(TABLET)
    hand.go(at("billing:collecting", job.pk))
    send_notice(hand, "Please collect")
    prove(hand, "RP 4711 0815")
    still_clock.forward(hours=1)
    hand.go(at("billing:collecting", job.pk))
    send_notice(hand, "Intention to sell", names_in=93)
    prove(hand, "RP 4711 0816")
    hand.go(at("billing:sell_uncollected", job.pk))
    sell(hand)
    hand.reads("Against a sale today")
    assert not UncollectedSale.objects.exists()
    still_clock.forward(days=94)
    later = a_hand(TABLET)
    later.go(at("billing:sell_uncollected", job.pk))
    sell(later)
    sold_and_paid_out(later, job)


def send_notice(hand: Hand, kind: str, names_in: int = 0) -> None:
    hand.follow("Write a notice down")
    hand.tick(kind)
    hand.fill("Sent by", "registered or recorded post")
    if names_in:
        hand.fill("Day it names", f"{today() + timedelta(days=names_in):%Y-%m-%d}")
        hand.tick("Nobody disputes what is owed")
    hand.press("Write it down")
    hand.reads("Where it stands")


def prove(hand: Hand, receipt: str) -> None:
    with hand.within("li", "no proof yet"):
        hand.reads("Nothing proves yet")
    hand.page.get_by_role("link", name="Write down how it went").first.click()
    hand.tick("posted")
    hand.fill("Proof", receipt)
    hand.press("Write it down")
    hand.reads(receipt)
    hand.fits_the_screen()


def sell(hand: Hand) -> None:
    hand.fill("Price", "400")
    hand.fill("Buyer: name and address", "Walburga Kestenholz, 4 Quay Side")
    hand.fill("How it was sold", "three offers were asked, shown in the window for a month")
    hand.fill("Costs of the sale", "20")
    hand.fill("What these costs were", "advertisement")
    hand.press("Write the sale down")


def sold_and_paid_out(hand: Hand, job: Job) -> None:
    sale = UncollectedSale.objects.get()
    assert sale.surplus_minor == 40_000 - 2_000 - sale.owed_minor > 0
    job.refresh_from_db()
    assert job.stage == Stage.SOLD
    hand.fits_the_screen()
    assert "Walburga" not in hand.paper("Account for the owner of the set")
    hand.follow("Pay out what is left")
    hand.fill("Sum", "9999")
    hand.press("Book the money paid out")
    hand.fill("Sum", f"{sale.surplus_minor / 100:.2f}")
    hand.choose("By", "Bank transfer")
    hand.press("Book the money paid out")
    hand.reads("Paid out")
    assert SurplusPayment.objects.get().amount_minor == sale.surplus_minor


def test_what_no_law_keeps_is_erased_on_request(a_hand: Callable[..., Hand]) -> None:
    hand = a_hand(PHONE)
    make.a_profile(jurisdiction="gb")
    job = make.a_job(Stage.HANDED_OVER, at=now() - timedelta(days=400))
    name = job.customer.name
    hand.go(at("shop:customer", job.customer_id))
    hand.follow("What is held of them")
    hand.reads("What would be erased today")
    hand.reads("Value Added Tax Act 1994")
    hand.fits_the_screen()
    hand.tick("They asked")
    hand.press("Erase what stands above")
    assert Customer.objects.get().name == name
    hand.fill("Name on the card, once more", name)
    hand.press("Erase what stands above")
    hand.reads("Erased")
    customer = Customer.objects.get()
    assert (customer.phone, customer.email, customer.erased_at is not None) == ("", "", True)
    assert DataRequest.objects.get().customer == customer
    hand.go(at("billing:invoice", job.invoices.get().pk))
    hand.reads(name)
