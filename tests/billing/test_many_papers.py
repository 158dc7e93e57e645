"""Lists of the till ask the database as often for 500 papers as for one."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from billing.models import Invoice, InvoiceLine, Payment, PaymentKind
from billing.services import credit_part
from billing.verification import LOOKS
from shop.clock import now
from tests.billing.histories import a_bill, book, boss, whole_lines
from tests.conftest import StillClock

PAGES = ("ageing/", "books/", "books/journal/", "books/tax/", "books/papers/", "customers/{}/", "")


def copies(invoice: Invoice, note: Invoice, many: int) -> None:
    """`many` more of an invoice, each with a line, a payment and a credit note in part of its own."""
    last = Invoice.objects.count()
    made = []
    for n in range(1, many + 1):
        made += [_copy(invoice, last + 2 * n), _copy(note, last + 2 * n + 1)]
    Invoice.objects.bulk_create(made[::2])
    for bill, credited in zip(made[::2], made[1::2], strict=True):
        credited.credits = bill
    Invoice.objects.bulk_create(made[1::2])
    values = {
        "order": 1,
        "kind": "labour",
        "text": "work",
        "unit_minor": 100,
        "amount_minor": 100,
        "net_minor": 100,
        "tax_bp": 2000,
    }
    InvoiceLine.objects.bulk_create([InvoiceLine(invoice=one, **values) for one in made])
    paid = {"kind": PaymentKind.PAID, "amount_minor": 10, "how": "cash", "at": invoice.at, "person": invoice.person}
    Payment.objects.bulk_create([Payment(invoice=one, **paid) for one in made[::2]])


def _copy(paper: Invoice, number: int) -> Invoice:
    values = {field.attname: getattr(paper, field.attname) for field in Invoice._meta.concrete_fields if field.attname != "id"}
    return Invoice(**{**values, "number": f"{paper.series}-{number}", "sequence": number})


@pytest.mark.django_db
def test_the_same_queries_at_1_50_and_500(owner_client: Client, still_clock: StillClock) -> None:
    invoice = a_bill()
    book(invoice, PaymentKind.PAID, 1_000)
    note = credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now() + timedelta(minutes=1))
    counted: dict[str, list[int]] = {page: [] for page in PAGES}
    owner_client.get("/money/books/")
    for more in (0, 49, 450):
        copies(invoice, note, more)
        for page in PAGES:
            with CaptureQueriesContext(connection) as taken:
                assert owner_client.get(f"/money/{page.format(invoice.customer_id)}").status_code == 200
            counted[page].append(len(taken))
    assert {page: len(set(numbers)) for page, numbers in counted.items()} == dict.fromkeys(PAGES, 1), counted


@pytest.mark.django_db
def test_more_papers_than_a_database_nests_are_derived_again(owner_client: Client, still_clock: StillClock) -> None:
    """SQLite refuses an expression nested a thousand deep; what belongs to many rows mustn't be asked for in one."""
    invoice = a_bill()
    book(invoice, PaymentKind.PAID, 1_000)
    note = credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now() + timedelta(minutes=1))
    copies(invoice, note, 1_100)
    lines = InvoiceLine.objects.filter(invoice__credits__isnull=False).select_related("invoice")
    own = {line.invoice_id: line for line in InvoiceLine.objects.filter(invoice__credits__isnull=True, order=1)}
    fresh = [
        InvoiceLine(
            invoice=line.invoice,
            order=2,
            kind=line.kind,
            text="again",
            unit_minor=1,
            amount_minor=1,
            net_minor=1,
            credits_line=own[line.invoice.credits_id or 0],
        )
        for line in lines
        if line.credits_line_id is None
    ]
    InvoiceLine.objects.bulk_create(fresh)
    assert len(fresh) == 1_100
    for looker in LOOKS:
        assert looker().counted >= 0
    assert owner_client.get("/money/ageing/").status_code == 200
