"""Bills and statements as PDF, and as pages from the same frozen paper, for those who listen to it or read it on a phone."""

from collections.abc import Sequence
from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing import drawn, papers
from billing.documents import credit_note, invoice, statement
from billing.documents.credit_note import CreditNotePaper
from billing.documents.invoice import InvoicePaper
from billing.documents.lines import BillLine
from billing.models import Invoice
from billing.queries import with_account
from billing.views.statements import paper_asked
from shop.access import EVERYBODY, role_required
from shop.letterhead_of import letterhead
from shop.models import Role
from shop.web.pdf import Way, answer_with, look_at, pdf

PAID = "?with=payments"
HEADS = ("job", "customer", "credits", "consent")


def load(pk: int) -> Invoice:
    return get_object_or_404(with_account(Invoice.objects.select_related(*HEADS)), pk=pk)


def paper_of(shown: Invoice, *, with_payments: bool = False) -> InvoicePaper | CreditNotePaper:
    if shown.is_credit:
        return papers.credit_note_paper(shown, letterhead())
    return papers.invoice_paper(shown, letterhead(), with_payments=with_payments)


def draw_paper(shown: Invoice) -> bytes:
    paper = paper_of(shown)
    return credit_note.draw(paper) if isinstance(paper, CreditNotePaper) else invoice.draw(paper)


def lines_of(lines: Sequence[BillLine]) -> dict[str, list[BillLine]]:
    """Parts, then labour with the tasks at a fixed price, as on the printed paper."""
    work = [line for line in lines if line.kind == "labour"] + [line for line in lines if line.kind == "flat"]
    return {"parts": [line for line in lines if line.kind == "part"], "work": work}


@role_required(*EVERYBODY)
def invoice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper as it was issued; `?with=payments` adds what was paid since."""
    paid = request.GET.get("with") == "payments"
    page = reverse("billing:invoice_page", args=[pk]) + (PAID if paid else "")
    ways = [Way("The same as a page", page), Way("As data", reverse("billing:einvoice", args=[pk]))]
    draw = partial(drawn.invoice, pk, with_payments=paid)
    return answer_with(draw, back=reverse("billing:invoice", args=[pk]), ways=ways)


@role_required(*EVERYBODY)
def invoice_page(request: HttpRequest, pk: int) -> HttpResponse:
    """An invoice or a credit note as it was issued; `?with=payments` adds what was paid since."""
    shown, paid = load(pk), request.GET.get("with") == "payments"
    paper = paper_of(shown, with_payments=paid)
    address = reverse("billing:invoice_pdf", args=[pk]) + (PAID if paid and not shown.is_credit else "")
    ways = {"pdf": look_at(address), "back": reverse("billing:invoice", args=[pk])}
    context: dict[str, Any] = {"paper": paper, **lines_of(paper.lines), **ways}
    if isinstance(paper, CreditNotePaper):
        sums = credit_note.sum_rows(paper)
        return render(request, "billing/credit_note_page.html", {**context, "sums": sums})
    return render(request, "billing/invoice_page.html", {**context, "sums": invoice.sum_rows(paper), "paid": paid})


@role_required(Role.COUNTER)
def statement_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Asked by `first`, `last`, `currency`; nothing asked is everything until today."""
    paper, asked = paper_asked(request, pk), f"?{request.GET.urlencode()}" if request.GET else ""
    ways = [Way("The same as a page", reverse("billing:statement_page", args=[pk]) + asked)]
    name, back = f"statement-{pk}-{paper.as_of_on.isoformat()}.pdf", reverse("billing:account", args=[pk]) + asked
    return pdf(statement.draw(paper), name, back=back, ways=ways)


@role_required(Role.COUNTER)
def statement_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Asked as the PDF is: `first`, `last`, `currency`."""
    paper, asked = paper_asked(request, pk), f"?{request.GET.urlencode()}" if request.GET else ""
    ways = {
        "pdf": look_at(reverse("billing:statement", args=[pk]) + asked),
        "back": reverse("billing:account", args=[pk]) + asked,
    }
    return render(request, "billing/statement_page.html", {"paper": paper, "sums": statement.sum_rows(paper), **ways})
