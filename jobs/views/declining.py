"""A declined set: the fees that are due, what is put back, and the minimum bench fee of any job."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.models import Stage
from jobs.queries import drawn
from jobs.queries.collection import uncollected
from jobs.queries.declining import put_back_of
from jobs.queries.putting_back import back_in_stock_minor, back_steps, declined_at, fee_rule
from jobs.services import declining
from jobs.services.log import profile
from jobs.services.stages import undoable
from jobs.views.job_frame import frame, load_job
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.clock import now, today
from shop.models import Role
from shop.place import rules_of
from shop.web.context import shop_currency
from shop.web.pdf import answer_with
from shop.web.press import press


@role_required(*EVERYBODY)
def declined(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    context = frame(request, job)
    since = declined_at(job)
    context |= {
        "steps": back_steps(context["sheet"], since, shop_currency()),  # type: ignore[arg-type]
        "since": since,
        "back_in_stock": back_in_stock_minor(context["sheet"]),  # type: ignore[arg-type]
        "fee_rule": fee_rule(rules_of(profile())),
        "waits": uncollected().filter(pk=pk).exists(),
        "last_act": undoable(job),
        "back": put_back_of(job, profile(), context["sheet"]),  # type: ignore[arg-type]
        "is_declined": job.stage == Stage.DECLINED,
        "may_act": may(request.user, Role.BENCH, Role.COUNTER) and job.stage == Stage.DECLINED,
        "is_closed": not job.is_open,
    }
    return render(request, "jobs/declined.html", context)


@role_required(Role.BENCH)
@require_POST
def is_back(request: HttpRequest, pk: int) -> HttpResponse:
    job, person, address = load_job(pk), staff_of(request), reverse("jobs:declined", args=[pk])
    said = f"Job {job.number} is back as it came. Print its closing paper, and tell the customer that it can be fetched."
    return press(request, "set is back", lambda: declining.is_back(job, person=person, at=now()), address, said)


@role_required(*EVERYBODY)
def put_back_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    return answer_with(lambda: drawn.put_back_list(pk, today()), back=reverse("jobs:declined", args=[pk]))


@role_required(*EVERYBODY)
def closing_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    return answer_with(lambda: drawn.closing_paper(pk, today()), back=reverse("jobs:declined", args=[pk]))


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
