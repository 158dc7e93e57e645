"""A clock that was left running: by whom, since when, and what of it was really worked."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from jobs.forms.labour import EndClockForm
from jobs.models import Timer
from jobs.queries.benches import Running, running_of
from jobs.services import labour as services
from jobs.views.job_frame import carry_out, frame, load_job
from shop.access import may, role_required, staff_of
from shop.acts import Stale
from shop.clock import now
from shop.models import Role
from shop.web.pages import answer_once, next_address, refuse

GONE = "This clock was stopped already."


@role_required(Role.BENCH)
def clock_end(request: HttpRequest, pk: int) -> HttpResponse:
    """One's own clock, or as the owner anybody's: the time really worked is typed in, or nothing is logged."""
    clock = Timer.objects.select_related("person").filter(pk=pk).first()
    if clock is not None and clock.person_id != request.user.pk and not may(request.user):
        return refuse(request, f"This is the clock of {clock.person}. They stop it, or the owner does.", back=reverse("today"))
    running = running_of(clock, now()) if clock else None
    form = EndClockForm(request.POST or None, initial=_start(running))
    done = carry_out(form, "clock end", lambda: _end(request, clock, form)) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The clock is stopped. What was worked stands in the job's labour.")
    if clock is None or running is None:
        return refuse(request, GONE, back=reverse("today"))
    job = load_job(clock.job_id)
    return render(request, "jobs/clock_end.html", frame(request, job) | {"running": running, "form": form}, status=form.status)


def _start(running: Running | None) -> dict[str, object]:
    """Nobody worked through the night: only what ran today is proposed as it stands."""
    return {"minutes": max(running.minutes, 1)} if running and not running.over_night else {}


def _end(request: HttpRequest, clock: Timer | None, form: EndClockForm) -> str:
    if clock is None:
        raise Stale(GONE)
    typed, person = form.cleaned_data, staff_of(request)
    minutes = 0 if typed["nothing"] else typed["minutes"]
    services.end_clock(clock, minutes, person=person, at=now(), text=typed["text"], not_charged=typed["not_charged"])
    return next_address(request, reverse("jobs:labour", args=[clock.job_id]))
