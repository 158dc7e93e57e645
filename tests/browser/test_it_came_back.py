"""What follows a hand-over, by clicking: claims covered, partly and refused; a bad lot; a set nobody wants; data erased."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from jobs.models import Claim, ClaimAnswer, EntryKind, Job, LogEntry, Stage
from shop.models import Staff
from tests import builders as make
from tests.browser.driver import DESKTOP, PHONE
from tests.browser.hand import Hand
from tests.conftest import StillClock
from tests.jobs.claims import a_claim, a_repaired_set


@pytest.fixture
def a_hand(
    transactional_db: None,
    owner: Staff,
    still_clock: StillClock,
    open_device: Callable[..., Page],
    sign_in: Callable[[Page, Staff], Page],
) -> Iterator[Callable[..., Hand]]:
    """`a_hand(PHONE)` is the owner, who may do everything, at a device of that size."""

    def take(size: dict[str, int], kind: type[Hand] = Hand) -> Hand:
        return kind(sign_in(open_device(size), owner))

    yield take


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
    write_finding(hand, "R1 has drifted", position="R1", same="No: another fault", cause="an old part that was left in failed")
    decide(hand, "Partly covered")
    hand.reads("It is decided.")
    hand.fits_the_screen()
    places = partly.decisions.get().covered_places.values_list("position__designator", flat=True)
    assert "C2" in places
    assert "R1" not in places
    hand.go(at("jobs:claim", refused.job_id))
    write_finding(hand, "it was dropped", position="C2", same="No: another fault", cause="transport or a fall")
    decide(hand, "Covered")
    hand.reads("Proposed was “chargeable”. Say why it is decided otherwise.")
    decide(hand, "Chargeable")
    hand.reads("It is decided.")
    assert refused.decisions.get().decided == ClaimAnswer.CHARGEABLE
    hand.go(at("jobs:claims"))
    hand.reads(partly.job.number)
    hand.reads("transport or a fall")
    hand.fits_the_screen()
