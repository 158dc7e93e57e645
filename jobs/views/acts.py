"""Acts on a job that have a button: named acts and their undoing, notes on the set as a whole."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.entries import JobNoteForm
from jobs.models import Job, JobAct, LogEntry
from jobs.services import log, proving, stages
from jobs.services.log import Author
from jobs.views.job_frame import carry_out, load_job, press
from jobs.views.jobs import show_job
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Role, Staff
from shop.web.pages import Undo, answer_once, go, tell


@role_required(Role.BENCH)
@require_POST
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """Do the named act that `code` says."""
    job, person, code = load_job(pk), staff_of(request), request.POST.get("code", "")
    if press(request, f"act {code}" if code in stages.ACTS else "act", lambda: _perform(job, code, person)):
        done = stages.undoable(job)
        undo = Undo(reverse("jobs:undo", args=[pk]), "Undo", {"act": done.pk}) if done is not None and done.act == code else None
        tell(request, f"{stages.ACTS[code].label}: job {job.number} is now at “{job.get_stage_display()}”.", undo)
    return go(request, "jobs:soak" if code == "start_soak" and job.soaks.exists() else "jobs:job", pk)


def _perform(job: Job, code: str, person: Staff) -> None:
    if code not in stages.BY_BUTTON:
        raise Refused("This act has a page of its own. The job page shows which act comes next.")
    if code == "start_soak":
        proving.start_soak(job, person=person, at=now())
    else:
        stages.perform(job, code, person=person, at=now())


@role_required(Role.BENCH)
@require_POST
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    job, person = load_job(pk), staff_of(request)
    number = request.POST.get("act", "")
    done = get_object_or_404(JobAct, pk=number if number.isdecimal() and len(number) < 19 else 0, job=job)
    if press(request, "undo", lambda: stages.undo(job, done, person=person, at=now())):
        tell(request, f"Undone: job {job.number} is back at “{job.get_stage_display()}”.")
    return go(request, "jobs:job", pk)


@role_required(*EVERYBODY)
@require_POST
def job_note(request: HttpRequest, pk: int) -> HttpResponse:
    """A note on the set as a whole by anybody; a wiring finding by the bench."""
    job, form, person = load_job(pk), JobNoteForm(request.POST, auto_id="note_%s"), staff_of(request)
    written: list[LogEntry] = []

    def work() -> str:
        author = Author(person, now())
        if form.cleaned_data["kind"] == "wiring":
            if not may(person, Role.BENCH):
                raise Refused("What is wired otherwise is written by the bench. Enter it as a note.", field="kind")
            written.append(log.record_wiring(job, form.cleaned_data["text"], author))
        else:
            written.append(log.record_note(job, form.cleaned_data["text"], author))
        return reverse("jobs:change_log", args=[pk]) + "#set"

    done = carry_out(form, "job note", work) if form.is_valid() else None
    if done is None:
        return show_job(request, load_job(pk), note_form=form, status=form.status)
    undo = Undo(reverse("jobs:set_entry_withdraw", args=[pk]), "Take it back", {"entry": written[0].pk}) if written else None
    return answer_once(request, *done, said=f"Written into the log of job {job.number}.", undo=undo)


@role_required(*EVERYBODY)
@require_POST
def set_entry_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a note or wiring finding that belongs to the set as a whole."""
    job, person = load_job(pk), staff_of(request)
    number = request.POST.get("entry", "")
    entry = get_object_or_404(job.entries, pk=number if number.isdecimal() and len(number) < 19 else 0, position=None)

    def work() -> None:
        if entry.person_id != person.pk and not may(person, Role.BENCH):
            raise Stale("An entry is taken back by who wrote it, or by the bench.")
        log.withdraw(entry, Author(person, now()))

    if press(request, "withdraw set entry", work):
        tell(request, f"Entry no. {entry.seq} is taken back; it stays readable in the log.")
    return go(request, reverse("jobs:change_log", args=[pk]) + "#set")
