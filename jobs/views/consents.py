"""The counter writes down what a customer answered: by telephone, in person, in writing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.forms.consents import ConsentForm
from jobs.models import Consent, Estimate
from jobs.models.estimate import ConsentAnswer, EstimateState
from jobs.queries.estimates import version_of
from jobs.queries.revisions import revision_of
from jobs.services.consents import Answer, record_answer
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Profile, Role, Staff
from shop.place import rules_of
from shop.web.pages import answer_once, go, warn


@role_required(Role.COUNTER)
def consent(request: HttpRequest, pk: int) -> HttpResponse:
    heads = ("job__radio__model", "job__customer")
    shown = get_object_or_404(Estimate.objects.select_related(*heads).prefetch_related("lines__position"), pk=pk)
    if request.method == "GET" and shown.state != EstimateState.SENT:
        warn(request, f"Version {shown.number} isn't with the customer, so there is no answer to write down.")
        return go(request, "jobs:estimate", shown.job_id)
    version = version_of(shown, now())
    data = request.POST if request.method == "POST" else None
    rules = rules_of(Profile.current())
    form = ConsentForm(data, rules=rules, choices=version.choices, initial=_initial(shown))
    answer = _record(request, shown, form) if request.method == "POST" else None
    context = {
        "form": form,
        "estimate": shown,
        "job": shown.job,
        "version": version,
        "revision": revision_of(shown),
        "rules": rules,
    }
    return answer or render(request, "jobs/consent.html", context, status=form.status)


def _initial(shown: Estimate) -> dict[str, object]:
    return {"digest": shown.digest, "who": shown.job.customer.name}


def _record(request: HttpRequest, shown: Estimate, form: ConsentForm) -> HttpResponse | None:
    if not form.is_valid():
        return None
    answer = _answer_in(form, staff_of(request))

    def work() -> str:
        record_answer(shown, answer, at=now(), digest=form.cleaned_data["digest"])
        return reverse("jobs:estimate", args=[shown.job_id])

    try:
        where, done = acts.once(form.cleaned_data["once"], "record answer", work)
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, _said(shown, answer))


def _answer_in(form: ConsentForm, person: Staff) -> Answer:
    data = form.cleaned_data
    return Answer(
        agreed=data["answer"] == ConsentAnswer.AGREED,
        how=data["how"],
        who=data["who"],
        number_called=data["number_called"],
        note=data["note"],
        person=person,
        answered_at=data["answered_at"],
        tier=data.get("tier") or 0,
        cancellation_told=data.get("cancellation_told", False),
        begin_at_once=data.get("begin_at_once", False),
    )


def _said(shown: Estimate, answer: Answer) -> str:
    if not answer.agreed:
        return f"Written down: {answer.who} declined version {shown.number}."
    newest: Consent = shown.consents.latest("pk")  # type: ignore[attr-defined]
    return f"Written down: {answer.who} agreed to {newest.to_what}."
