"""The till's pages: a job's money, the bill, payments, deposits, the credit, the list, the hand-over."""

import io
import uuid
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from billing.models import Invoice, Payment
from jobs.models import Deposit, HandOver, Job
from tests.builders import a_fit, a_job, a_profile, an_invoice, pay, position_of, some_work

pytestmark = pytest.mark.django_db


def words(answer: Any) -> str:
    return "".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)


def once() -> str:
    return str(uuid.uuid4())


def working_job() -> Job:
    job = a_job("repairing")
    a_fit(job, "C2")
    some_work(job, 90)
    job.refresh_from_db()
    return job


def test_the_jobs_page_shows_what_will_be_billed(counter_client: Client) -> None:
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000)
    job = working_job()
    page = counter_client.get(f"/money/jobs/{job.pk}/").content.decode()
    for text in ("What will be billed", "0.01 µF 630 V", "£60.00", "£60.60", "VAT 20 % on £60.60", "£72.72", "1 h 30 min"):
        assert text in page
    assert "the stage “Ready to collect”" in page


def test_an_empty_job_teaches_what_appears_here(counter_client: Client) -> None:
    job = a_job("inspecting")
    assert "Nothing to bill yet" in counter_client.get(f"/money/jobs/{job.pk}/").content.decode()


def test_issuing_is_asked_first_and_done_once(counter_client: Client) -> None:
    job = working_job()
    address = f"/money/jobs/{job.pk}/issue/"
    asked = counter_client.get(address).content.decode()
    assert "£60.60" in asked
    assert Invoice.objects.count() == 0
    form = {"once": once(), "seen": job.version}
    for _ in range(2):
        assert counter_client.post(address, form).status_code == 302
    assert Invoice.objects.get().gross_minor == 6_060


def test_a_log_that_grew_meanwhile_is_not_billed_unseen(counter_client: Client) -> None:
    job = working_job()
    some_work(job, 15)
    answer = counter_client.post(f"/money/jobs/{job.pk}/issue/", {"once": once(), "seen": job.version})
    assert answer.status_code == 409
    assert "was changed by somebody else since you opened it" in answer.content.decode()
    assert Invoice.objects.count() == 0


def test_every_line_of_the_bill_opens_what_it_was_drawn_from(counter_client: Client) -> None:
    job = working_job()
    invoice = an_invoice(job)
    page = counter_client.get(f"/money/papers/{invoice.pk}/").content.decode()
    assert f'href="{reverse("jobs:position", args=[position_of(job).pk])}"' in page
    assert f'href="{reverse("jobs:labour", args=[job.pk])}"' in page
    for text in (invoice.number, "C2", "Iwona Brzask", "It hums and then goes quiet.", "£60.60", "Open"):
        assert text in page


def test_the_paper_is_as_issued_and_with_payments_on_request(counter_client: Client) -> None:
    job = working_job()
    invoice = an_invoice(job)
    address = f"/money/papers/{invoice.pk}/paper/"
    before = words(counter_client.get(address))
    pay(invoice, 2_000)
    assert words(counter_client.get(address)) == before
    for text in (invoice.number, "C2", "µF", "new", "Still due", "£60.60", "£40.00 an hour", "1 h 30 min"):
        assert text in before
    paid = words(counter_client.get(f"{address}?with=payments"))
    assert "£40.60" in paid
    assert "Paid, card" in paid


def test_the_payment_form_is_filled_with_what_is_due(counter_client: Client) -> None:
    invoice = an_invoice(working_job())
    address = f"/money/papers/{invoice.pk}/pay/"
    page = counter_client.get(address).content.decode()
    assert 'value="60.60"' in page
    assert "Waived by the owner" not in page
    form = {"once": once(), "kind": "paid", "amount": "60.60", "how": "card"}
    for _ in range(2):
        assert counter_client.post(address, form).status_code == 302
    assert Payment.objects.get().amount_minor == 6_060


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"amount": "70.00", "how": "card"}, "is due on R-"),
        ({"amount": "-5", "how": "card"}, "A sum can&#x27;t be below zero here."),
        ({"amount": "12.345", "how": "card"}, "has more than 2 decimals"),
        ({"amount": "10.00", "how": ""}, "Choose how it was paid."),
        ({"amount": "10.00", "how": "card", "kind": "refund"}, "There is nothing to give back on R-"),
        ({"amount": "10.00", "how": "", "kind": "waived", "note": "x"}, "Select a valid choice."),
    ],
)
def test_bad_payments_are_refused_and_stay_typed(counter_client: Client, sent: dict[str, str], told: str) -> None:
    invoice = an_invoice(working_job())
    form = {"once": once(), "kind": "paid", "note": "as agreed", **sent}
    answer = counter_client.post(f"/money/papers/{invoice.pk}/pay/", form)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert told in page
    assert f'value="{sent["amount"]}"' in page
    assert not Payment.objects.exists()


def test_the_owner_waives_with_a_reason(owner_client: Client) -> None:
    invoice = an_invoice(working_job())
    address = f"/money/papers/{invoice.pk}/pay/"
    form = {"once": once(), "kind": "waived", "amount": "60.60", "note": ""}
    assert "Say why the sum is waived." in owner_client.post(address, form).content.decode()
    owner_client.post(address, {**form, "note": "our own mistake"})
    assert Payment.objects.get().note == "our own mistake"


def test_deposits_are_taken_given_back_and_set_off(counter_client: Client) -> None:
    job = working_job()
    base = f"/money/jobs/{job.pk}/deposit/"
    form = {"once": once(), "deposit": "40.00", "deposit_how": "cash"}
    for _ in range(2):
        counter_client.post(base, form)
    counter_client.post(f"{base}back/", {"once": once(), "amount": "10.00", "how": "cash"})
    answer = counter_client.post(f"{base}back/", {"once": once(), "amount": "30.01", "how": "cash"})
    assert "That is more than what is left of the deposit." in answer.content.decode()
    assert [(one.amount_minor, one.given_back) for one in Deposit.objects.all()] == [(4_000, False), (1_000, True)]
    invoice = an_invoice(job)
    assert (invoice.prepaid_minor, invoice.gross_minor) == (3_000, 6_060)
    page = counter_client.get(f"/money/papers/{invoice.pk}/").content.decode()
    assert "£30.60" in page


def test_after_the_bill_money_is_a_payment_and_no_deposit(counter_client: Client) -> None:
    job = working_job()
    an_invoice(job)
    answer = counter_client.post(f"/money/jobs/{job.pk}/deposit/", {"once": once(), "deposit": "40.00", "deposit_how": "cash"})
    assert answer.status_code == 422
    assert "Book the money as a payment of its invoice." in answer.content.decode()


def test_only_the_owner_credits(owner_client: Client, counter_client: Client) -> None:
    invoice = an_invoice(working_job())
    address = f"/money/papers/{invoice.pk}/credit/"
    assert counter_client.get(address).status_code == 403
    assert owner_client.post(address, {"once": once(), "reason": " "}).status_code == 422
    form = {"once": once(), "reason": "billed to the wrong person"}
    for _ in range(2):
        assert owner_client.post(address, form).status_code == 302
    note = Invoice.objects.get(kind="credit_note")
    assert note.reason == "billed to the wrong person"
    assert "billed to the wrong person" in words(owner_client.get(f"/money/papers/{note.pk}/paper/"))
    assert note.number in owner_client.get(f"/money/papers/{invoice.pk}/").content.decode()


def test_the_list_finds_by_number_job_and_customer_and_filters(counter_client: Client) -> None:
    open_one, settled = an_invoice(working_job()), an_invoice(working_job())
    pay(settled)

    def listed(query: str) -> list[str]:
        page = counter_client.get(f"/money/{query}").content.decode()
        return [one.number for one in (open_one, settled) if f">{one.number}</a>" in page]

    assert listed("") == [open_one.number, settled.number]
    assert listed("?shown=open") == [open_one.number]
    assert listed("?shown=settled") == [settled.number]
    assert listed("?shown=credits") == []
    assert listed(f"?q={settled.job.number.lower()}") == [settled.number]
    assert len(listed("?q=BRZASK")) == 2
    assert "Nothing like that was issued." in counter_client.get("/money/?q=nobody").content.decode()


def test_an_empty_list_teaches(counter_client: Client) -> None:
    a_profile()
    assert "No invoice yet" in counter_client.get("/money/").content.decode()


def test_the_list_takes_the_same_queries_at_one_row_and_at_many(counter_client: Client, django_assert_num_queries: Any) -> None:
    an_invoice(working_job())
    with CaptureQueriesContext(connection) as one:
        counter_client.get("/money/")
    for _ in range(12):
        an_invoice(working_job())
    with django_assert_num_queries(len(one)):
        counter_client.get("/money/")


def test_hand_over_shows_what_is_missing_then_signs(counter_client: Client) -> None:
    job = a_job("ready")
    address = f"/money/jobs/{job.pk}/hand-over/"
    assert "an invoice for the work done" in counter_client.get(address).content.decode()
    sent = {"proven-once": once(), "proven-received_by": "Iwona Brzask"}
    refused = counter_client.post(address, sent)
    assert refused.status_code == 422
    assert "The set stays here until there is: an invoice for the work done." in refused.content.decode()
    pay(an_invoice(job))
    for _ in range(2):
        assert counter_client.post(address, sent).status_code == 302
    assert HandOver.objects.get().received_by == "Iwona Brzask"
    job.refresh_from_db()
    assert job.stage == "handed_over"
    assert "Received by Iwona Brzask" in counter_client.get(address).content.decode()


def test_the_other_door_asks_for_the_warning_to_be_signed(counter_client: Client) -> None:
    job = a_job("declined")
    address = f"/money/jobs/{job.pk}/hand-over/"
    sent = {"unsafe-once": once(), "unsafe-received_by": "Iwona Brzask", "unsafe-how_disabled": "line cord cut off and kept"}
    answer = counter_client.post(address, sent)
    assert answer.status_code == 422
    assert "A set goes back unsafe only with a signature under that warning." in answer.content.decode()
    assert counter_client.post(address, {**sent, "unsafe-told": "on"}).status_code == 302
    assert HandOver.objects.get().how_disabled == "line cord cut off and kept"


def test_the_statement_adds_up(counter_client: Client) -> None:
    job = working_job()
    invoice = an_invoice(job)
    pay(invoice, 2_000)
    told = words(counter_client.get(f"/money/customers/{job.customer_id}/statement/"))
    assert invoice.number in told
    assert "£40.60" in told


PAGES = (
    "",
    "jobs/{job}/",
    "jobs/{job}/issue/",
    "jobs/{job}/hand-over/",
    "papers/{paper}/pay/",
    "customers/{customer}/statement/",
)


@pytest.mark.parametrize("page", PAGES)
def test_strangers_sign_in_and_the_bench_stays_out(stranger_client: Client, colleague_client: Client, page: str) -> None:
    job = working_job()
    invoice = an_invoice(job)
    address = "/money/" + page.format(job=job.pk, paper=invoice.pk, customer=job.customer_id)
    assert stranger_client.get(address).status_code == 302
    assert colleague_client.get(address).status_code == 403
    assert colleague_client.get(f"/money/papers/{invoice.pk}/").status_code == 200
