"""Invoices and credit notes: the list, one paper as a page and as a PDF."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_tables2 import RequestConfig

from billing import papers
from billing.documents.credit_note import draw as draw_credit_note
from billing.documents.invoice import draw as draw_invoice
from billing.models import Invoice
from billing.queries import (
    SHOWN,
    account_of,
    frozen_totals,
    invoices_like,
    payment_words,
    standing_of,
    taken_back_by,
    takes_back,
    with_account,
)
from billing.tables import InvoiceTable
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.models import Role
from shop.web.pages import ROWS_A_PAGE
from shop.web.pdf import pdf


@role_required(Role.COUNTER)
def invoices(request: HttpRequest) -> HttpResponse:
    text, shown = request.GET.get("q", "")[:80], request.GET.get("shown", "")
    table = InvoiceTable(invoices_like(text, shown), today=today())
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE, "silent": True}).configure(table)
    context = {"table": table, "q": text, "shown": shown, "choices": SHOWN, "is_filtered": bool(text or shown)}
    return render(request, "billing/invoices.html", context)


def _load(pk: int) -> Invoice:
    heads = ("job__radio__model", "job__customer", "customer", "credits", "consent", "person")
    return get_object_or_404(with_account(Invoice.objects.select_related(*heads)), pk=pk)


@role_required(*EVERYBODY)
def invoice(request: HttpRequest, pk: int) -> HttpResponse:
    shown = _load(pk)
    lines = list(shown.lines.select_related("entry__position", "labour"))  # type: ignore[attr-defined]
    context = {
        "invoice": shown,
        "job": shown.job,
        "charged": [line for line in lines if line.charged],
        "not_charged": [line for line in lines if not line.charged],
        "totals": frozen_totals(shown, lines),
        "account": account_of(shown),
        "standing": standing_of(shown, today()),
        "payments": _money_lines(shown),
        "notes": shown.credit_notes.all(),  # type: ignore[attr-defined]
    }
    return render(request, "billing/invoice.html", context)


def _money_lines(invoice: Invoice) -> list[dict[str, object]]:
    """Every line of money in words, with what took it back, and whether it still can be."""
    heads = ("person", "counterpart__invoice", "moved_from__invoice", "moved_from__moved_from")
    lines = invoice.payments.select_related(*heads)  # type: ignore[attr-defined]
    return [
        {
            "line": one,
            "words": payment_words(one),
            "taken_back": taken_back_by(one),
            "can_go_back": taken_back_by(one) is None and not takes_back(one),
        }
        for one in lines
    ]


@role_required(*EVERYBODY)
def invoice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper as it was issued; `?with=payments` adds what was paid since."""
    shown = _load(pk)
    if shown.is_credit:
        return pdf(draw_credit_note(papers.credit_note_paper(shown, letterhead())), f"{shown.number}.pdf")
    paid = request.GET.get("with") == "payments"
    return pdf(draw_invoice(papers.invoice_paper(shown, letterhead(), with_payments=paid)), f"{shown.number}.pdf")
