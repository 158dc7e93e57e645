"""What stands at which bench, and moving it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.benches import BenchForm, WaitForm
from jobs.models import Job, WaitsFor
from jobs.queries.benches import lanes
from jobs.services import stages
from jobs.views.job_frame import carry_out, load_job, press
from jobs.views.jobs import show_job
from shop.access import EVERYBODY, may, role_required
from shop.clock import now
from shop.models import Bench, Role
from shop.web.pages import Undo, back_to, next_address, tell, warn


@role_required(*EVERYBODY)
def benches(request: HttpRequest) -> HttpResponse:
    listed = lanes(now())
    context = {
        "lanes": listed,
        "total": sum(len(lane.tickets) for lane in listed),
        "may_move": may(request.user, Role.BENCH),
        "may_wait": may(request.user, Role.BENCH, Role.COUNTER),
        "may_promise": may(request.user, Role.COUNTER),
        "waiting": WaitsFor.choices,
    }
    return render(request, "jobs/benches.html", context)


@role_required(Role.BENCH)
@require_POST
def put_on_bench(request: HttpRequest, pk: int) -> HttpResponse:
    job, form = load_job(pk), BenchForm(request.POST)
    if not form.is_valid():
        warn(request, " ".join(str(words) for errors in form.errors.values() for words in errors))
        return back_to(request, "jobs:job", pk)
    bench, before = form.cleaned_data["bench"], job.bench
    if press(request, "put on bench", lambda: stages.put_on_bench(job, bench, at=now(), seen=form.cleaned_data["seen"])):
        said = f"Job {job.number} stands at {bench} now." if bench else f"Job {job.number} is off the benches."
        tell(request, said, _undo_move(request, job, before, bench))
    return back_to(request, "jobs:job", pk)


def _undo_move(request: HttpRequest, job: Job, before: Bench | None, bench: Bench | None) -> Undo | None:
    if before == bench or (before and not before.in_use):
        return None
    hidden: dict[str, str | int] = {
        "bench": before.pk if before else "",
        "seen": bench.pk if bench else 0,
        "next": next_address(request),
    }
    return Undo(reverse("jobs:put_on_bench", args=[job.pk]), "Undo", hidden)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def wait_for(request: HttpRequest, pk: int) -> HttpResponse:
    job, form = load_job(pk), WaitForm(request.POST, auto_id="wait_%s")
    before = {"waits_for": job.waits_for, "note": job.waits_note, "since": _iso(job)}

    def work() -> str:
        typed = form.cleaned_data
        stages.wait_for(job, typed["waits_for"], typed["note"], at=now(), seen=typed["seen"], since=typed["since"])
        return reverse("jobs:job", args=[pk])

    done = carry_out(form, "wait for", work) if form.is_valid() else None
    if done is None:
        fresh = load_job(pk)
        form.see(fresh.version)
        return show_job(request, fresh, wait_form=form, status=form.status)
    if done[1]:
        what = job.get_waits_for_display() if job.waits_for else "nothing"
        hidden: dict[str, str | int] = {**before, "seen": job.version, "next": next_address(request)}
        tell(request, f"Job {job.number} waits for {what}.", Undo(reverse("jobs:wait_for", args=[pk]), "Undo", hidden))
    return back_to(request, done[0])


def _iso(job: Job) -> str:
    return job.waits_since_at.isoformat() if job.waits_since_at else ""
