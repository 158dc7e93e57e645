"""Invoices, credit notes and the money against them: the lists, one paper with what became of it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from billing.forms.lists import PaymentsForm
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
from billing.queries.lists import payments_like
from billing.tables import InvoiceTable, PaymentTable
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.models import Profile, Role
from shop.web.context import shop_profile
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.saving import file_of, table_sheet, wants_file


@role_required(Role.COUNTER)
@as_left("billing:invoices", {"q": "", "shown": ""}, words={"shown": dict(SHOWN)})
def invoices(request: HttpRequest) -> HttpResponse:
    text, shown = request.GET.get("q", "")[:80], request.GET.get("shown", "")
    table = InvoiceTable(invoices_like(text, shown), today=today())
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("invoices-and-credit-notes", table))
    context = {"table": table, "q": text, "shown": shown, "choices": SHOWN, "is_filtered": bool(text or shown)}
    return render(request, "billing/invoices.html", context)


@role_required(Role.COUNTER)
@as_left("billing:payments", {"q": "", "first": "", "last": ""}, PaymentsForm)
def payment_list(request: HttpRequest) -> HttpResponse:
    form = PaymentsForm(request.GET or None)
    asked = form.cleaned_data if form.is_valid() else {}
    profile = shop_profile(request) or Profile()
    found = payments_like(asked.get("q", ""), asked.get("first"), asked.get("last"))
    table = PaymentTable(found, locale=profile.locale)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("payments", table))
    context = {"form": form, "table": table, "is_filtered": any(asked.values())}
    return render(request, "billing/payment_list.html", context)


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
