"""Deposits: taken before the bill, given back where no bill uses them."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from billing import services
from billing.forms import GiveBackForm, TakeDepositForm
from billing.views.job_money import load, show_page
from jobs.models import Job
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Role
from shop.web.forms import TradeForm
from shop.web.pages import answer_once


@role_required(Role.COUNTER)
@require_POST
def take_deposit(request: HttpRequest, pk: int) -> HttpResponse:
    job, person, form = load(pk), staff_of(request), TakeDepositForm(request.POST)

    def work() -> object:
        data = form.cleaned_data
        return services.take_deposit(job, data["deposit"], data["deposit_how"], person=person, at=now())

    return _answer(request, job, form, work, "The deposit is booked; the invoice will set it off.")


@role_required(Role.COUNTER)
@require_POST
def give_back_deposit(request: HttpRequest, pk: int) -> HttpResponse:
    job, person, form = load(pk), staff_of(request), GiveBackForm(request.POST)

    def work() -> object:
        data = form.cleaned_data
        return services.give_back_deposit(job, data["amount"], data["how"], person=person, at=now())

    return _answer(request, job, form, work, "The money given back is booked.")


def _answer(request: HttpRequest, job: Job, form: TradeForm, work: Callable[[], object], said: str) -> HttpResponse:
    if not form.is_valid():
        return show_page(request, job, form)
    address = reverse("billing:job_money", args=[job.pk])
    try:
        where, done = acts.once(form.cleaned_data["once"], "deposit", lambda: address if work() else "")
    except Refused as refused:
        form.take_refusal(refused)
        return show_page(request, job, form)
    return answer_once(request, where, done, said)
