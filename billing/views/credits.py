"""Credit notes: over all that an invoice still charges, or over some of its lines."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.forms import CreditForm, PartCreditForm
from billing.models import Invoice, InvoiceLine
from billing.queries import account_of, credited_of, taken_by, with_account
from billing.queries.day import day_is_behind
from billing.services import credit as credit_invoice
from billing.services import credit_part as credit_lines
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import Role
from shop.money import show
from shop.web.pages import answer_once, refuse

HEADS = ("job__radio__model", "job__customer", "customer")


def _load(pk: int) -> Invoice:
    return get_object_or_404(with_account(Invoice.objects.select_related(*HEADS)), pk=pk)


def _is_spent(shown: Invoice) -> bool:
    return shown.is_credit or bool(shown.is_credited)  # type: ignore[attr-defined]


def _too_late(request: HttpRequest, shown: Invoice) -> HttpResponse:
    return refuse(request, f"{shown.number} can't be credited (any more).", back=reverse("billing:invoice", args=[shown.pk]))


@role_required(Role.OWNER)
def credit(request: HttpRequest, pk: int) -> HttpResponse:
    shown = _load(pk)
    if _is_spent(shown) and request.method != "POST":
        return _too_late(request, shown)
    form = CreditForm(request.POST or None)
    answer = _credit(request, shown, form) if form.is_valid() else None
    account = account_of(shown)
    context = {"form": form, "invoice": shown, "job": shown.job, "rest": account.gross_minor - account.credited_minor}
    context["behind"] = day_is_behind(today())
    return answer or render(request, "billing/credit.html", context, status=form.status)


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


@role_required(Role.OWNER)
def credit_part(request: HttpRequest, pk: int) -> HttpResponse:
    """Chosen lines, each by a count or a sum; the job stays billed."""
    shown = _load(pk)
    if _is_spent(shown) and request.method != "POST":
        return _too_late(request, shown)
    form = _part_form(request, shown)
    answer = _credit_part(request, shown, form) if form.is_valid() else None
    context = {"form": form, "invoice": shown, "job": shown.job, "behind": day_is_behind(today())}
    return answer or render(request, "billing/credit_part.html", context, status=form.status)


def _part_form(request: HttpRequest, shown: Invoice) -> PartCreditForm:
    notes = shown.credit_notes.count()  # type: ignore[attr-defined]
    return PartCreditForm(request.POST or None, rests=rests_of(shown), currency=shown.currency, initial={"seen": notes})


def rests_of(invoice: Invoice) -> list[tuple[InvoiceLine, int]]:
    """The charged lines that still stand for something, each with how much as it was priced."""
    taken = taken_by(credited_of(invoice))
    charged = invoice.lines.filter(charged=True, amount_minor__gt=0)  # type: ignore[attr-defined]
    return [(line, rest) for line in charged if (rest := line.amount_minor - taken[line.pk]) > 0]


def _credit_part(request: HttpRequest, shown: Invoice, form: PartCreditForm) -> HttpResponse | None:
    person, typed = staff_of(request), form.cleaned_data
    made: list[Invoice] = []

    def work() -> str:
        made.append(credit_lines(shown, form.parts(), typed["reason"], person=person, at=now(), seen=typed["seen"]))
        return reverse("billing:invoice", args=[made[0].pk])

    try:
        where, done = acts.once(typed["once"], "credit invoice in part", work)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(shown.credit_notes.count())  # type: ignore[attr-defined]
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    sum_of = show(made[0].gross_minor, shown.currency) if made else ""
    return answer_once(request, where, done, f"{sum_of} of invoice {shown.number} credited. The job stays billed.")
