"""One row in each ledger that no builder fills, made straight from the models: only that it can't be changed is asked of them."""

from typing import Any

from billing.models import SurplusPayment, UncollectedSale
from inventory.models import BadLot, ListPriceChange, Lot, SupplierClaim, SupplierClaimStep, ValveTest, ValveTester, Writedown
from jobs.models import (
    BadLotLetter,
    Claim,
    ClaimDecision,
    ClaimFinding,
    CollectionNotice,
    CoveredPlace,
    DisputeStep,
    Forecast,
    Job,
    LogEntry,
    NoticeService,
    Warranty,
    WarrantyTransfer,
)
from shop.models import AccessEvent, DataRequest, Staff
from tests.builders import a_lot, a_supplier
from tests.conftest import MONDAY

DAY = MONDAY.date()


def of_the_drawers(person: Staff) -> None:
    lot, supplier, stamp = a_lot(), a_supplier(), {"at": MONDAY, "person": person}
    Writedown.objects.create(lot=lot, unit_milli=1, from_on=DAY, reason="corroded", **stamp)
    ListPriceChange.objects.create(part=lot.part, after_minor=900, **stamp)
    tester = ValveTester.objects.create(name="bench tester")
    ValveTest.objects.create(lot=lot, tester=tester, reading="72", verdict="good", tested_on=DAY, **stamp)
    claim = SupplierClaim.objects.create(supplier=supplier, lot=lot, count=1, cost_milli=20_000, reason="open", **stamp)
    SupplierClaimStep.objects.create(claim=claim, kind="asked", on=DAY, **stamp)


def of_a_warranty(warranty: Warranty, came_back: Job, person: Staff) -> None:
    """`came_back`: the job on the set that is claimed for."""
    stamp: dict[str, Any] = {"at": MONDAY, "person": person}
    owner = came_back.customer
    WarrantyTransfer.objects.create(
        warranty=warranty, from_customer=owner, to_customer=owner, moved_on=DAY, goes_along=True, **stamp
    )
    claim = Claim.objects.create(job=came_back, warranty=warranty, claimed_on=DAY, **stamp)
    ClaimFinding.objects.create(claim=claim, text="it hums again", **stamp)
    frozen = {"rules": "2026-11", "case": {}, "proposal": {}, "finding_count": 1, "log_seq": 0}
    decision = ClaimDecision.objects.create(claim=claim, proposed="covered", decided="covered", **frozen, **stamp)
    CoveredPlace.objects.create(decision=decision, reason="the fault that was repaired")


def of_a_fitted_lot(entry: LogEntry, lot: Lot, person: Staff) -> None:
    stamp = {"at": MONDAY, "person": person}
    bad = BadLot.objects.create(lot=lot, why="leaks", **stamp)
    BadLotLetter.objects.create(bad_lot=bad, entry=entry, sent_on=DAY, how="post", to_whom="the owner", **stamp)


def of_a_set_that_nobody_collects(job: Job, person: Staff) -> None:
    stamp = {"at": MONDAY, "person": person}
    notice = CollectionNotice.objects.create(job=job, kind="collect", sent_on=DAY, how="post", to_whom="the owner", **stamp)
    NoticeService.objects.create(notice=notice, kind="posted", on=DAY, proof="receipt 12", **stamp)
    DisputeStep.objects.create(job=job, opens=True, text="it isn't mine", on=DAY, **stamp)
    sums = {"price_minor": 900, "owed_minor": 500, "surplus_minor": 400}
    sale = UncollectedSale.objects.create(
        job=job, notice=notice, sold_on=DAY, how="by auction", to_whom="a bidder", citation="the place's rule", **sums, **stamp
    )
    SurplusPayment.objects.create(sale=sale, amount_minor=400, to_whom="the owner", how="cash", **stamp)


def of_other_things(job: Job, person: Staff) -> None:
    stamp = {"at": MONDAY, "person": person}
    Forecast.objects.create(job=job, from_jobs=9, low_minor=1, median_minor=2, high_minor=3, **stamp)
    DataRequest.objects.create(customer=job.customer, kind="copy", asked_on=DAY, **stamp)
    AccessEvent.objects.create(kind="signed_in", **stamp)
