"""What proves a set: second look, electrical safety, soak."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.bench.safety import DEFERENCE, PRACTICES
from jobs.forms.proving import EndSoakForm, SafetyForm, SecondLookForm
from jobs.models import Job, SafetyCheck, Stage
from jobs.queries.jobs import cautions_of
from jobs.queries.missing import proof_missing, proof_of, soak_missing, soak_since_change
from jobs.queries.safety_paper import practice_of
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import Sheet, sheet_of
from jobs.services import proving
from jobs.views.job_frame import carry_out, frame, load_job, press
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Stale
from shop.clock import now
from shop.models import Role
from shop.web.context import shop_profile
from shop.web.pages import answer_once, go, tell


@role_required(*EVERYBODY)
def second_look(request: HttpRequest, pk: int) -> HttpResponse:
    return _show_second_look(request, load_job(pk))


def _show_second_look(request: HttpRequest, job: Job, sent: SecondLookForm | None = None) -> HttpResponse:
    sheet = sheet_of(job)
    points = second_look_points(sheet)
    proof = proof_of(job, sheet)
    context = frame(request, job, sheet) | {
        "blocking": [point for point in points if point.blocks],
        "open_points": [point for point in points if not point.blocks],
        "form": sent or SecondLookForm(points=points, initial={"seen": job.log_seq}),
        "ticked": sent.data.getlist("accepted") if sent and isinstance(sent.data, QueryDict) else [],
        "looks": [
            (look, look.log_seq >= proof.last_change_seq) for look in job.second_looks.select_related("person").order_by("-pk")
        ],
        "proof": proof,
        "is_time": job.stage == Stage.PROVING,
        "cautions": cautions_of(job, sheet),
    }
    return render(request, "jobs/second_look.html", context, status=sent.status if sent else 200)


@role_required(Role.BENCH)
@require_POST
def second_look_sign(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    form = SecondLookForm(request.POST, points=second_look_points(sheet_of(job)))

    def work() -> str:
        typed = form.cleaned_data
        proving.sign_second_look(
            job, typed.get("accepted", []), person=staff_of(request), at=now(), note=typed["note"], seen=typed["seen"]
        )
        return reverse("jobs:second_look", args=[pk])

    done = carry_out(form, "second look", work) if form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said=f"The second look at job {job.number} is signed. Next comes the safety check.")
    fresh = load_job(pk)
    form.see(fresh.log_seq)
    return _show_second_look(request, fresh, form)


def _practice(request: HttpRequest) -> str:
    return practice_of(shop_profile(request)).code


@dataclass(frozen=True, slots=True)
class CheckMade:
    """A check that was recorded, and whether it still holds for the circuit as it is now."""

    check: SafetyCheck
    label: str
    holds: bool


def _checks(job: Job, sheet: Sheet) -> list[CheckMade]:
    made = job.safety_checks.select_related("person").prefetch_related("readings").order_by("-pk")
    return [CheckMade(one, _label(one.practice), one.log_seq >= sheet.last_change_seq) for one in made]


def _label(practice: str) -> str:
    return PRACTICES[practice].label if practice in PRACTICES else practice


@role_required(*EVERYBODY)
def safety(request: HttpRequest, pk: int) -> HttpResponse:
    return _show_safety(request, load_job(pk), request.GET.get("earthed") == "yes")


def _show_safety(request: HttpRequest, job: Job, earthed: bool, sent: SafetyForm | None = None) -> HttpResponse:
    sheet = sheet_of(job)
    practice = _practice(request)
    context = frame(request, job, sheet) | {
        "practice": PRACTICES[practice],
        "earthed": earthed,
        "form": sent or SafetyForm(practice=practice, earthed=earthed),
        "checks": _checks(job, sheet),
        "cautions": cautions_of(job, sheet),
        "deference": DEFERENCE,
        "is_time": job.stage in (Stage.REPAIRING, Stage.PROVING, Stage.SOAKING, Stage.READY),
    }
    return render(request, "jobs/safety.html", context, status=sent.status if sent else 200)


@role_required(Role.BENCH)
@require_POST
def safety_record(request: HttpRequest, pk: int) -> HttpResponse:
    job, practice, earthed = load_job(pk), _practice(request), request.POST.get("earthed") == "yes"
    form = SafetyForm(request.POST, practice=practice, earthed=earthed)
    made: list[SafetyCheck] = []

    def work() -> str:
        typed = form.cleaned_data
        if request.POST.get("practice") != practice:
            raise Stale("The shop's safety practice was changed since you opened this page. Take the readings it asks for now.")
        made.append(
            proving.record_safety_check(
                job,
                practice,
                form.readings(),
                isolating_transformer=typed["isolating_transformer"],
                earthed=earthed,
                instrument=typed["instrument"],
                person=staff_of(request),
                at=now(),
            )
        )
        return reverse("jobs:safety", args=[pk])

    done = carry_out(form, "safety check", work) if form.is_valid() else None
    if done is None:
        return _show_safety(request, load_job(pk), earthed, form)
    passed = bool(made) and made[0].passed
    said = (
        "The safety check is recorded: passed."
        if passed
        else "The safety check is recorded: NOT passed. What failed is listed below."
    )
    return answer_once(request, *done, said=said)


@role_required(*EVERYBODY)
def soak(request: HttpRequest, pk: int) -> HttpResponse:
    return _show_soak(request, load_job(pk))


def _show_soak(request: HttpRequest, job: Job, sent: EndSoakForm | None = None) -> HttpResponse:
    sheet = sheet_of(job)
    runs = list(job.soaks.select_related("started_by").order_by("-pk"))
    running = next((run for run in runs if run.ended_at is None), None)
    counting = soak_since_change(job, sheet)
    terms = shop_profile(request)
    context = frame(request, job, sheet) | {
        "runs": [(run, run in counting) for run in runs],
        "running": running,
        "running_minutes": max(int((now() - running.started_at).total_seconds() // 60), 0) if running else 0,
        "done_minutes": sum(run.minutes for run in counting),
        "wanted_minutes": (terms.soak_hours if terms else 0) * 60,
        "may_start": running is None and job.stage in (Stage.PROVING, Stage.SOAKING),
        "missing": proof_missing(job) if job.stage == Stage.PROVING else soak_missing(job) if job.stage == Stage.SOAKING else [],
        "form": sent or EndSoakForm(),
        "cautions": cautions_of(job, sheet),
    }
    return render(request, "jobs/soak.html", context, status=sent.status if sent else 200)


@role_required(Role.BENCH)
@require_POST
def soak_start(request: HttpRequest, pk: int) -> HttpResponse:
    job, person = load_job(pk), staff_of(request)
    if press(request, "soak start", lambda: proving.start_soak(job, person=person, at=now())):
        tell(request, f"The soak of job {job.number} runs.")
    return go(request, "jobs:soak", pk)


@role_required(Role.BENCH)
@require_POST
def soak_end(request: HttpRequest, pk: int) -> HttpResponse:
    job, form = load_job(pk), EndSoakForm(request.POST)

    def work() -> str:
        run = job.soaks.filter(ended_at__isnull=True).first()
        if run is None:
            raise Stale("This soak was ended already.")
        proving.end_soak(run, passed=form.cleaned_data["result"], at=now(), note=form.cleaned_data["note"])
        return reverse("jobs:soak", args=[pk])

    done = carry_out(form, "soak end", work) if form.is_valid() else None
    if done is None:
        return _show_soak(request, job, form)
    return answer_once(request, *done, said=f"The soak of job {job.number} is ended.")
