"""Invoices and credit notes: the list, one paper as a page and as a PDF, the credit, a customer's statement."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django_tables2 import RequestConfig

from billing import papers
from billing.documents.credit_note import draw as draw_credit_note
from billing.documents.invoice import draw as draw_invoice
from billing.documents.statement import draw as draw_statement
from billing.forms import CreditForm
from billing.models import Invoice
from billing.queries import SHOWN, account_of, frozen_totals, invoices_like, standing_of, with_account
from billing.services import credit as credit_invoice
from billing.tables import InvoiceTable
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now, today
from shop.letterhead_of import letterhead
from shop.models import Customer, Role
from shop.web.pages import ROWS_A_PAGE, answer_once, refuse
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
        "payments": shown.payments.select_related("person"),  # type: ignore[attr-defined]
        "notes": shown.credit_notes.all(),  # type: ignore[attr-defined]
    }
    return render(request, "billing/invoice.html", context)


@role_required(*EVERYBODY)
def invoice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper as it was issued; `?with=payments` adds what was paid since."""
    shown = _load(pk)
    if shown.is_credit:
        return pdf(draw_credit_note(papers.credit_note_paper(shown, letterhead())), f"{shown.number}.pdf")
    paid = request.GET.get("with") == "payments"
    return pdf(draw_invoice(papers.invoice_paper(shown, letterhead(), with_payments=paid)), f"{shown.number}.pdf")


@role_required(Role.OWNER)
def credit(request: HttpRequest, pk: int) -> HttpResponse:
    shown = _load(pk)
    spent = shown.is_credit or shown.is_credited  # type: ignore[attr-defined]
    if spent and request.method != "POST":
        return refuse(request, f"{shown.number} can't be credited (any more).", back=reverse("billing:invoice", args=[pk]))
    form = CreditForm(request.POST or None)
    answer = _credit(request, shown, form) if form.is_valid() else None
    return answer or render(
        request, "billing/credit.html", {"form": form, "invoice": shown, "job": shown.job}, status=form.status
    )


def _credit(request: HttpRequest, shown: Invoice, form: CreditForm) -> HttpResponse | None:
    person = staff_of(request)

    def work() -> str:
        note = credit_invoice(shown, form.cleaned_data["reason"], person=person, at=now())
        return reverse("billing:invoice", args=[note.pk])

    try:
        where, done = acts.once(form.cleaned_data["once"], "credit invoice", work)
    except Refused as refused:
        form.take_refusal(refused)
        return None
    said = f"Invoice {shown.number} is credited in full. The job's log is open again and can be billed anew."
    return answer_once(request, where, done, said)


@role_required(Role.COUNTER)
def statement(request: HttpRequest, pk: int) -> HttpResponse:
    customer = get_object_or_404(Customer, pk=pk)
    paper = papers.statement_paper(customer, letterhead(), as_of_on=today())
    return pdf(draw_statement(paper), f"statement-{customer.pk}.pdf")
