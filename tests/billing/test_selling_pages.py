"""The pages of an uncollected set: its proofs and disputes, the sale with its reasons, what is paid out of the rest."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.models import SurplusPayment, UncollectedSale
from billing.queries import account_of
from jobs.models import DisputeStep, Job, NoticeService, Stage
from jobs.queries.collection import clock_of, uncollected
from shop.clock import now, today
from shop.models import Profile
from shop.place import rules_of
from tests.builders import a_job, a_profile, an_invoice, announce_sale
from tests.inventory.builders import errors_of, once, texts
from tests.paper.papers import text_of
from tests.shop.test_verify import behind_its_back

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still_clock")]


@pytest.fixture
def job() -> Job:
    """Ready for 120 days, billed, both notices out with their proof, the day named here."""
    a_profile()
    made = a_job(Stage.READY, at=now() - timedelta(days=120))
    an_invoice(made)
    announce_sale(made)
    return Job.objects.get(pk=made.pk)


def at(name: str, pk: int) -> str:
    return reverse(f"billing:{name}", args=[pk])


def day_of(days_ago: int = 0) -> str:
    return f"{today() - timedelta(days=days_ago):%Y-%m-%d}"


def sale_form(job: Job, **values: Any) -> dict[str, Any]:
    usual = {"sold_on": day_of(), "price": "400.00", "to_whom": "Orla Venn", "how": "three offers asked", "costs": "5.00"}
    return {"once": once(), "seen": job.version, **usual, "costs_text": "notice in the paper", **values}


def standing(job: Job) -> tuple[str, str]:
    return clock_of(uncollected().get(pk=job.pk), rules_of(Profile.current()).uncollected, today()).standing


def test_the_page_says_where_it_stands_and_that_nothing_is_against_a_sale(owner_client: Client, job: Job) -> None:
    page = texts(owner_client.get(at("collecting", job.pk)))
    for text in ("Nothing written here is against it", "RN 4711 0815", "Nobody disputes what is owed", "section 12(5)"):
        assert text in page


def test_a_sale_is_written_down_once_by_the_owner(owner_client: Client, job: Job) -> None:
    form = sale_form(job)
    for _ in range(2):
        assert owner_client.post(at("sell_uncollected", job.pk), form).status_code == 302
    sale = UncollectedSale.objects.get()
    assert (sale.price_minor, sale.costs_minor, sale.surplus_minor) == (40_000, 500, 40_000 - 500 - sale.owed_minor)
    job.refresh_from_db()
    assert (job.stage, account_of(job.invoices.get()).due_minor) == (Stage.SOLD, 0)
    page = texts(owner_client.get(at("sale", sale.pk)))
    assert "Sold proven safe" in page
    assert owner_client.get(f"/jobs/{job.pk}/").status_code == 200


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        ({"price": "0.00"}, "price", "above nothing"),
        ({"sold_on": "2031-01-01"}, "sold_on", "lies ahead"),
        ({"to_whom": " "}, "to_whom", "required"),
        ({"costs_text": ""}, "costs_text", "Say what the costs"),
        ({"sold_on": "2026-02-20"}, "__all__", "It may be sold from 02 March 2026"),
    ],
)
def test_bad_input_is_told_at_its_field(owner_client: Client, job: Job, values: Any, field: str, words: str) -> None:
    answer = owner_client.post(at("sell_uncollected", job.pk), sale_form(job, **values))
    assert answer.status_code == 422
    assert words in str(errors_of(answer)[field])
    assert not UncollectedSale.objects.exists()


def test_a_dispute_stops_the_clock_until_it_is_settled(owner_client: Client, job: Job, still_clock: Any) -> None:
    opened = {"once": once(), "seen": 0, "text": "the hour was never agreed", "on": day_of()}
    for _ in range(2):
        assert owner_client.post(at("dispute", job.pk), opened).status_code == 302
    assert DisputeStep.objects.count() == 1
    assert standing(job) == ("warn", "Disputed: the clock stands")
    answer = owner_client.post(at("sell_uncollected", job.pk), sale_form(job))
    assert "What is owed is disputed; nothing is sold before that is settled" in texts(answer)
    still_clock.forward(days=10)
    settled = {"once": once(), "seen": 1, "text": "half the hour is let go", "on": day_of()}
    assert owner_client.post(at("dispute", job.pk), settled).status_code == 302
    answer = owner_client.post(at("sell_uncollected", job.pk), sale_form(job, sold_on=day_of(1)))
    assert "It may be sold from 12 March 2026" in texts(answer), "the ten days of the dispute don't count"
    assert owner_client.post(at("sell_uncollected", job.pk), sale_form(job)).status_code == 302


def test_a_notice_that_came_back_says_what_to_do_and_stops_the_sale(owner_client: Client, job: Job) -> None:
    notice = job.notices.filter(kind="sale").get()
    form = {"once": once(), "seen": 2, "kind": "came_back", "on": day_of(), "proof": "moved away, RN 4711 0815"}
    for _ in range(2):
        assert owner_client.post(at("notice_proof", notice.pk), form).status_code == 302
    assert NoticeService.objects.filter(kind="came_back").count() == 1
    page = texts(owner_client.get(at("collecting", job.pk)))
    assert "look for the customer in reasonable ways, and write down how" in page
    answer = owner_client.post(at("sell_uncollected", job.pk), sale_form(job))
    assert answer.status_code == 422
    assert "The notice of sale came back" in texts(answer)


def test_of_two_who_write_down_how_a_notice_went_the_second_is_told(counter_client: Client, job: Job) -> None:
    notice = job.notices.filter(kind="sale").get()
    form = {"once": once(), "seen": 1, "kind": "posted", "on": day_of(), "proof": ""}
    assert counter_client.post(at("notice_proof", notice.pk), form).status_code == 422
    answer = counter_client.post(at("notice_proof", notice.pk), {**form, "once": once(), "proof": "RN 1"})
    assert "Somebody else wrote down how this notice went" in texts(answer)


def test_what_is_left_is_paid_out_once_and_never_more(counter_client: Client) -> None:
    a_profile()
    sale = UncollectedSale.objects.get(job=a_job(Stage.SOLD))
    address = at("surplus_out", sale.pk)
    form = {"once": once(), "seen": 4_000, "amount": "40.01", "to_whom": "Iwona Brzask", "how": "transfer"}
    answer = counter_client.post(address, form)
    assert "£40.00 is left of the sale" in str(errors_of(answer)["amount"])
    for _ in range(2):
        assert counter_client.post(address, {**form, "amount": "15.00"}).status_code == 302
    assert SurplusPayment.objects.get().amount_minor == 1_500
    page = texts(counter_client.get("/money/uncollected/sold/"))
    assert "£25.00" in page
    stale = counter_client.post(address, {**form, "once": once(), "amount": "1.00"})
    assert "Somebody else paid out of this sale meanwhile" in texts(stale)
    account = text_of(counter_client.get(at("sale_pdf", sale.pk)).content)
    for text in ("Account of the sale of your set", "£15.00", "£25.00", "section 12(5)"):
        assert text in account


def test_an_unproven_set_is_sold_disabled_and_its_paper_says_so(owner_client: Client, job: Job) -> None:
    with behind_its_back():
        job.safety_checks.update(passed=False)
    page = texts(owner_client.get(at("sell_uncollected", job.pk)))
    assert "unproven and not for use" in page
    assert set(errors_of(owner_client.post(at("sell_uncollected", job.pk), sale_form(job)))) == {"how_disabled", "told"}
    form = sale_form(job, how_disabled="line cord cut off and kept", told="on")
    assert owner_client.post(at("sell_uncollected", job.pk), form).status_code == 302
    paper = text_of(owner_client.get(at("buyer_pdf", UncollectedSale.objects.get().pk)).content)
    for text in ("UNPROVEN, NOT FOR USE", "line cord cut off and kept", "Orla Venn"):
        assert text in paper


def test_strangers_the_bench_and_the_counter_are_refused(
    stranger_client: Client, colleague_client: Client, counter_client: Client, job: Job
) -> None:
    addresses = [at(name, job.pk) for name in ("collecting", "dispute", "sell_uncollected")]
    for address in (*addresses, at("notice_proof", job.notices.first().pk), "/money/uncollected/sold/"):
        assert stranger_client.get(address).status_code == 302
        assert colleague_client.get(address).status_code == 403
    assert counter_client.get(at("sell_uncollected", job.pk)).status_code == 403


def test_the_list_of_sales_teaches_and_asks_as_often_for_many(counter_client: Client, django_assert_num_queries: Any) -> None:
    a_profile()
    assert "No set was sold" in texts(counter_client.get("/money/uncollected/sold/"))
    a_job(Stage.SOLD)
    with CaptureQueriesContext(connection) as one:
        counter_client.get("/money/uncollected/sold/")
    a_job(Stage.SOLD)
    with django_assert_num_queries(len(one)):
        counter_client.get("/money/uncollected/sold/")
