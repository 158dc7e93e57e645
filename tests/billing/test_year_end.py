"""A year's end as it stood then: its figures tie to the ledgers, and nothing that happens later changes them.

Lower of cost and net realisable value: IAS 2, paragraphs 6, 9, 28, 30, 31 and 33, as told at
https://ifrscommunity.com/knowledge-base/nrv-net-realisable-value/ (read November 2026); 12 as told at
https://stillmindpractice.com/inventories-ias-2-copy. From memory: a provision is the expected value of many small duties (IAS 37,
paragraph 39), and a reimbursement is counted when it is all but certain (53).
"""

import csv
import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from billing.models import Invoice, PaymentKind, SurplusPayment, UncollectedSale
from billing.queries.ageing import ageing
from billing.queries.journal import DEPOSITS, OWED, SALE_HELD, journal_of
from billing.queries.periods import Period
from billing.queries.year_end import THERE, YearEnd, checklist, sections_of, side_total, year_end, year_until
from billing.services import Money, credit, record_payment
from billing.services.deposits import take_deposit
from inventory.models import Lot
from inventory.queries.valuing import value_on
from inventory.services.writedowns import Judged, write_down
from inventory.valuation import coins
from jobs.models import Claim, ClaimAnswer, CollectionNotice, Job, Stage
from jobs.services import log
from jobs.services.labour import Work, log_work, withdraw_work
from shop.clock import now
from shop.models import Profile
from tests import builders as make
from tests.billing.profits import a_claim, a_done_job, a_supplier_credit, decide
from tests.conftest import StillClock, signed_in
from tests.inventory.builders import texts
from tests.paper.papers import text_of

pytestmark = pytest.mark.django_db
HOUR_COST = 2_400


@dataclass
class Shop:
    """All of it had happened by the end of `day`: `bench` is worked on, `ready` billed and not paid, `done` handed over."""

    terms: Profile
    day: date
    bench: Job
    ready: Job
    done: Job
    fit: Any
    hour: Any

    def end(self, hour_cost: int | None = None) -> YearEnd:
        return year_end(self.day, self.terms, hour_cost)


@contextmanager
def a_shop(blocker: Any) -> Iterator[Shop]:
    with blocker.unblock(), pytest.MonkeyPatch.context() as patch, transaction.atomic():
        clock = StillClock()
        patch.setattr(timezone, "now", clock)
        terms = make.a_profile(hour_cost_minor=HOUR_COST, parts_tax_bp=2000, labour_tax_bp=2000)
        done, ready = a_done_job(minutes=60), make.a_job(Stage.READY)
        make.an_invoice(ready)
        a_claim(done, minutes=30)
        bench = make.a_job(Stage.REPAIRING)
        fit = make.a_fit(bench, "C2")
        hour = log_work(bench, a_work(90), person=make.a_staff(), at=now())
        take_deposit(bench, 2_500, "cash", person=make.a_staff(), at=now())
        sold(done)
        shop = Shop(terms, timezone.localdate(now()), bench, ready, done, fit, hour)
        clock.forward(days=40)
        yield shop
        transaction.set_rollback(True)


def a_work(minutes: int, **more: Any) -> Work:
    return Work(make.a_staff(), "repair", timezone.localdate(now()), minutes, **more)


def sold(job: Job) -> UncollectedSale:
    """Only the row, as the books see it: 60.00 for it, 10.00 of costs, the rest the owner's."""
    person, day = make.a_staff(), timezone.localdate(now())
    notice = CollectionNotice.objects.create(
        job=job, kind="sell", sent_on=day, how="by hand", to_whom="I. Brzask", at=now(), person=person
    )
    sums = {"price_minor": 6_000, "costs_minor": 1_000, "costs_text": "advertisement", "owed_minor": 0, "surplus_minor": 5_000}
    words = {"how": "three offers", "to_whom": "Pettiwick Salvage", "citation": "a rule"}
    return UncollectedSale.objects.create(job=job, notice=notice, sold_on=day, at=now(), person=person, **sums, **words)


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Iterator[Shop]:
    with a_shop(django_db_blocker) as shop:
        yield shop


@pytest.fixture
def shop(made: Shop, db: None) -> Shop:
    return made


@pytest.fixture
def client(shop: Shop) -> Client:
    return signed_in(make.a_staff("owner", "owner"))


def figures(end: YearEnd) -> dict[str, int]:
    return {one.key: one.total_minor for one in sections_of(end)}


def booked(shop: Shop) -> dict[str, int]:
    """Debit less credit of every account, from the first day of the books to the end of the day."""
    journal = journal_of(Period(date(2000, 1, 1), shop.day), shop.terms.currency)
    return {one.account: one.debit_minor - one.credit_minor for one in journal.sums()}


def test_the_figures_tie_to_the_ledgers(shop: Shop) -> None:
    found, books = figures(shop.end()), booked(shop)
    assert found["owed"] - found["back"] == books[OWED] > 0
    assert found["deposits"] == -books[DEPOSITS] == 2_500
    assert found["surplus"] == -books[SALE_HELD] == 5_000
    assert found["stock"] == coins(value_on(shop.day).total.taken_milli)
    assert found["tax"] == sum(one.tax_minor for one in Invoice.objects.all())
    assert side_total(sections_of(shop.end()), THERE) == found["stock"] + found["wip"] + found["owed"]


def test_work_in_progress_is_at_cost_and_no_more_than_was_agreed(shop: Shop) -> None:
    """0.20 for the part and 36.00 for the hours; the claim's job has costs, too, and nothing was agreed to be paid for it."""
    bench = {one.job.pk: one for one in shop.end().wip}[shop.bench.pk]
    assert (bench.parts_minor, bench.work_minor, bench.taken_minor) == (20, 3_600, 3_620)
    assert bench.agreed_minor == 20_060
    assert len(shop.end().wip) == 2
    claim = next(one for one in shop.end().wip if one.job.pk != shop.bench.pk)
    assert (claim.cost_minor, claim.agreed_minor, claim.taken_minor) == (1_220, 0, 0)
    assert figures(shop.end(hour_cost=20_000))["wip"] == 20_060


def test_a_job_on_a_bill_is_money_owed_and_no_work_in_progress(shop: Shop) -> None:
    assert shop.ready.pk not in {one.job.pk for one in shop.end().wip}
    assert figures(shop.end())["owed"] == Invoice.objects.get(job=shop.ready).gross_minor


def test_the_reserve_knows_only_what_had_come_back_by_then(shop: Shop) -> None:
    found = shop.end().reserve
    assert (found.n_open, found.from_claims) == (1, 1)
    assert 0 <= found.low_minor <= found.expected_minor


def later(shop: Shop) -> None:
    """All that may happen after a day, to everything that stood then."""
    person, owner, when = make.a_staff(), make.a_staff("owner", "owner"), now()
    log.take_out(shop.fit, "not needed", make.author(), scrap=False)
    withdraw_work(shop.hour, person=person, at=when, why="another job")
    log_work(shop.bench, a_work(30), person=person, at=when)
    invoice = Invoice.objects.get(job=shop.ready)
    record_payment(invoice, Money(PaymentKind.PAID, 30, "cash"), person=person, at=when)
    credit(invoice, "the name was wrong", person=owner, at=when)
    sale = UncollectedSale.objects.get()
    SurplusPayment.objects.create(sale=sale, amount_minor=4_000, to_whom="I. Brzask", how="cash", at=when, person=person)
    claim = Claim.objects.get()
    log_work(claim.job, a_work(45, not_charged="under warranty"), person=person, at=when)
    decide(claim, ClaimAnswer.CHARGEABLE)
    a_supplier_credit(shop.done, 12, at=when)
    make.a_lot(make.a_part("1 µF 400 V"), at=when)
    Job.objects.filter(pk=shop.bench.pk).update(stage=Stage.READY)


def test_nothing_that_happens_later_changes_a_past_years_figures(shop: Shop) -> None:
    before = [(one.key, one.rows, one.note) for one in sections_of(shop.end())]
    aged = ageing(shop.day)
    later(shop)
    assert [(one.key, one.rows, one.note) for one in sections_of(shop.end())] == before
    assert ageing(shop.day) == aged
    today = figures(year_end(timezone.localdate(now()), shop.terms))
    assert today["surplus"] == 1_000
    assert today["wip"] != figures(shop.end())["wip"]


def test_what_was_dated_back_is_said(shop: Shop) -> None:
    work = Work(make.a_staff(), "repair", shop.day, 45)
    log_work(shop.bench, work, person=make.a_staff(), at=now())
    before = figures(shop.end())
    lot = Lot.objects.filter(balances__on_hand__gt=0).first()
    assert lot is not None
    write_down(lot, Judged(0, shop.day, "corroded"), person=make.a_staff("owner", "owner"), at=now(), seen=0)
    end = shop.end()
    assert figures(end)["stock"] < before["stock"]
    assert figures(end)["wip"] == before["wip"]
    assert end.unknown[:2] == (
        "45 min worked by that day were written down later and are not in it.",
        "1 write-down dated to that day or before came later, and count: a person dated them so.",
    )


@pytest.mark.parametrize(
    ("day", "first", "code"),
    [
        (date(2026, 12, 31), date(2026, 1, 1), "2026"),
        (date(2027, 4, 5), date(2026, 4, 6), ""),
        (date(2028, 2, 28), date(2027, 3, 1), ""),
        (date(2028, 2, 29), date(2027, 3, 1), ""),
    ],
)
def test_a_year_ends_with_its_day(day: date, first: date, code: str) -> None:
    assert (year_until(day).first, year_until(day).last, year_until(day).code) == (first, day, code)


def test_the_checklist_leads_to_what_is_left_to_do(shop: Shop, client: Client) -> None:
    todo = {one.text: one for one in checklist(shop.end())}
    assert todo["Pay out what sales left for owners"].is_done is False
    assert todo["Write down what an hour costs"].is_done is True
    for one in todo.values():
        assert client.get(f"{reverse(one.link)}?{one.query}").status_code == 200, one.link


def test_the_page_the_file_and_the_paper_say_the_same(shop: Shop, client: Client) -> None:
    asked = {"day": shop.day.isoformat(), "hour_cost": "30"}
    page = texts(client.get(reverse("billing:year_end"), asked))
    saved = client.get(reverse("billing:year_end"), {**asked, "as": "csv"}).content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(saved)))
    paper = text_of(client.get(reverse("billing:year_end_pdf"), asked).content)
    assert {row["Part"]: row["Sum"] for row in rows if row["What"] == "Together"}["Work in progress"] == "45.20"
    for one in sections_of(shop.end(hour_cost=3_000)):
        assert one.title in page
        assert one.title in paper
        for row in one.rows:
            assert shop.end().show(row.minor) in page
            assert shop.end().show(row.minor) in paper


def test_a_day_that_cannot_be_read_is_said_and_a_stranger_is_refused(shop: Shop, client: Client) -> None:
    answer = client.get(reverse("billing:year_end"), {"day": "the last of the year", "hour_cost": "dear"})
    assert answer.status_code == 422
    assert "“dear” can&#x27;t be read as a sum." in texts(answer)
    assert client.get(reverse("billing:year_end"), {"day": "2999-12-31"}).status_code == 422
    stranger = signed_in(make.a_staff("counter", "counter"))
    assert [stranger.get(reverse(f"billing:{name}")).status_code for name in ("year_end", "year_end_pdf")] == [403, 403]


def test_a_years_end_asks_as_often_whatever_there_is(shop: Shop) -> None:
    with CaptureQueriesContext(connection) as few:
        checklist(shop.end())
    later(shop)
    with CaptureQueriesContext(connection) as many:
        checklist(year_end(timezone.localdate(now()), shop.terms))
    assert len(many) <= len(few)
