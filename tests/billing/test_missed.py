"""What estimates missed: every reason of a job adds up to the difference between its first agreed version and its bill."""

import csv
import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from billing.models import Invoice
from billing.queries.missed import MissedJob, missed
from billing.queries.missed.figures import CREDITED, DROPPED, FREE, HOURS, LATER, LUMP
from billing.queries.missed.sides import ALL_WORK, LUMP_WORK, step_of
from jobs.models import Decision, Job, Stage, Step
from jobs.models.estimate import ConsentHow, EstimateLineKind
from jobs.services import estimates, log, stages
from jobs.services.consents import Answer, record_answer
from jobs.services.labour import Work, log_work
from shop.clock import now
from shop.models import Profile
from tests import builders as make
from tests.billing.profits import credit_some
from tests.conftest import StillClock, signed_in
from tests.inventory.builders import texts

pytestmark = pytest.mark.django_db


@dataclass
class Shop:
    """`by_step`: quoted by the steps' names; `whole`: by another word; `lump`: as one fee."""

    terms: Profile
    by_step: Job
    whole: Job
    lump: Job


@contextmanager
def some_misses(blocker: Any) -> Iterator[Shop]:
    with blocker.unblock(), pytest.MonkeyPatch.context() as patch, transaction.atomic():
        patch.setattr(timezone, "now", StillClock())
        terms = make.a_profile()
        by_step = quoted("Repair", with_task=True)
        worked(by_step, (Step.REPAIR, 150), (Step.CLEANING, 30))
        log_work(by_step, work(Step.OTHER, 15, not_charged="a present"), person=make.a_staff(), at=now())
        whole = quoted("Make it play")
        worked(whole, (Step.REPAIR, 60))
        lump = make.a_job(Stage.REPAIRING, labour_minor=9_000)
        worked(lump, (Step.REPAIR, 60))
        for job in (by_step, whole, lump):
            billed(job)
        worked(unbilled := make.a_job(Stage.REPAIRING), (Step.REPAIR, 10))
        assert not unbilled.billed
        yield Shop(terms, by_step, whole, lump)
        transaction.set_rollback(True)


def quoted(text: str, with_task: bool = False) -> Job:
    """Two hours of it and C2 agreed to, C3 as a sum of 5.00 that is never fitted; then a second version for R1."""
    job, who = make.a_job(Stage.INSPECTING), make.a_staff()
    draft = estimates.draft(job, person=who, at=now())
    estimates.add_line(draft, estimates.TypedLine(EstimateLineKind.LABOUR, text, low_minutes=120, high_minutes=120))
    part = estimates.TypedLine(EstimateLineKind.PART, "can", low_minor=500, high_minor=500, position=make.position_of(job, "C3"))
    estimates.add_line(draft, part)
    if with_task:
        estimates.add_line(draft, estimates.TypedLine(EstimateLineKind.FLAT, "", task=make.a_flat_task()))
    agree(job, draft)
    again = estimates.draft(job, person=who, at=now())
    more = estimates.TypedLine(EstimateLineKind.FEE, "more found", low_minor=20_000, high_minor=20_000)
    estimates.add_line(again, more)
    estimates.set_because(again, "C1 leaks, too")
    agree(job, again)
    stages.perform(job, "start_repair", person=who, at=now())
    job.refresh_from_db()
    return job


def agree(job: Job, draft: Any) -> None:
    sent = estimates.send(draft, person=make.a_staff(), at=now())
    record_answer(sent, Answer(True, ConsentHow.IN_PERSON, "Iwona Brzask", person=make.a_staff()), at=now())
    job.refresh_from_db()


def work(step: str, minutes: int, **more: Any) -> Work:
    return Work(make.a_staff(), step, timezone.localdate(now()), minutes, **more)


def worked(job: Job, *steps: tuple[str, int]) -> None:
    for step, minutes in steps:
        log_work(job, work(step, minutes), person=make.a_staff(), at=now())


def billed(job: Job) -> Invoice:
    """C2 is fitted as it was planned, and C1, which nobody had foreseen; C3 stays in."""
    log.decide(make.position_of(job, "C3"), Decision.KEEP, make.author())
    make.a_fit(job, "C2")
    make.a_fit(job, "C1", make.a_lot(make.a_part("0.0047 µF Y2 250 V", safety_class="Y2")))
    return make.an_invoice(job)


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Iterator[Shop]:
    with some_misses(django_db_blocker) as shop:
        yield shop


@pytest.fixture
def shop(made: Shop, db: None) -> Shop:
    return made


def told(job: Job) -> MissedJob:
    return next(one for one in missed("GBP").jobs if one.job == job)


def reasons(job: Job) -> set[tuple[str, str, int]]:
    return {(one.why, one.place, one.minor) for one in told(job).misses}


def test_the_reasons_add_up_to_the_difference(shop: Shop) -> None:
    credit_some(shop.whole, 700)
    for job in (shop.by_step, shop.whole, shop.lump):
        one = told(job)
        assert sum(miss.minor for miss in one.misses) == one.difference_minor
        assert one.parts_minor + one.work_minor + one.fees_minor == one.difference_minor
    bill = Invoice.objects.filter(job=shop.whole, credits=None).get()
    assert told(shop.whole).billed.all_minor == bill.net_minor - 700


def test_positions_hours_tasks_and_what_was_given_are_told_apart(shop: Shop) -> None:
    """Two hours were quoted at 40.00 and 2.5 worked; cleaning and C1 nobody had foreseen; C3 and the task weren't done."""
    assert reasons(shop.by_step) == {
        (LATER, "Capacitor from the line to the chassis", 60),
        (DROPPED, "Reservoir capacitor (first filter)", -500),
        (DROPPED, "Align the IF strip", -6_000),
        (HOURS, "Repair", 2_000),
        (LATER, "Cleaning", 2_000),
        (LATER, "Other work", 1_000),
        (FREE, "Other work", -1_000),
    }
    assert {one.minutes for one in told(shop.by_step).misses if one.place == "Repair"} == {30}
    assert told(shop.by_step).because == ("C1 leaks, too",)


def test_hours_that_name_no_step_are_compared_as_one(shop: Shop) -> None:
    assert (HOURS, ALL_WORK, -4_000) in reasons(shop.whole)


def test_work_that_was_quoted_as_one_sum_is_held_against_it(shop: Shop) -> None:
    assert (LUMP, LUMP_WORK, -5_000) in reasons(shop.lump)
    assert told(shop.lump).fees_minor == 0


def test_what_was_credited_afterwards_is_a_reason_of_its_own(shop: Shop) -> None:
    credit_some(shop.whole, 700)
    assert (CREDITED, "Repair", -700) in reasons(shop.whole)


def test_what_is_missed_most_comes_first_and_counts_its_jobs(shop: Shop) -> None:
    ranked = missed("GBP").ranked()
    assert [abs(one.minor) for one in ranked] == sorted((abs(one.minor) for one in ranked), reverse=True)
    assert {one.place: (one.jobs, one.minor) for one in ranked if one.why == LATER}["Capacitor from the line to the chassis"] == (
        3,
        180,
    )
    assert sum(one.minor for one in ranked) == missed("GBP").difference_minor


def test_jobs_that_cannot_be_compared_are_counted_with_the_reason(shop: Shop) -> None:
    Job.objects.filter(pk=shop.lump.pk).update(warranty_of=shop.whole)
    assert missed("GBP").left_out == [("work under warranty, quoted at nothing", 1)]
    assert missed("EUR").left_out[0] == ("quoted and billed in different money", 2)


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("Repair", "Repair"),
        ("repair: the IF strip", "Repair"),
        ("Cleaning (done so far)", "Cleaning"),
        ("Repairs and wiring", ""),
    ],
)
def test_a_line_of_time_names_its_step_or_none(text: str, step: str) -> None:
    assert step_of(text) == step


def test_the_owner_reads_and_saves_it_and_nobody_else(shop: Shop) -> None:
    address = reverse("billing:missed")
    assert signed_in(make.a_staff("counter", "counter")).get(address).status_code == 403
    client = signed_in(make.a_staff("owner", "owner"))
    page = texts(client.get(address))
    assert "found later, not in what was agreed to" in page
    assert shop.by_step.number in page
    assert client.get(address, {"first": "soon"}).status_code == 422
    for table, heading in (("", "Agreed to first"), ("ranked", "Bill against estimate")):
        content = client.get(address, {"as": "csv", "table": table}).content.decode("utf-8-sig")
        assert heading in next(csv.reader(io.StringIO(content)))


def test_many_jobs_are_read_in_as_many_questions(shop: Shop) -> None:
    with CaptureQueriesContext(connection) as queries:
        missed("GBP")
    assert len(queries) == 8
