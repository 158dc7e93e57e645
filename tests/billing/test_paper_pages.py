"""A paper as a page says what its PDF says, to those who may see the PDF."""

import re
from html import unescape
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags
from pypdf import PdfReader

from billing.models import Invoice
from billing.papers import invoice_paper
from billing.services import credit
from jobs.models import Job
from shop.clock import now
from shop.letterhead_of import letterhead
from shop.models import Staff
from tests.builders import a_flat_task, a_job, a_profile, an_invoice, pay, some_work
from tests.house.pages import PageReader

pytestmark = pytest.mark.django_db
# On every sheet of a PDF, and on no page of the web; letters of its sections.
OF_THE_SHEET = re.compile(r"page \d+ of \d+")
WORD = re.compile(r"[\w.,£€:/-]*\w")


@pytest.fixture
def job(owner: Staff) -> Job:
    a_profile(
        parts_tax_bp=2000,
        labour_tax_bp=500,
        address="4 Cable Street\nMerrowby",
        tax_id="GB123456789",
        registration="4711",
        terms="Net.",
    )
    return a_job("ready", person=owner, fault="It hums <loudly> & smells.")


@pytest.fixture
def invoice(job: Job, owner: Staff) -> Invoice:
    some_work(job, 90, person=owner, text="New mains lead & plug")
    some_work(job, 30, person=owner, not_charged="Our own slip.")
    some_work(job, person=owner, task=a_flat_task())
    return an_invoice(job, person=owner)


def words_of(text: str) -> set[str]:
    return {word.lower().strip(".,:") for word in WORD.findall(OF_THE_SHEET.sub("", text))}


def words_of_pdf(content: bytes) -> set[str]:
    return words_of("\n".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages))


def words_of_page(html: str) -> set[str]:
    return words_of(unescape(strip_tags(html.replace("<", " <"))))


def missing_on_page(client: Client, page: str, paper: str, query: str = "") -> set[str]:
    html = client.get(page + query).content.decode()
    single_letters = set("abcdefgh")  # tabs of the sections
    return words_of_pdf(client.get(paper + query).content) - words_of_page(html) - single_letters


@pytest.mark.parametrize("query", ["", "?with=payments"])
@pytest.mark.parametrize("include_tax", [False, True])
def test_the_page_says_every_word_of_the_invoice(
    owner_client: Client, job: Job, owner: Staff, query: str, include_tax: bool
) -> None:
    a_profile(parts_tax_bp=2000, labour_tax_bp=500, prices_include_tax=include_tax)
    some_work(job, 90, person=owner, text="New mains lead & plug")
    some_work(job, 30, person=owner, not_charged="Our own slip.")
    some_work(job, person=owner, task=a_flat_task())
    invoice = an_invoice(job, person=owner)
    pay(invoice, 1000)
    page, paper = reverse("billing:invoice_page", args=[invoice.pk]), reverse("billing:invoice_pdf", args=[invoice.pk])
    assert missing_on_page(owner_client, page, paper, query) == set()


def test_the_page_says_every_word_of_the_credit_note(owner_client: Client, invoice: Invoice, owner: Staff) -> None:
    note = credit(invoice, "Charged <twice> & wrongly.", person=owner, at=now())
    page, paper = reverse("billing:invoice_page", args=[note.pk]), reverse("billing:invoice_pdf", args=[note.pk])
    assert missing_on_page(owner_client, page, paper) == set()


def test_the_page_says_every_word_of_the_statement(owner_client: Client, invoice: Invoice) -> None:
    pay(invoice, 1000)
    args = [invoice.customer_id]
    page, paper = reverse("billing:statement_page", args=args), reverse("billing:statement", args=args)
    assert missing_on_page(owner_client, page, paper) == set()


@pytest.mark.parametrize("name", ["summary", "warranty"])
def test_the_page_says_every_word_of_what_the_owner_keeps(owner_client: Client, owner: Staff, name: str) -> None:
    a_profile(terms="Net.", tax_id="GB123456789")
    job = a_job("handed_over", person=owner, fault="It hums <loudly> & smells.")
    page, paper = (reverse(f"billing:{name}_{form}", args=[job.pk]) for form in ("page", "pdf"))
    assert missing_on_page(owner_client, page, paper) == set()


def test_a_set_that_went_back_unsafe_says_so_on_the_page(owner_client: Client, owner: Staff) -> None:
    job = a_job("returned", person=owner)
    page, paper = reverse("billing:summary_page", args=[job.pk]), reverse("billing:summary_pdf", args=[job.pk])
    assert missing_on_page(owner_client, page, paper) == set()
    assert "RETURNED UNSAFE, DISABLED. line cord cut off and kept" in owner_client.get(page).content.decode()


def test_a_warranty_that_has_not_started_is_none(owner_client: Client, job: Job) -> None:
    assert owner_client.get(reverse("billing:warranty_page", args=[job.pk])).status_code == 404


def test_the_page_of_a_statement_is_asked_as_its_pdf_is(counter_client: Client, invoice: Invoice) -> None:
    args, query = [invoice.customer_id], "?first=2099-01-01&last=2099-02-01"
    page, paper = reverse("billing:statement_page", args=args), reverse("billing:statement", args=args)
    assert missing_on_page(counter_client, page, paper, query) == set()
    html = counter_client.get(page + query).content.decode()
    assert "Open before this day" in html
    assert f"{paper}?first=2099-01-01&amp;last=2099-02-01" in html
    assert counter_client.get(page + "?first=yesterday&currency=XXX").status_code == 200


def test_the_account_to_pay_into_is_the_one_of_that_day(owner: Staff, job: Job) -> None:
    a_profile(iban="GB33 BUKB 2020 1555 5555 55")
    invoice = an_invoice(job, person=owner)
    a_profile(iban="")
    paper = invoice_paper(invoice, letterhead())
    assert paper.how_to_pay == f"Pay into GB33 BUKB 2020 1555 5555 55. Please name {invoice.number} when you pay."


def test_a_statement_without_bookings_says_so(counter_client: Client, job: Job) -> None:
    page = counter_client.get(reverse("billing:statement_page", args=[job.customer_id]))
    assert "Nothing was booked." in page.content.decode()


def test_what_was_typed_is_shown_and_does_nothing(owner_client: Client, invoice: Invoice) -> None:
    page = owner_client.get(reverse("billing:invoice_page", args=[invoice.pk])).content.decode()
    assert "It hums &lt;loudly&gt; &amp; smells." in page
    assert "<loudly>" not in page


def test_every_page_of_a_paper_is_whole(owner_client: Client, owner: Staff) -> None:
    job = a_job("handed_over", person=owner)
    bill = job.invoices.get()
    note = credit(bill, "Charged twice.", person=owner, at=now())
    pages = (
        ("invoice_page", bill.pk),
        ("invoice_page", note.pk),
        ("einvoice", bill.pk),
        ("einvoice", note.pk),
        ("statement_page", job.customer_id),
        ("summary_page", job.pk),
        ("warranty_page", job.pk),
    )
    for name, key in pages:
        html = owner_client.get(reverse(f"billing:{name}", args=[key])).content.decode()
        assert PageReader(html).faults() == [], name


def test_tables_are_tables_for_those_who_listen(owner_client: Client, invoice: Invoice) -> None:
    page = owner_client.get(reverse("billing:invoice_page", args=[invoice.pk])).content.decode()
    assert page.count("<table") == page.count("<caption") == 4
    assert page.count("<main") == page.count("<h1") == page.count("<tfoot") == 1
    assert 'lang="en-GB"' in page
    assert page.count('scope="col"') > 10


@pytest.mark.parametrize("name", ["invoice_page", "statement_page", "summary_page", "warranty_page"])
def test_a_stranger_sees_no_paper(stranger_client: Client, invoice: Invoice, name: str) -> None:
    args = [{"invoice_page": invoice.pk, "statement_page": invoice.customer_id}.get(name, invoice.job_id)]
    answer = stranger_client.get(reverse(f"billing:{name}", args=args))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


def test_the_bench_sees_no_statement(colleague_client: Client, invoice: Invoice) -> None:
    assert colleague_client.get(reverse("billing:statement_page", args=[invoice.customer_id])).status_code == 403


def test_a_paper_that_is_none(owner_client: Client, job: Job) -> None:
    assert owner_client.get(reverse("billing:invoice_page", args=[4711])).status_code == 404
    assert owner_client.get(reverse("billing:statement_page", args=[4711])).status_code == 404
