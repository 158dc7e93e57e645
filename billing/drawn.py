"""The till's papers as finished files, by primary key: for a page and for many at a time. Each raises the model's DoesNotExist.

`root` is the shop's own address without a stroke at its end (`https://shop.example`).
"""

from datetime import date

from django.urls import reverse

from billing import papers
from billing.documents import credit_note as credit_note_document
from billing.documents import invoice as invoice_document
from billing.documents import sale as sale_document
from billing.documents import statement as statement_document
from billing.models import Invoice
from billing.queries import with_account
from billing.queries.sale_papers import buyers_paper as buyers_paper_of
from billing.queries.sale_papers import sale_account as sale_account_of
from billing.queries.sales import sales
from jobs.documents import summary as summary_document
from jobs.documents import warranty as warranty_document
from jobs.models import Job, Warranty
from jobs.queries.papers_out import summary_paper
from jobs.queries.warranty_paper import warranty_paper
from shop.letterhead_of import letterhead
from shop.models import Customer
from shop.paper.drawn import Drawn

HEADS = ("job__radio__model", "job__customer", "customer", "credits", "consent__person", "person")


def invoice(pk: int, *, with_payments: bool = False) -> Drawn:
    """An invoice or a credit note as it was issued; `with_payments` adds what was paid since."""
    shown = with_account(Invoice.objects.select_related(*HEADS)).get(pk=pk)
    name, head = f"{shown.number}.pdf", letterhead()
    if shown.is_credit:
        return Drawn(name, credit_note_document.draw(papers.credit_note_paper(shown, head)))
    return Drawn(name, invoice_document.draw(papers.invoice_paper(shown, head, with_payments=with_payments)))


def statement(pk: int, *, as_of_on: date, first: date | None = None, currency: str = "") -> Drawn:
    """The account of a customer from a day to a day, in one currency: the shop's where none is named."""
    customer = Customer.objects.get(pk=pk)
    paper = papers.statement_paper(customer, letterhead(), as_of_on=as_of_on, first=first, currency=currency)
    return Drawn(f"statement-{pk}-{as_of_on.isoformat()}.pdf", statement_document.draw(paper))


def summary(pk: int, *, written_on: date) -> Drawn:
    """The summary of a job."""
    job = Job.objects.select_related("radio__model", "customer", "taken_in_by").get(pk=pk)
    paper = summary_paper(job, letterhead(), written_on=written_on, **papers.keepsake_facts(job))
    return Drawn(f"job-summary-{job.number}.pdf", summary_document.draw(paper))


def warranty(job_pk: int, root: str) -> Drawn:
    """The warranty record of a job; it begins with the hand-over."""
    found = Warranty.objects.select_related("job__radio__model", "job__customer").get(job_id=job_pk)
    address = root + reverse("jobs:job", args=[job_pk])
    paper = warranty_paper(found, letterhead(), job_url=address, **papers.keepsake_facts(found.job))
    return Drawn(f"warranty-{found.job.number}.pdf", warranty_document.draw(paper))


def sale_account(pk: int, *, written_on: date) -> Drawn:
    """The account of the sale of a set that nobody collected, for its owner."""
    shown = sales().get(pk=pk)
    content = sale_document.draw(sale_account_of(shown, letterhead(), written_on=written_on))
    return Drawn(f"sale-{shown.job.number}.pdf", content)


def buyers_paper(pk: int) -> Drawn:
    """What the buyer of such a set takes along."""
    shown = sales().get(pk=pk)
    return Drawn(f"sold-{shown.job.number}.pdf", sale_document.draw_buyers(buyers_paper_of(shown, letterhead())))
