"""What sets like this one came to: told before and at the estimate, as a range with its grounds, never as certainty."""

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.outlook import HoursForm
from jobs.models import Estimate, Job, Step
from jobs.queries.learned import SetOutlook, outlook_of
from jobs.queries.learned.outlook import StepOutlook
from jobs.queries.sheet import Sheet, sheet_of
from jobs.services import estimates
from jobs.services.estimates import LearntHours
from jobs.views.job_frame import carry_out, frame, load_job
from jobs.views.outlook_charts import past_chart, price_chart
from shop import acts
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Profile, Role
from shop.paper.wording import show_lasting
from shop.web.context import shop_profile
from shop.web.pages import Undo, answer_once, go, refuse, wants_fragment
from shop.web.saving import file_of, wants_file
from shop.web.saving import sheet_of as rows_of

MOST_NEEDED = 50
"""Percent of jobs that need a step, from which on it is ticked."""
MOST_HINTS = 5
COLUMNS = (
    ("Position", lambda one: one.row.position.designator),
    ("Role", lambda one: one.row.role_label),
    ("Called for", lambda one: one.row.called),
    ("A part goes in, %", lambda one: one.percent),
    ("Seen here", lambda one: round(one.reason.seen)),
    ("Replaced here", lambda one: round(one.reason.replaced)),
    ("Doubt that measuring takes away, %", lambda one: round(100 * one.worth.share) if one.worth else 0),
    ("Why", lambda one: one.reason.words),
)


@role_required(*EVERYBODY)
def outlook(request: HttpRequest, pk: int) -> HttpResponse:
    job, profile = load_job(pk), shop_profile(request) or Profile()
    sheet = sheet_of(job)
    found = outlook_of(job, sheet, profile, now())
    if wants_file(request):
        return file_of(request, rows_of(f"outlook-{job.number}", COLUMNS, found.open))
    return _page(request, job, sheet, found, profile)


def _page(
    request: HttpRequest, job: Job, sheet: Sheet, found: SetOutlook, profile: Profile, form: HoursForm | None = None
) -> HttpResponse:
    may_draft = may(request.user, Role.COUNTER) and job.is_open
    context = frame(request, job, sheet) | {
        "found": found,
        "outlook": found.outlook,
        "charts": (price_chart(found, profile), past_chart(found, job, profile)),
        "given": job.estimates.order_by("-number").first(),
        "form": (form or _form(found)) if may_draft else None,
    }
    return render(request, "jobs/outlook.html", context, status=form.status if form else 200)


def _form(found: SetOutlook, data: object = None) -> HoursForm:
    usual = [one.step for one in found.steps if one.often >= MOST_NEEDED]
    return HoursForm(data, offered=[(one.step, _said(one)) for one in found.steps], initial={"steps": usual})


def _said(one: StepOutlook) -> str:
    return f"{one.label}: {show_lasting(one.median)} to {show_lasting(one.high)}"


@role_required(Role.COUNTER)
@require_POST
def outlook_hours(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the learnt hours into the draft as typed lines of work."""
    job, profile = load_job(pk), shop_profile(request) or Profile()
    sheet = sheet_of(job)
    found = outlook_of(job, sheet, profile, now())
    form, made = _form(found, request.POST), list[int]()
    where = reverse("jobs:estimate", args=[pk])

    def work() -> str:
        hours = _hours(found.steps, form.cleaned_data["steps"])
        made.extend(line.pk for line in estimates.type_hours(job, hours, person=staff_of(request), at=now()))
        return where

    done = carry_out(form, "use learnt hours", work) if form.is_valid() else None
    if done is None:
        return _page(request, job, sheet, found, profile, form)
    undo = Undo(reverse("jobs:outlook_hours_off", args=[pk]), "Take them off again", {"lines": " ".join(map(str, made))})
    said = "The hours are typed into the draft, from the usual to what 8 in 10 jobs stay within. Change them as you judge."
    return answer_once(request, *done, said, undo)


def _hours(steps: Sequence[StepOutlook], wanted: Sequence[str]) -> list[LearntHours]:
    return [LearntHours(Step(one.step).label, one.median, max(one.high, one.median)) for one in steps if one.step in wanted]


@role_required(Role.COUNTER)
@require_POST
def outlook_hours_off(request: HttpRequest, pk: int) -> HttpResponse:
    job, where = get_object_or_404(Job, pk=pk), reverse("jobs:estimate", args=[pk])
    lines = [int(one) for one in request.POST.get("lines", "").split()[: len(Step)] if one.isdecimal() and len(one) < 18]

    def work() -> str:
        drafted = Estimate.objects.filter(job=job, state="draft").first()
        if drafted is None:
            raise Refused("This job has no draft any more. Draft a new version to change anything.")
        estimates.take_hours_off(drafted, lines)
        return where

    try:
        done = acts.once(request.POST.get("once"), "take learnt hours off", work)
    except Refused as refused:
        return refuse(request, refused.message, back=where)
    return answer_once(request, *done, "The hours are off the draft.")


@role_required(*EVERYBODY)
def measure_first(request: HttpRequest, pk: int) -> HttpResponse:
    """A piece for the sheet: where a minute at the meter tells most about the price. Asked for as a page, it is the outlook."""
    if not wants_fragment(request):
        return go(request, "jobs:outlook", pk)
    job = load_job(pk)
    found = outlook_of(job, sheet_of(job), shop_profile(request) or Profile(), now())
    return render(request, "jobs/_measure_first.html", {"job": job, "first": found.worth_measuring[:MOST_HINTS]})
