"""Money against an invoice: paid, given back, or let go by the owner."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.forms import PayForm
from billing.models import Invoice, PaymentKind
from billing.queries import account_of, with_account
from billing.services import Money, record_payment
from shop import acts
from shop.access import may, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Role
from shop.money import show
from shop.web.pages import answer_once, go, warn

SAID = {PaymentKind.PAID: "received", PaymentKind.REFUND: "given back", PaymentKind.WAIVED: "waived"}


@role_required(Role.COUNTER)
def pay(request: HttpRequest, pk: int) -> HttpResponse:
    invoice = get_object_or_404(with_account(Invoice.objects.select_related("job__radio__model", "customer")), pk=pk)
    account = account_of(invoice)
    if request.method != "POST" and (invoice.is_credit or account.is_settled):
        warn(request, f"Nothing is due on {invoice.number}.")
        return go(request, "billing:invoice", pk)
    form = PayForm(request.POST or None, invoice=invoice, may_waive=may(request.user, Role.OWNER))
    answer = _book(request, invoice, form) if form.is_valid() else None
    context = {"form": form, "invoice": invoice, "account": account, "job": invoice.job}
    return answer or render(request, "billing/pay.html", context, status=form.status)


def _book(request: HttpRequest, invoice: Invoice, form: PayForm) -> HttpResponse | None:
    data, person = form.cleaned_data, staff_of(request)
    money = Money(data["kind"], data["amount"], data["how"], data["note"])

    def work() -> str:
        record_payment(invoice, money, person=person, at=now())
        return reverse("billing:job_money", args=[invoice.job_id])

    try:
        where, done = acts.once(data["once"], "payment", work)
    except Refused as refused:
        form.take_refusal(refused)
        return None
    said = f"{show(money.amount_minor, invoice.currency)} {SAID[PaymentKind(money.kind)]} on {invoice.number}."
    return answer_once(request, where, done, said)
