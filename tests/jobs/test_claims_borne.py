"""What a decision on a claim does: what the shop bears is planned, fitted, worked at and billed at nothing, or at a part."""

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.models import Invoice
from jobs.models import Job, LogEntry
from jobs.queries.exposure import exposure_of
from jobs.queries.sheet import sheet_of
from jobs.services import estimates, log, stages
from jobs.verification import claim_decisions, fitted_parts, labour
from shop.acts import Refused
from shop.clock import now
from shop.models import Profile
from tests import builders as make
from tests.jobs.claims import a_claim, a_covered_claim, decided, found, one_claim_kept

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", autouse=True)
def kept(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    with one_claim_kept(django_db_blocker):
        yield


def perform(job: Job, *codes: str) -> None:
    for code in codes:
        stages.perform(job, code, person=make.a_staff(), at=now())
    job.refresh_from_db()


def planned(job: Job, designator: str = "C2") -> LogEntry:
    entry = next(row for row in sheet_of(job).rows if row.position.designator == designator).decided
    assert entry is not None
    return entry


def reason(job: Job) -> str:
    return f"warranty of job {job.warranty_of}"


def test_a_covered_set_goes_through_the_shop_without_an_estimate_and_is_billed_at_nothing() -> None:
    claim = a_covered_claim()
    job, until = claim.job, [line.until_on for line in claim.warranty.lines.order_by("pk")]
    plan = make.plan_part(job)
    assert (plan.charged, plan.not_charged_reason) == (False, reason(job))
    perform(job, "start_inspection", "cover", "start_repair")
    fit = make.a_fit(job)
    assert (fit.price_minor, fit.not_charged_reason, fit.unit_price_minor) == (0, reason(job), 60)
    assert fit.movement is not None
    assert fit.movement.count == -1
    work = make.some_work(job)
    assert (work.billed_minor, work.not_charged_reason, work.amount_minor) == (0, reason(job), 4000)
    assert exposure_of(job, Profile.objects.get()).foreseen_minor == 0
    way = make._Way(make.a_staff(), 0, True)
    for _, step in make.STEPS[4:]:
        step(job, way, now())
        job.refresh_from_db()
    bill = Invoice.objects.get(job=job)
    assert (bill.gross_minor, bill.consent) == (0, None)
    assert set(bill.lines.values_list("not_charged_reason", flat=True)) == {reason(job)}
    assert [line.until_on for line in claim.warranty.lines.order_by("pk")] == until
    assert job.warranty.lines.filter(covered=True).exists()  # type: ignore[attr-defined]
    assert [one.differences for one in (claim_decisions(), fitted_parts(), labour())] == [(), (), ()]


def test_repair_starts_without_an_estimate_only_where_all_is_covered() -> None:
    claim = a_claim()
    with pytest.raises(Refused) as caught:
        perform(claim.job, "cover")
    assert caught.value.message == (
        "“Covered by the warranty: no estimate” needs first: the decision that the warranty covers all of it."
    )
    found(claim)
    decided(claim)
    perform(claim.job, "cover")
    decided(claim, "chargeable", why="it had been opened")
    with pytest.raises(Refused, match="needs first: the customer's recorded consent to an estimate"):
        perform(claim.job, "start_repair")


def test_beyond_the_cover_nothing_is_charged_without_a_consent() -> None:
    job = a_covered_claim().job
    perform(job, "cover", "start_repair")
    with pytest.raises(Refused, match="Nothing has been agreed yet, and with this part the job would stand at £0.60"):
        make.a_fit(job, "C1", make.a_lot(make.a_part("0.0047 µF 250 V Y2")))
    with pytest.raises(Refused, match="Nothing has been agreed yet, and with this labour"):
        make.some_work(job, beyond_cover=True)
    lot = make.a_lot()
    with pytest.raises(Refused) as caught:
        make.a_fit(job, lot=lot, price=log.SetPrice(500, "a rare one"))
    assert caught.value.message == f"Nothing is charged here: {reason(job)}. Empty the price."


def test_what_was_planned_before_the_decision_is_priced_anew_and_again_when_it_changes() -> None:
    claim = a_claim()
    job = claim.job
    held = make.plan_part(job).hold
    found(claim)
    decided(claim)
    entry = planned(job)
    assert (entry.price_minor, entry.not_charged_reason) == (0, reason(job))
    assert entry.hold is not None
    assert (entry.hold.lot, entry.hold.is_open) == (held.lot, True)
    draft = estimates.draft(job, person=make.a_staff(), at=now())
    line = draft.lines.get(position=make.position_of(job))  # type: ignore[attr-defined]
    assert (line.high_minor, line.text) == (0, f"0.01 µF 630 V film: {reason(job)}")
    decided(claim, "chargeable", why="it had been opened")
    assert (planned(job).price_minor, planned(job).charged) == (60, True)


def test_a_share_lowers_the_price_of_part_and_work_and_says_why() -> None:
    claim = a_claim()
    job = claim.job
    found(claim)
    decided(claim, "partly", why="half each", shares={make.position_of(job).pk: 50, None: 25})
    entry = make.plan_part(job)
    words = f"50 % borne by us: {reason(job)}"
    assert (entry.unit_price_minor, entry.usual_price_minor, entry.price_reason) == (30, 60, words)
    make.an_estimate(job, 12_000)
    make._answer(True)(job, make._Way(make.a_staff(), 0, True), now())
    perform(job, "start_repair")
    fit = make.a_fit(job)
    assert (fit.unit_price_minor, fit.usual_price_minor, fit.price_reason) == (30, 60, words)
    work = make.some_work(job, text="changed it")
    assert (work.billed_minor, work.text) == (3000, f"changed it (25 % borne by us: {reason(job)})")
    full = make.some_work(job, text="dial cord", beyond_cover=True)
    assert (full.billed_minor, full.text) == (4000, "dial cord")
    task = make.some_work(job, 0, task=make.a_flat_task(price_minor=6_001))
    assert (task.billed_minor, task.text) == (4500, f"(25 % borne by us: {reason(job)})")
    assert labour().differences == ()


def test_the_labour_page_says_what_the_shop_bears_and_asks_what_has_nothing_to_do_with_it(colleague_client: Client) -> None:
    job = a_covered_claim().job
    address = reverse("jobs:labour", args=[job.pk])
    assert f"Not charged unless this is ticked: {reason(job)}." in colleague_client.get(address).content.decode()
    sent = {"once": str(uuid.uuid4()), "worker": make.a_staff().pk, "step": "repair", "worked_on": "2026-01-05", "minutes": "60"}
    logged = colleague_client.post(reverse("jobs:labour_time", args=[job.pk]), sent)
    assert logged.status_code == 302
    assert job.labour.get().not_charged_reason == reason(job)  # type: ignore[attr-defined]
    refused = colleague_client.post(
        reverse("jobs:labour_time", args=[job.pk]), sent | {"once": str(uuid.uuid4()), "beyond_cover": "on"}
    )
    assert "Nothing has been agreed yet" in refused.content.decode()
