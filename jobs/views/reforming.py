"""Reforming: the runs, one run with its readings and plot, and every act on it."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.models import Kind, Lot
from jobs.bench.leakage import USUAL_RULE
from jobs.bench.reforming import CAUTION
from jobs.exports import reformings_sheet
from jobs.forms.reforming import EndForm, ReadingForm, StartForm, WithdrawReadingForm
from jobs.models import Position, Reforming, ReformReading
from jobs.queries import reforming as readers
from jobs.queries.reforming import Run, can_be_reformed, marking_of, open_run_of, run_of
from jobs.queries.sheet import position_state
from jobs.services import reforming as writers
from jobs.views.job_frame import carry_out
from jobs.views.position import load_position
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Stale
from shop.clock import now
from shop.models import Role
from shop.paper.charts import Chart, Level, Series
from shop.web.pages import answer_once, go, page_of, refuse
from shop.web.saving import file_of, wants_file


@role_required(*EVERYBODY)
def reformings(request: HttpRequest) -> HttpResponse:
    if wants_file(request):
        return file_of(request, reformings_sheet())
    page = page_of(request, readers.runs(is_open=False))
    context = {
        "open_runs": [_with_readings(run) for run in readers.runs(is_open=True)],
        "page": page,
        "ended": [_with_readings(run) for run in page.object_list],
        "caution": CAUTION,
    }
    return render(request, "jobs/reforming_list.html", context)


def _with_readings(run: Reforming) -> Run:
    return Run(run, list(run.readings.all()))  # type: ignore[attr-defined]


@role_required(Role.BENCH)
def reform_position(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin a run on the capacitor of a position; an open one is shown instead."""
    place = load_position(pk)
    state = position_state(place)
    address = reverse("jobs:position", args=[pk])
    if not can_be_reformed(state):
        return refuse(request, f"{place.designator} is no electrolytic, so there is nothing to reform.", back=address)
    running = open_run_of(place)
    if running is not None and request.method != "POST":
        return go(request, "jobs:reforming", running.pk)
    form = StartForm(request.POST or None, initial={"marking": marking_of(state), "rule": USUAL_RULE})
    return _start(request, form, place, f"{place.designator} of job {place.job.number}", address)


@role_required(Role.BENCH)
def reform_lot(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin a run on a capacitor out of a drawer."""
    lot = get_object_or_404(Lot.objects.select_related("part"), pk=pk)
    address = reverse("inventory:lot", args=[pk])
    if lot.part.kind != Kind.CAPACITOR or not lot.part.polarised:
        return refuse(request, f"{lot.part.title} is no electrolytic, so there is nothing to reform.", back=address)
    form = StartForm(request.POST or None, initial={"marking": lot.part.marking, "rule": USUAL_RULE})
    return _start(request, form, lot, f"one of lot {lot.pk}", address)


def _start(request: HttpRequest, form: StartForm, of: Position | Lot, name: str, back: str) -> HttpResponse:
    def work() -> str:
        typed = form.cleaned_data
        setup = writers.Setup(typed["marking"], typed["series"], typed["rule"], typed["note"])
        run = writers.start(of, setup, person=staff_of(request), at=now())
        return reverse("jobs:reforming", args=[run.pk])

    done = carry_out(form, "start reforming", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The run is open. Write the first reading when the voltage is on.")
    context = {"form": form, "name": name, "back": back, "caution": CAUTION}
    return render(request, "jobs/reforming_new.html", context, status=form.status)


def _load(pk: int) -> Run:
    found = Reforming.objects.select_related("position__job__radio__model", "lot__part", "started_by", "ended_by")
    return run_of(get_object_or_404(found, pk=pk))


@role_required(*EVERYBODY)
def reforming(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, _load(pk))


def _show(request: HttpRequest, run: Run, **sent: Any) -> HttpResponse:
    """The run; a refused form stands in its place with everything typed."""
    form = next(iter(sent.values()), None)
    if form is not None:
        form.see(run.reforming.version)
    correcting = _correcting(request, run)
    seen = {"seen": run.reforming.version}
    first: dict[str, object] = dict(seen)
    if correcting is not None:
        first |= {"corrects": correcting.pk, "volts": f"{correcting.volts:g} V", "leak": f"{correcting.leak_amps * 1000:g} mA"}
        first |= {"note": correcting.note}
    context = {
        "run": run,
        "charts": charts(run),
        "correcting": correcting,
        "reading_form": sent.get("reading") or ReadingForm(initial=first),
        "end_form": sent.get("end") or EndForm(initial=seen, auto_id="end_%s"),
        "withdraw_form": sent.get("withdraw"),
        "may_write": run.reforming.ended_at is None and may(request.user, Role.BENCH),
        "stray": form if run.reforming.ended_at is not None else None,
        "caution": CAUTION,
    }
    return render(request, "jobs/reforming.html", context, status=form.status if form is not None else 200)


def _correcting(request: HttpRequest, run: Run) -> ReformReading | None:
    wanted = request.GET.get("correct", "")
    return next((line.reading for line in run.lines if str(line.reading.pk) == wanted and line.can_change), None)


def charts(run: Run) -> list[Chart]:
    """Volts and leakage over time: two plots, since their scales have nothing in common."""
    volts = tuple((float(one.minutes), float(one.volts)) for one in run.taken)
    leaks = tuple((float(one.minutes), float(one.amps) * 1000) for one in run.taken)
    limit = float(run.advice.limit.amps) * 1000
    minutes, rated = "minutes since the start", Level("rated", run.reforming.rated_volts)
    return [
        Chart("Leakage while it forms", minutes, "leakage in mA", (Series("leakage", leaks),), (Level("limit", limit),)),
        Chart("Voltage across it", minutes, "volts", (Series("volts", volts),), (rated,)),
    ]


def _act(request: HttpRequest, pk: int, name: str, form: Any, act: str, work: Callable[[Run], str]) -> HttpResponse:
    """Carry one act out on the run; refused, the page comes back with what was typed."""
    run = _load(pk)
    if request.method != "POST":
        return go(request, "jobs:reforming", pk)
    address = reverse("jobs:reforming", args=[pk])
    said: list[str] = []

    def once() -> str:
        said.append(work(run))
        return address

    done = carry_out(form, act, once) if form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said=said[0] if said else "")
    return _show(request, _load(pk), **{name: form})


@role_required(Role.BENCH)
def reforming_reading(request: HttpRequest, pk: int) -> HttpResponse:
    form = ReadingForm(request.POST)

    def work(run: Run) -> str:
        typed = form.cleaned_data
        reading = writers.add_reading(
            run.reforming,
            writers.Typed(typed["volts"], typed["leak"], typed["note"]),
            person=staff_of(request),
            at=now(),
            seen=typed["seen"],
            corrects=_named(run, typed["corrects"]) if typed["corrects"] else None,
        )
        return f"Written: {reading}."

    return _act(request, pk, "reading", form, "reform reading", work)


def _named(run: Run, pk: int) -> ReformReading:
    found = next((line.reading for line in run.lines if line.reading.pk == pk), None)
    if found is None:
        raise Stale("That reading isn't one of this run's. Choose it in the table below.")
    return found


@role_required(Role.BENCH)
def reforming_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    form = WithdrawReadingForm(request.POST)

    def work(run: Run) -> str:
        typed = form.cleaned_data
        reading = _named(run, typed["reading"])
        writers.withdraw_reading(run.reforming, reading, person=staff_of(request), at=now(), why=typed["why"], seen=typed["seen"])
        return f"Taken back: {reading}."

    return _act(request, pk, "withdraw", form, "take a reform reading back", work)


@role_required(Role.BENCH)
def reforming_end(request: HttpRequest, pk: int) -> HttpResponse:
    form = EndForm(request.POST, auto_id="end_%s")

    def work(run: Run) -> str:
        typed = form.cleaned_data
        ended = writers.end(
            run.reforming, typed["outcome"], person=staff_of(request), at=now(), note=typed["note"], seen=typed["seen"]
        )
        return f"The run is ended: {ended.get_outcome_display()}."

    return _act(request, pk, "end", form, "end reforming", work)
