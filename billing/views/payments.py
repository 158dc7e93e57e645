"""Money against an invoice: paid, given back, let go by the owner, moved to another invoice, and slips taken back."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.forms import MoveForm, PayForm, TakeBackForm
from billing.models import Invoice, PaperKind, Payment, PaymentKind
from billing.queries import account_of, payment_words, taken_back_by, with_account
from billing.services import Money, move_credit, record_payment
from billing.services import take_back as take_line_back
from shop import acts
from shop.access import may, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Role
from shop.money import show
from shop.web.pages import answer_once, go, refuse, warn

SAID = {
    PaymentKind.PAID: "received",
    PaymentKind.REFUND: "given back",
    PaymentKind.WAIVED: "waived",
    PaymentKind.WRITTEN_OFF: "written off as lost",
}
LINE_HEADS = ("invoice__job__radio__model", "invoice__customer", "counterpart__invoice", "moved_from__invoice")


def _load(pk: int) -> Invoice:
    return get_object_or_404(
        with_account(Invoice.objects.select_related("job__radio__model", "job__customer", "customer")), pk=pk
    )


@role_required(Role.COUNTER)
def pay(request: HttpRequest, pk: int) -> HttpResponse:
    invoice = _load(pk)
    if request.method != "POST" and invoice.is_credit:
        warn(request, f"Money goes with the invoice; {invoice.number} is a credit note.")
        return go(request, "billing:invoice", pk)
    form = PayForm(request.POST or None, invoice=invoice, may_let_go=may(request.user, Role.OWNER))
    answer = _book(request, invoice, form) if form.is_valid() else None
    context = {"form": form, "invoice": invoice, "account": account_of(invoice), "job": invoice.job}
    return answer or render(request, "billing/pay.html", context, status=form.status)


def _book(request: HttpRequest, invoice: Invoice, form: PayForm) -> HttpResponse | None:
    data, person = form.cleaned_data, staff_of(request)
    money = Money(data["kind"], data["amount"], data["how"], data["note"], keep=data["keep"])

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


@role_required(Role.COUNTER)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """What is to be given back on this invoice pays another one of the same customer."""
    invoice = _load(pk)
    goals = open_invoices_of(invoice)
    account, back = account_of(invoice), reverse("billing:invoice", args=[pk])
    if request.method != "POST" and account.due_minor >= 0:
        return refuse(request, f"There is nothing to move on {invoice.number}: no money is to be given back on it.", back=back)
    form = MoveForm(request.POST or None, invoice=invoice, goals=goals)
    answer = _move(request, invoice, goals, form) if form.is_valid() else None
    context = {"form": form, "invoice": invoice, "account": account, "job": invoice.job, "goals": goals}
    return answer or render(request, "billing/move.html", context, status=form.status)


def open_invoices_of(invoice: Invoice) -> list[Any]:
    """Other invoices of the customer, in the same currency, with something due; the oldest first."""
    others = Invoice.objects.filter(customer=invoice.customer_id, currency=invoice.currency, kind=PaperKind.INVOICE)
    listed: QuerySet[Any] = with_account(others.exclude(pk=invoice.pk))
    return list(listed.filter(due__gt=0).order_by("due_on", "pk"))


def _move(request: HttpRequest, invoice: Invoice, goals: list[Any], form: MoveForm) -> HttpResponse | None:
    data, person = form.cleaned_data, staff_of(request)
    goal = next(one for one in goals if str(one.pk) == data["goal"])

    def work() -> str:
        move_credit(invoice, goal, data["amount"], person=person, at=now())
        return reverse("billing:invoice", args=[goal.pk])

    try:
        where, done = acts.once(data["once"], "move money", work)
    except Refused as refused:
        form.take_refusal(refused)
        return None
    said = f"{show(data['amount'], invoice.currency)} moved from {invoice.number} to {goal.number}."
    return answer_once(request, where, done, said)


@role_required(Role.COUNTER)
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Asked with a reason: what was booked stays on record, and a line beside it takes it back."""
    line = get_object_or_404(Payment.objects.select_related(*LINE_HEADS), pk=pk)
    invoice, back = line.invoice, reverse("billing:invoice", args=[line.invoice_id])
    if request.method != "POST" and taken_back_by(line) is not None:
        return refuse(request, f"{payment_words(line)} on {invoice.number} was taken back already.", back=back)
    form = TakeBackForm(request.POST or None)
    answer = _take_back(request, line, form, back) if form.is_valid() else None
    context = {"form": form, "line": line, "words": payment_words(line), "invoice": invoice, "job": invoice.job}
    return answer or render(request, "billing/take_back.html", context, status=form.status)


def _take_back(request: HttpRequest, line: Payment, form: TakeBackForm, back: str) -> HttpResponse | None:
    person = staff_of(request)

    def work() -> str:
        take_line_back(line, form.cleaned_data["reason"], person=person, at=now())
        return back

    try:
        where, done = acts.once(form.cleaned_data["once"], "take money back", work)
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, f"{payment_words(line)} is taken back. Both lines stay on record.")
