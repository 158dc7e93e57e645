"""Jobs whose profit is known, made through the services once for all tests of a module."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from billing.models import Invoice, PaymentKind
from billing.services import Money, PartOf, credit_part, record_payment
from inventory.models import SupplierClaim, SupplierClaimKind, SupplierClaimStep
from jobs.models import (
    Cause,
    Claim,
    ClaimAnswer,
    ClaimDecision,
    ClaimFinding,
    Job,
    SameFault,
    Stage,
    Warranty,
)
from jobs.services import log
from jobs.services.labour import Work, log_work
from shop.clock import now
from shop.models import Profile
from tests import builders as make
from tests.conftest import StillClock


def a_done_job(labour_minor: int = 20_000, minutes: int = 90, **more: Any) -> Job:
    """Handed over and paid: C2 at 0.20 cost and 0.60 charged, and so much time logged while it was on the bench."""
    job = make.a_job(Stage.REPAIRING, labour_minor=labour_minor, **more)
    log_work(job, Work(make.a_staff(), "repair", timezone.localdate(now()), minutes), person=make.a_staff(), at=now())
    return finish(job)


def finish(job: Job) -> Job:
    """From the bench to the owner, at the time by which everything has happened."""
    job.refresh_from_db()
    way = make._Way(make.a_staff(), 0, True)
    started = [name for name, _ in make.STEPS].index(job.stage) + 1
    for _, step in make.STEPS[started:]:
        step(job, way, now())
        job.refresh_from_db()
    return job


def a_claim(of: Job, decided: str = ClaimAnswer.COVERED, *, goodwill: bool = False, minutes: int = 30) -> Claim:
    """The set of a handed-over job is back on the bench: half an hour of it, not charged, and a part that isn't either."""
    customer: Any = of.customer
    job = make.a_job(Stage.REPAIRING, customer=customer, radio=of.radio, labour_minor=0, with_fit=False, warranty_of=of)
    person, when = make.a_staff(), now()
    make.a_fit(job, "C2", not_charged="under warranty", at=when)
    work = Work(person, "repair", timezone.localdate(when), minutes, not_charged="under warranty")
    log_work(job, work, person=person, at=when)
    warranty = Warranty.objects.get(job=of)
    claim = Claim.objects.filter(job=job).first() or Claim.objects.create(
        job=job, warranty=warranty, claimed_on=timezone.localdate(when), at=when, person=person
    )
    decide(claim, decided, goodwill=goodwill)
    return claim


def decide(claim: Claim, decided: str, *, goodwill: bool = False) -> None:
    ClaimDecision.objects.create(
        claim=claim,
        proposed=decided,
        decided=decided,
        goodwill=goodwill,
        why="kept a good customer" if goodwill else "",
        rules="2026-11",
        case={},
        proposal={},
        finding_count=0,
        log_seq=0,
        at=now(),
        person=make.a_staff("owner", "owner"),
    )


def a_finding(claim: Claim, cause: str = Cause.PART, **more: Any) -> ClaimFinding:
    values = {"text": "the coupling capacitor leaks", "same_fault": SameFault.YES, "at": now(), "person": make.a_staff(), **more}
    return ClaimFinding.objects.create(claim=claim, cause=cause, **values)


def a_supplier_credit(job: Job, amount_minor: int, *, at: Any = None) -> SupplierClaim:
    when, person = at or now(), make.a_staff()
    lot = make.a_lot(supplier=make.a_supplier(), at=when - timedelta(days=30))
    claim = SupplierClaim.objects.create(
        supplier=make.a_supplier(),
        lot=lot,
        count=1,
        cost_milli=20_000,
        reason="leaky",
        reference=job.number,
        at=when,
        person=person,
    )
    SupplierClaimStep.objects.create(
        claim=claim,
        kind=SupplierClaimKind.CREDITED,
        amount_minor=amount_minor,
        on=timezone.localdate(when),
        at=when,
        person=person,
    )
    return claim


HOUR_COST = 2_400


@dataclass
class Earned:
    """`first` and `second` are handed over and came back; `third` is ready and billed; `bench` is worked on."""

    terms: Profile
    first: Job
    second: Job
    third: Job
    bench: Job
    claims: tuple[Claim, Claim]


@contextmanager
def some_earnings(blocker: Any) -> Iterator[Earned]:
    """For a module's fixture; every test works in a savepoint of the same transaction."""
    with blocker.unblock(), pytest.MonkeyPatch.context() as patch, transaction.atomic():
        patch.setattr(timezone, "now", StillClock())
        yield _earnings()
        transaction.set_rollback(True)


def _earnings() -> Earned:
    terms = make.a_profile(hour_cost_minor=HOUR_COST, parts_tax_bp=2000, labour_tax_bp=2000)
    first, second = a_done_job(minutes=90), a_done_job(minutes=60)
    claims = a_claim(first), a_claim(second, goodwill=True, minutes=25)
    a_finding(claims[0], Cause.PART)
    for cause, withdrawn in ((Cause.WIRING, False), (Cause.DIAGNOSIS, False), (Cause.USE, True)):
        a_finding(claims[1], cause, withdrawn=withdrawn)
    return Earned(terms, first, second, _let_go(), _on_the_bench(), claims)


def _let_go() -> Job:
    """A ready set whose bill of 0.72 was let go: 0.10 waived, 0.20 lost."""
    job, owner = make.a_job(Stage.READY), make.a_staff("owner", "owner")
    bill = make.an_invoice(job)
    for kind, minor in ((PaymentKind.WAIVED, 10), (PaymentKind.WRITTEN_OFF, 20)):
        record_payment(bill, Money(kind, minor, note="too little to ask for"), person=owner, at=now())
    return job


def _on_the_bench() -> Job:
    """A part in it that isn't charged, and one that broke while it was fitted."""
    job = make.a_job(Stage.REPAIRING)
    ruined = make.a_fit(job, "C2", make.a_lot(unit_cost_milli=7_500), not_charged="it broke")
    log.take_out(ruined, "the leg broke off", make.author(), scrap=True)
    make.a_fit(job, "C2", make.a_lot(), not_charged="to make good a scratch")
    return job


def credit_some(job: Job, minor: int) -> None:
    """Of the labour on a job's bill."""
    invoice = Invoice.objects.get(job=job)
    line = invoice.lines.get(kind="labour")  # type: ignore[attr-defined]
    owner = make.a_staff("owner", "owner")
    credit_part(invoice, [PartOf(line, sum_minor=minor)], "less was done", person=owner, at=now())
