"""Labour of a job: the clock, typed time, flat tasks, corrections."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms import labour as forms
from jobs.forms.entries import Remembering
from jobs.models import Job, LabourEntry, Timer
from jobs.queries.counted import tasks_for
from jobs.queries.exposure import standing_labour
from jobs.queries.fees import fees_of
from jobs.services import labour as services
from jobs.services.labour import LONGEST_MINUTES, Work
from jobs.services.log import profile
from jobs.views.job_frame import carry_out, frame, load_job, press
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Stale
from shop.clock import now, today
from shop.models import Role
from shop.web.pages import Undo, answer_once, go, tell


@dataclass(frozen=True, slots=True)
class LabourTotal:
    """Time and money of one step or one person."""

    name: str
    minutes: int
    billed_minor: int


def totals(entries: Iterable[LabourEntry], name: Callable[[LabourEntry], str]) -> list[LabourTotal]:
    sums: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for entry in entries:
        sums[name(entry)][0] += entry.minutes
        sums[name(entry)][1] += entry.billed_minor
    return [LabourTotal(label, minutes, billed) for label, (minutes, billed) in sums.items()]


@role_required(*EVERYBODY)
def labour(request: HttpRequest, pk: int) -> HttpResponse:
    return show_labour(request, load_job(pk))


def show_labour(request: HttpRequest, job: Job, name: str = "", sent: Remembering | None = None) -> HttpResponse:
    standing = list(standing_labour(job))
    start = forms.new_entry(staff_of(request), today())
    made: dict[str, object] = {
        "start": forms.StartClockForm(auto_id="start_%s"),
        "stop": forms.StopClockForm(auto_id="stop_%s"),
        "time": forms.TimeForm(initial=start, auto_id="time_%s", job=job),
        "task": forms.TaskForm(initial=start, auto_id="task_%s", job=job),
    }
    if sent is not None:
        made[name] = sent
    context = frame(request, job) | {
        "entries": job.labour.select_related("worker", "person", "task", "corrected_by").order_by("pk"),
        "by_step": totals(standing, lambda entry: entry.get_step_display()),
        "by_person": totals(standing, lambda entry: str(entry.worker)),
        "total": LabourTotal("", sum(one.minutes for one in standing), sum(one.billed_minor for one in standing)),
        "other_clocks": job.timers.exclude(person=staff_of(request)).select_related("person"),
        "form_of": made,
        "stray": None,
        "any_task": tasks_for(job).exists(),
        "longest_minutes": LONGEST_MINUTES,
        "fees": fees_of(job, profile()),
        "may_book": job.is_open and not job.billed and may(request.user, Role.BENCH, Role.COUNTER),
    }
    clock = context["clock"]
    no_clock = name == "stop" and not (isinstance(clock, Timer) and clock.job_id == job.pk)
    if sent is not None and (no_clock or not context["at_bench"]):
        context["stray"] = sent
    return render(request, "jobs/labour.html", context, status=sent.status if sent else 200)


@role_required(Role.BENCH)
@require_POST
def labour_add(request: HttpRequest, pk: int, name: str) -> HttpResponse:
    """Log typed time or a flat task. What goes over the agreed sum is refused with everything typed kept."""
    job, logged = load_job(pk), list[LabourEntry]()
    form: forms.TimeForm | forms.TaskForm = forms.TimeForm(request.POST, auto_id="time_%s", job=job)
    if name != "time":
        form = forms.TaskForm(request.POST, auto_id="task_%s", job=job)

    def work() -> str:
        logged.append(services.log_work(job, form.work(), person=staff_of(request), at=now()))
        return reverse("jobs:labour", args=[pk])

    done = carry_out(form, f"labour {name}", work) if form.is_valid() else None
    if done is None:
        return show_labour(request, job, name, form)
    undo = _taking_back(logged[0]) if logged else None
    return answer_once(request, *done, said=f"Labour logged on job {job.number}.", undo=undo)


def _taking_back(entry: LabourEntry) -> Undo:
    return Undo(reverse("jobs:labour_withdraw", args=[entry.pk]), "Take it back", {"why": "undone right after it was logged"})


@role_required(Role.BENCH)
@require_POST
def clock_start(request: HttpRequest, pk: int) -> HttpResponse:
    job, person = load_job(pk), staff_of(request)
    step = request.POST.get("step", "")
    if press(request, "clock start", lambda: services.start_clock(job, step, person=person, at=now())):
        undo = Undo(reverse("jobs:clock_drop", args=[pk]), "Undo: log no time")
        tell(request, f"Your clock runs on job {job.number}.", undo)
    return go(request, "jobs:labour", pk)


@role_required(Role.BENCH)
@require_POST
def clock_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop one's own clock on this job and log its time."""
    job, person = load_job(pk), staff_of(request)
    form = forms.StopClockForm(request.POST, auto_id="stop_%s")

    def work() -> str:
        services.stop_clock(_own_clock(job, person.pk), person=person, at=now(), **_stop_words(form))
        return reverse("jobs:labour", args=[pk])

    done = carry_out(form, "clock stop", work) if form.is_valid() else None
    if done is None:
        return show_labour(request, job, "stop", form)
    return answer_once(request, *done, said=f"The clock is stopped and its time is logged on job {job.number}.")


def _own_clock(job: Job, person_pk: int) -> Timer:
    clock = Timer.objects.filter(job=job, person=person_pk).first()
    if clock is None:
        raise Stale("Your clock isn't running on this job any more.")
    return clock


def _stop_words(form: forms.StopClockForm) -> dict[str, str]:
    return {"text": form.cleaned_data["text"], "not_charged": form.cleaned_data["not_charged"]}


@role_required(Role.BENCH)
@require_POST
def clock_drop(request: HttpRequest, pk: int) -> HttpResponse:
    job, person = load_job(pk), staff_of(request)
    if press(request, "clock drop", lambda: services.drop_clock(_own_clock(job, person.pk))):
        tell(request, "The clock is dropped; no time was logged.")
    return go(request, "jobs:labour", pk)


def _correction_form(entry: LabourEntry, job: Job, data: object = None) -> forms.TimeForm | forms.TaskForm:
    if entry.task_id:
        return forms.TaskForm(data, initial=forms.as_typed(entry), job=job)
    return forms.TimeForm(data, initial=forms.as_typed(entry), job=job)  # type: ignore[arg-type]


@role_required(Role.BENCH)
def labour_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """A new entry in place of one that was wrong; the old one stays readable."""
    entry = get_object_or_404(LabourEntry.objects.select_related("worker", "task"), pk=pk)
    job = load_job(entry.job_id)
    form = _correction_form(entry, job, request.POST or None)

    def work() -> str:
        typed: Work = form.work()
        services.log_work(job, typed, person=staff_of(request), at=now(), corrects=entry)
        return reverse("jobs:labour", args=[job.pk])

    done = carry_out(form, "labour correct", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The entry is corrected; the old one stays readable.")
    return _entry_page(request, job, entry, form, "Correct a labour entry", "Write the correction")


@role_required(Role.BENCH)
def labour_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(LabourEntry.objects.select_related("worker", "task"), pk=pk)
    job, form = load_job(entry.job_id), forms.TakeBackForm(request.POST or None)

    def work() -> str:
        services.withdraw_work(entry, person=staff_of(request), at=now(), why=form.cleaned_data["why"])
        return reverse("jobs:labour", args=[job.pk])

    done = carry_out(form, "labour withdraw", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The entry is taken back; it stays readable and counts nothing.")
    return _entry_page(request, job, entry, form, "Take a labour entry back", "Take it back")


def _entry_page(request: HttpRequest, job: Job, entry: LabourEntry, form: Remembering, title: str, act: str) -> HttpResponse:
    context = frame(request, job) | {"entry": entry, "form": form, "title": title, "act": act}
    return render(request, "jobs/labour_entry.html", context, status=form.status)
