"""A job's money on one page: what was agreed, deposits, what will be billed, the bills, what keeps the set here. And the bill."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.forms import GiveBackForm, TakeDepositForm
from billing.models import Invoice
from billing.queries import account_of, bill_lines, deposits_left_minor, standing_of, totals_of, with_account
from billing.queries.day import day_is_behind
from billing.queries.required import unmet_by
from billing.release import missing_for_hand_over
from billing.services import issue_invoice
from jobs.models import Job
from jobs.queries.exposure import exposure_of
from jobs.queries.sheet import sheet_of
from shop.access import may, role_required, staff_of
from shop.clock import now, today
from shop.models import Profile, Role
from shop.money import show
from shop.web.forms import TradeForm
from shop.web.pages import Confirmation, confirm, refuse
from shop.web.press import press, seen_in

HEADS = ("radio__model", "customer", "bench")


def load(pk: int) -> Job:
    return get_object_or_404(Job.objects.select_related(*HEADS), pk=pk)


@role_required(Role.COUNTER)
def job_money(request: HttpRequest, pk: int) -> HttpResponse:
    return show_page(request, load(pk))


def show_page(request: HttpRequest, job: Job, form: TradeForm | None = None) -> HttpResponse:
    """The page; `form` is a deposit form that was refused."""
    left = deposits_left_minor(job)
    context = {
        "job": job,
        **_preview(job, left),
        "deposits": job.deposits.select_related("person"),  # type: ignore[attr-defined]
        "deposits_left": left,
        "bills": _bills(job),
        "missing": missing_for_hand_over(job) if job.is_open else [],
        "take_form": form if isinstance(form, TakeDepositForm) else TakeDepositForm(),
        "back_form": form if isinstance(form, GiveBackForm) else GiveBackForm(initial={"amount": left or None}),
        "may_credit": may(request.user, Role.OWNER),
    }
    return render(request, "billing/job_money.html", context, status=form.status if form else 200)


def _preview(job: Job, deposits_left: int) -> dict[str, object]:
    profile = Profile.current()
    if profile is None:
        return {"lines": []}
    sheet = sheet_of(job)
    lines = bill_lines(job, profile, sheet.placed)
    exposure = exposure_of(job, profile, sheet)
    return {
        "lines": lines,
        "totals": totals_of(lines, profile, prepaid_minor=deposits_left),
        "exposure": exposure,
        "parts_minor": sheet.parts_minor,
    }


def _bills(job: Job) -> list[dict[str, Any]]:
    papers = with_account(Invoice.objects.filter(job=job).order_by("pk"))
    return [{"paper": one, "account": account_of(one), "standing": standing_of(one, today())} for one in papers]


@role_required(Role.COUNTER)
def issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Asked by a page first: an issued invoice never changes."""
    job = load(pk)
    if request.method != "POST":
        return _ask(request, job)
    person, seen = staff_of(request), seen_in(request)

    def work() -> None:
        issue_invoice(job, person=person, at=now(), seen=seen)

    address = reverse("billing:job_money", args=[pk])
    return press(request, "issue invoice", work, address, f"The invoice of job {job.number} is issued.")


def _ask(request: HttpRequest, job: Job) -> HttpResponse:
    profile = Profile.current()
    back = reverse("billing:job_money", args=[job.pk])
    lines = bill_lines(job, profile) if profile else []
    if not lines or profile is None:
        return refuse(request, "There is nothing to bill: all that was fitted and worked is on an invoice already.", back=back)
    totals = totals_of(lines, profile, prepaid_minor=deposits_left_minor(job))
    told = ("gross_minor", "prepaid_minor", "due_minor")
    gross, prepaid, due = (show(getattr(totals, name), profile.currency, profile.locale) for name in told)
    facts = [("Customer", job.customer.name), ("Set", str(job.radio)), ("Lines", str(len(lines))), ("Total with tax", gross)]
    facts += [("Deposit set off", prepaid), ("Due", due)]
    facts += [("Can't be issued yet" if one.refuses else "Caution", one.text) for one in unmet_by(job, profile, lines)]
    behind = day_is_behind(today())
    facts += [("Look at the clock", behind)] if behind else []
    asked = Confirmation(
        title=f"Issue the invoice of job {job.number}?",
        warning="A mistake is put right by a credit note only. The log and the labour of the job are closed with it.",
        act="Issue the invoice",
        url=reverse("billing:issue", args=[job.pk]),
        back=back,
        facts=facts,
        hidden={"seen": job.version},
    )
    return confirm(request, asked)
