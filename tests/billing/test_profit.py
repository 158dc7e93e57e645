"""What jobs earned: the steps add up, the jobs add up to the books, and what came back is charged to where it came from."""

import csv
import io
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection
from django.db.models import BigIntegerField, F, Sum
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from billing.models import Invoice, PaperKind, UncollectedSale
from billing.queries.journal import LOST, SALE_LOST, WAIVED, journal_of
from billing.queries.months import money_by_month
from billing.queries.periods import Period
from billing.queries.profit import causes, groups_of, opened, profit_of, profits
from inventory.models import Movement, MovementKind
from jobs.models import Cause, ClaimAnswer, CollectionNotice, Job, SetClass
from shop.clock import now
from shop.models import Profile
from tests import builders as make
from tests.billing.profits import Earned, a_supplier_credit, credit_some, decide, some_earnings
from tests.conftest import signed_in
from tests.inventory.builders import texts

pytestmark = pytest.mark.django_db
LOST_ON_FIRST = 20 + 1_200


@pytest.fixture(scope="module")
def earned(django_db_setup: None, django_db_blocker: Any) -> Iterator[Earned]:
    with some_earnings(django_db_blocker) as made:
        yield made


@pytest.fixture
def shop(earned: Earned, db: None) -> Earned:
    return earned


def steps(job: Job, terms: Profile) -> dict[str, int]:
    return {step.code: step.minor for step in profit_of(job, terms).steps}


def said(job: Job, terms: Profile, code: str) -> list[str]:
    return [step.text for step in profit_of(job, terms).steps if step.code == code]


def test_a_job_earns_what_was_billed_less_parts_and_hours_at_cost(shop: Earned) -> None:
    """0.60 for the part and 1.5 h at 40.00 are billed; the part cost 0.20 and the hours 24.00 each."""
    told = steps(shop.first, shop.terms)
    assert {name: told[name] for name in ("billed", "parts", "work")} == {"billed": 6_060, "parts": -20, "work": -3_600}
    assert profit_of(shop.first, shop.terms).own_minor == 2_440


def test_parts_that_were_not_charged_or_were_scrapped_cost_as_well(shop: Earned) -> None:
    assert steps(shop.bench, shop.terms) == {"billed": 0, "parts": -20, "scrapped": -8, "work": 0}
    assert profit_of(shop.bench, shop.terms).free_parts_milli == 20_000


def test_a_credit_money_let_go_and_a_suppliers_credit_are_steps_of_their_own(shop: Earned) -> None:
    credit_some(shop.second, 1_000)
    a_supplier_credit(shop.second, 15)
    told = steps(shop.second, shop.terms)
    del told["comebacks"]
    assert told == {"billed": 4_060, "credited": -1_000, "parts": -20, "work": -2_400, "supplier": 15}
    assert steps(shop.third, shop.terms) == {"billed": 60, "parts": -20, "work": 0, "waived": -10, "lost": -20}


def test_a_sale_that_cost_more_than_it_brought_costs_the_job(shop: Earned) -> None:
    job, day, person = shop.third, timezone.localdate(now()), make.a_staff()
    notice = CollectionNotice.objects.create(
        job=job, kind="sell", sent_on=day, how="by hand", to_whom="I. Brzask", at=now(), person=person
    )
    UncollectedSale.objects.create(
        **{"job": job, "notice": notice, "sold_on": day, "how": "three offers", "to_whom": "Pettiwick Salvage"},
        **{"price_minor": 100, "costs_minor": 350, "costs_text": "advertisement", "owed_minor": 0, "surplus_minor": 0},
        **{"citation": "a rule", "at": now(), "person": person},
    )
    assert steps(job, shop.terms)["sale"] == -250
    books = {one.account: one.debit_minor for one in journal_of(Period(day, day), shop.terms.currency).sums()}
    assert books[SALE_LOST] == 250


def test_what_came_back_is_charged_to_the_job_it_came_back_from_and_counted_once(shop: Earned) -> None:
    claim, terms = shop.claims[0], shop.terms
    told = profit_of(shop.first, terms)
    assert (told.comebacks_minor, told.result_minor) == (-LOST_ON_FIRST, 2_440 - LOST_ON_FIRST)
    assert said(shop.first, terms, "comebacks") == [f"Came back: {claim.job.number}"]
    back = profit_of(claim.job, terms)
    assert (back.own_minor, back.carried_minor, back.result_minor) == (-LOST_ON_FIRST, LOST_ON_FIRST, 0)
    assert said(claim.job, terms, "carried") == [f"Borne by job {shop.first.number}, which it came back from"]


def test_a_suppliers_credit_for_what_came_back_lowers_what_the_first_job_bears(shop: Earned) -> None:
    a_supplier_credit(shop.claims[0].job, 20)
    assert profit_of(shop.first, shop.terms).comebacks_minor == -1_200


def test_goodwill_is_named_and_what_the_customer_pays_for_stands_by_itself(shop: Earned) -> None:
    claim, job, terms = shop.claims[1], shop.second, shop.terms
    assert said(job, terms, "comebacks") == [f"Came back: {claim.job.number} (goodwill: {claim.job.number})"]
    assert said(claim.job, terms, "carried") == [f"Goodwill, borne by job {job.number}, which it came back from"]
    decide(claim, ClaimAnswer.CHARGEABLE)
    assert profit_of(job, terms).comebacks == ()
    assert profit_of(claim.job, terms).carried_to == ""


def test_the_jobs_add_up_to_the_books(shop: Earned) -> None:
    credit_some(shop.second, 1_234)
    a_supplier_credit(shop.second, 15)
    found, day = profits(shop.terms, shown="all"), timezone.localdate(now())
    assert len(found.jobs) == Job.objects.count() == 6
    for one in found.jobs:
        assert sum(step.minor for step in one.steps) == one.result_minor
        assert one == profit_of(one.job, shop.terms)
    period = Period(day.replace(year=day.year - 1), day)
    months = money_by_month(period, shop.terms.currency)
    assert found.total.net_minor == months.total("parts_minor") + months.total("work_minor")
    papers = Invoice.objects.values_list("kind").annotate(sum=Sum("net_minor")).order_by()
    assert found.total.net_minor == sum(-net if kind == PaperKind.CREDIT_NOTE else net for kind, net in papers)
    booked = {one.account: one.debit_minor - one.credit_minor for one in journal_of(period, shop.terms.currency).sums()}
    assert found.total.forgone_minor == booked[WAIVED] + booked[LOST] == 30
    assert found.total.comebacks_minor == -found.total.carried_minor < 0


def test_the_cost_of_parts_is_that_of_the_movements(shop: Earned) -> None:
    """Movements out of the drawers less those back, at their lots' cost: what valuing the stock counts as gone into sets."""
    kinds = (MovementKind.FITTED, MovementKind.TAKEN_OUT, MovementKind.SCRAPPED)
    cost = Sum(F("count") * F("lot__unit_cost_milli"), output_field=BigIntegerField())
    moved = Movement.objects.filter(kind__in=kinds).aggregate(milli=cost)["milli"]
    assert sum(one.parts_milli + one.scrapped_milli for one in profits(shop.terms, shown="all").jobs) == -moved


def test_groups_add_up_whatever_they_are_made_by(shop: Earned) -> None:
    model = shop.first.radio.model
    model.set_class, model.year = SetClass.objects.create(name="Five valves"), 1938
    model.save()
    found = profits(shop.terms, shown="all")
    for by in ("class", "supply", "model", "maker", "age", "month"):
        groups = groups_of(found, by)
        assert sum(one.sums.result_minor for one in groups) == found.total.result_minor
        assert sum(one.sums.jobs for one in groups) == len(found.jobs)
    assert [one.name for one in groups_of(found, "age")] == ["1930s"]
    assert [one.name for one in groups_of(found, "class")] == ["Five valves"]


def test_causes_add_up_to_what_came_back_and_name_nobody(shop: Earned) -> None:
    found = profits(shop.terms)
    told = causes(found)
    assert sum(one.loss_minor for one in told) == -found.total.comebacks_minor > 0
    assert {one.label: one.claims for one in told} == {Cause.PART.label: 1, Cause.WIRING.label: 1, Cause.DIAGNOSIS.label: 1}


def test_one_job_is_laid_open_to_the_last_line(shop: Earned) -> None:
    credit_some(shop.second, 1_000)
    for job in Job.objects.all():
        shown = opened(job, shop.terms)
        one = shown.profit
        assert sum(line.milli for line in shown.parts) == one.parts_milli
        assert sum(line.milli for line in shown.scrapped) == one.scrapped_milli
        assert sum(entry.minutes for entry in shown.labour) == one.minutes
        assert sum(-paper.net_minor if paper.is_credit else paper.net_minor for paper in shown.papers) == one.net_minor
        assert sum(min(profit.own_minor, 0) for _, profit in shown.borne) == one.comebacks_minor


def test_the_owner_reads_it_and_nobody_else(shop: Earned) -> None:
    job = shop.first
    addresses = [reverse("billing:profit"), reverse("billing:profit_groups"), reverse("billing:job_profit", args=[job.pk])]
    for role in ("bench", "counter"):
        client = signed_in(make.a_staff(role, role))
        assert [client.get(address).status_code for address in addresses] == [403, 403, 403]
    assert "What it earned" not in texts(client.get(reverse("billing:job_money", args=[job.pk])))
    client = signed_in(make.a_staff("owner", "owner"))
    listed, groups, page = (texts(client.get(address)) for address in addresses)
    assert job.number in listed
    assert "A part that we fitted failed" in groups
    assert "Hours worked, at what an hour costs" in page
    assert f"Came back: {shop.claims[0].job.number}" in page
    assert "What it earned" in texts(client.get(reverse("billing:job_money", args=[job.pk])))


def rows_of(answer: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


@pytest.fixture
def client(shop: Earned) -> Client:
    return signed_in(make.a_staff("owner", "owner"))


def test_the_list_is_narrowed_and_saved(shop: Earned, client: Client) -> None:
    address = reverse("billing:profit")
    rows = rows_of(client.get(address, {"shown": "back", "as": "csv"}))
    assert {row["Job"] for row in rows} == {
        *(shop.first.number, shop.second.number),
        *(claim.job.number for claim in shop.claims),
    }
    assert sorted(row["Came back"] for row in rows) == ["-10.20", "-12.20", "10.20", "12.20"]
    assert "No job answers to this." in texts(client.get(address, {"q": "no such set"}))
    assert client.get(address, {"first": "1 Octember"}).status_code == 422
    by_cause = rows_of(client.get(reverse("billing:profit_groups"), {"as": "csv", "table": "causes"}))
    assert [row["Cost"] for row in by_cause] == ["12.20", "5.10", "5.10"]
    assert rows_of(client.get(reverse("billing:profit_groups"), {"as": "csv", "by": "supply"}))[0]["Jobs"] == "3"


def test_an_hour_that_costs_nothing_yet_is_said(client: Client) -> None:
    Profile.objects.update(hour_cost_minor=0)
    assert "What an hour of work costs the shop isn’t written down yet." in texts(client.get(reverse("billing:profit")))


def test_many_jobs_are_read_in_as_many_questions(shop: Earned) -> None:
    with CaptureQueriesContext(connection) as queries:
        causes(profits(shop.terms, shown="all"))
    assert len(queries) == 12
