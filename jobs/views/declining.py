"""A declined set: the fees that are due, what is put back, and the minimum bench fee of any job."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.models import Stage
from jobs.queries.declining import put_back_of
from jobs.services import declining
from jobs.services.log import profile
from jobs.views.job_frame import frame, load_job
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.clock import now
from shop.models import Role
from shop.web.press import press


@role_required(*EVERYBODY)
def declined(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    context = frame(request, job)
    context |= {
        "back": put_back_of(job, profile(), context["sheet"]),  # type: ignore[arg-type]
        "is_declined": job.stage == Stage.DECLINED,
        "may_act": may(request.user, Role.BENCH, Role.COUNTER) and job.stage == Stage.DECLINED,
        "is_closed": not job.is_open,
    }
    return render(request, "jobs/declined.html", context)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def book_fees(request: HttpRequest, pk: int) -> HttpResponse:
    job, person = load_job(pk), staff_of(request)
    said = "The fees are in the labour of the job, as they were agreed to at intake. The bill takes them from there."
    address = reverse("jobs:declined", args=[pk])
    return press(request, "book fees", lambda: declining.book_fees(job, person=person, at=now()), address, said)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def let_go(request: HttpRequest, pk: int) -> HttpResponse:
    job, address = load_job(pk), reverse("jobs:declined", args=[pk])
    said = "The held parts are free for other jobs; they never left their drawers."
    return press(request, "let go", lambda: declining.let_go(job, at=now()), address, said)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def book_minimum(request: HttpRequest, pk: int) -> HttpResponse:
    job, person, address = load_job(pk), staff_of(request), reverse("jobs:labour", args=[pk])
    said = "The labour is topped up to the minimum bench fee. Work logged later takes the place of what was added."
    return press(request, "book minimum", lambda: declining.book_minimum(job, person=person, at=now()), address, said)
