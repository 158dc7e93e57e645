"""The hand-over: the door locked by safety and money together, and the other door for a set that goes back unsafe."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from billing import release
from billing.forms import HandOverForm, UnsafeForm
from billing.views.job_money import load
from jobs.models import HandOver, Job
from jobs.queries.missing import proof_of
from jobs.queries.own_parts import unused_own_parts
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Role, Staff
from shop.web.forms import TradeForm
from shop.web.pages import answer_once

Release = Callable[..., HandOver]


@role_required(Role.COUNTER)
def hand_over(request: HttpRequest, pk: int) -> HttpResponse:
    job = load(pk)
    sent = _sent_form(request)
    if sent is not None and sent.is_valid():
        answer = _release(request, job, sent)
        if answer is not None:
            return answer
    initial = {"received_by": job.customer.name}
    context = {
        "job": job,
        "handed": HandOver.objects.filter(job=job).select_related("person").first(),
        "missing": release.missing_for_hand_over(job) if job.is_open else [],
        "unsafe_missing": release.missing_for_unsafe_return(job) if job.is_open else [],
        "proof": proof_of(job),
        "form": sent if isinstance(sent, HandOverForm) else HandOverForm(initial=initial, prefix="proven"),
        "unsafe": sent if isinstance(sent, UnsafeForm) else UnsafeForm(initial=initial, prefix="unsafe"),
        "sent": sent,
        "own_parts_left": unused_own_parts(job),
    }
    return render(request, "billing/hand_over.html", context, status=sent.status if sent else 200)


def _sent_form(request: HttpRequest) -> TradeForm | None:
    if request.method != "POST":
        return None
    return (
        UnsafeForm(request.POST, prefix="unsafe")
        if "unsafe-once" in request.POST
        else HandOverForm(request.POST, prefix="proven")
    )


def _release(request: HttpRequest, job: Job, form: TradeForm) -> HttpResponse | None:
    person = staff_of(request)
    door = _unsafe if isinstance(form, UnsafeForm) else _proven
    try:
        where, done = acts.once(form.cleaned_data["once"], "hand over", lambda: door(job, form, person))
    except Refused as refused:
        form.take_refusal(refused)
        return None
    said = f"{job.number} is handed over to {form.cleaned_data['received_by']}. Print the summary and the warranty record."
    return answer_once(request, where, done, said)


def _proven(job: Job, form: TradeForm, person: Staff) -> str:
    release.hand_over(job, release.Signature(form.cleaned_data["received_by"]), person=person, at=now())
    return reverse("jobs:warranty", args=[job.pk])


def _unsafe(job: Job, form: TradeForm, person: Staff) -> str:
    data = form.cleaned_data
    release.return_unsafe(job, release.Signature(data["received_by"], data["how_disabled"]), person=person, at=now())
    return reverse("billing:job_money", args=[job.pk])
