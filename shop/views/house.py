"""Benches, the markup ladder and flat tasks."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.models import Kind
from inventory.pricing import ABOVE_PERCENT, EVERY_KIND, Steps, marked_up, price_terms, rung_percent
from jobs.models import FlatTask, Job, PricedBy, SetClass, Step
from jobs.models.job import OPEN_STAGES
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.forms.house import BenchChangeForm, BenchForm, FlatTaskChangeForm, FlatTaskForm, LadderForm, bench_values
from shop.forms.seen import seen_of
from shop.models import Bench, Role
from shop.money import amount, minor_digits
from shop.profile import add_bench, bench_seen, change_bench, ladder_seen, save_ladder
from shop.search_text import fold
from shop.tabular import Sheet
from shop.web.context import shop_currency
from shop.web.pages import answer_once
from shop.web.saving import Columns, file_of, sheet_of, wants_file

EXAMPLE_UNITS = (0.05, 0.5, 2, 10, 50, 200)


@role_required(Role.OWNER)
def bench_list(request: HttpRequest) -> HttpResponse:
    """The benches, and the form for one more."""
    form = BenchForm(request.POST or None)
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "add bench", lambda: _add_bench(form))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The bench is there.")
    here = Bench.objects.annotate(job_count=Count("jobs", filter=Q(jobs__stage__in=OPEN_STAGES)))
    return render(request, "shop/bench_list.html", {"form": form, "benches": here}, status=form.status)


def _add_bench(form: BenchForm) -> str:
    add_bench(form.bench_facts())
    return reverse("shop:benches")


@role_required(Role.OWNER)
def bench_change(request: HttpRequest, pk: int) -> HttpResponse:
    bench = get_object_or_404(Bench, pk=pk)
    form = BenchChangeForm(request.POST or None, initial={**bench_values(bench), "seen": bench_seen(bench)})
    context: dict[str, Any] = {"bench": bench, "form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change bench", lambda: _change_bench(bench, form))
        except Stale as stale:
            form.take_refusal(stale)
            bench.refresh_from_db()
            context["now"] = standing_now(form, bench_values(bench))
            form.see(bench_seen(bench))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The bench is changed.")
    return render(request, "shop/bench_change.html", context, status=form.status)


def _change_bench(bench: Bench, form: BenchChangeForm) -> str:
    in_use = form.cleaned_data["in_use"]
    changed = change_bench(bench, form.bench_facts(in_use), seen=form.cleaned_data["seen"])
    there = Job.objects.filter(bench=changed, stage__in=OPEN_STAGES).first()
    if there is not None and not in_use:
        raise Refused(f"Job {there} stands on this bench. Move it to another place first.", field="in_use")
    return reverse("shop:benches")


@dataclass(frozen=True, slots=True)
class Example:
    """What a part of this cost sells for on the ladder as it stands."""

    cost_minor: int
    percent: int
    price_minor: int


def examples(rungs: Steps, one_unit_minor: int) -> list[Example]:
    """Usual costs, and both sides of every rung: just above one, a dearer part may sell for less than a cheaper one."""
    costs = (
        {round(units * one_unit_minor) for units in EXAMPLE_UNITS} | {cost for cost, _ in rungs} | {cost + 1 for cost, _ in rungs}
    )
    return [
        Example(cost, rung_percent(Fraction(cost), rungs), marked_up(Fraction(cost), rungs)) for cost in sorted(costs) if cost
    ]


@role_required(Role.OWNER)
def markup(request: HttpRequest) -> HttpResponse:
    """One ladder: that of all kinds of part, or a kind's own (`?kind=valve`)."""
    currency, terms = shop_currency(), price_terms()
    kind = request.GET.get("kind", EVERY_KIND)
    if kind not in (EVERY_KIND, *Kind.values):
        raise Http404
    rungs = terms.steps_for(kind)
    form = LadderForm(request.POST or None, rungs=rungs, currency=currency, initial={"seen": ladder_seen(kind)})
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "save ladder", lambda: _save_ladder(form, kind))
        except Stale as stale:
            form.take_refusal(stale)
            form.see(ladder_seen(kind))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(
                request, *done, said="The ladder is saved. Parts fitted already keep the price they were fitted at."
            )
    context = {
        "form": form,
        "kind": kind,
        "kind_label": Kind(kind).label if kind else "",
        "kinds": [(code, label, code in terms.ladders) for code, label in Kind.choices],
        "own": kind in terms.ladders,
        "above_percent": ABOVE_PERCENT,
        "examples": examples(rungs, _one_unit(currency)),
    }
    return render(request, "shop/markup.html", context, status=form.status)


def _save_ladder(form: LadderForm, kind: str) -> str:
    save_ladder(form.typed_rungs(), seen=form.cleaned_data["seen"], part_kind=kind)
    return reverse("shop:markup") + (f"?kind={kind}" if kind else "")


def _one_unit(currency: str) -> int:
    return int(10 ** minor_digits(currency))


@role_required(Role.OWNER)
def flat_tasks(request: HttpRequest) -> HttpResponse:
    """Work at a fixed price, and the form for one more."""
    form = FlatTaskForm(request.POST or None, **_task_choices())
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "add flat task", lambda: _save_task(FlatTask(), form))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The task is written down.")
    tasks = FlatTask.objects.select_related("set_class").order_by("-in_use", "name")
    if wants_file(request):
        return file_of(request, _tasks_sheet(tasks, shop_currency()))
    return render(request, "shop/flat_tasks.html", {"form": form, "tasks": tasks}, status=form.status)


def _tasks_sheet(tasks: "QuerySet[FlatTask]", currency: str) -> Sheet:
    columns: Columns = (
        ("Task", lambda one: one.name),
        ("Step", lambda one: one.get_step_display()),
        ("For", lambda one: one.set_class),
        ("Priced by", lambda one: one.get_priced_by_display()),
        ("Price", lambda one: amount(one.price_minor, currency)),
        ("Currency", lambda one: currency),
        ("In use", lambda one: one.in_use),
    )
    return sheet_of("flat-tasks", columns, tasks)


@role_required(Role.OWNER)
def flat_task_change(request: HttpRequest, pk: int) -> HttpResponse:
    task = get_object_or_404(FlatTask, pk=pk)
    initial = {**_task_values(task), "seen": _task_seen(task)}
    form = FlatTaskChangeForm(request.POST or None, **_task_choices(task.set_class_id), initial=initial)
    context: dict[str, Any] = {"task": task, "form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change flat task", lambda: _change_task(task, form))
        except Stale as stale:
            form.take_refusal(stale)
            task.refresh_from_db()
            context["now"] = standing_now(form, _task_values(task))
            form.see(_task_seen(task))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The task is changed. What was logged or agreed to keeps its price.")
    return render(request, "shop/flat_task_change.html", context, status=form.status)


def _task_choices(also: int | None = None) -> dict[str, Any]:
    """What a task's form chooses from; `also` is a class that the task has, in use or not."""
    return {"steps": Step.choices, "ways": PricedBy.choices, "classes": SetClass.objects.filter(Q(in_use=True) | Q(pk=also))}


def _task_values(task: FlatTask) -> dict[str, Any]:
    return {
        "name": task.name,
        "step": task.step,
        "price": task.price_minor,
        "priced_by": task.priced_by,
        "set_class": task.set_class_id,
        "in_use": task.in_use,
    }


def _task_seen(task: FlatTask) -> int:
    return seen_of(_task_values(task).values())


def _change_task(task: FlatTask, form: FlatTaskChangeForm) -> str:
    current = FlatTask.objects.select_for_update().get(pk=task.pk)
    if _task_seen(current) != form.cleaned_data["seen"]:
        raise Stale("Somebody else changed this task since you opened it. Compare, then send again.")
    return _save_task(current, form)


def _save_task(task: FlatTask, form: FlatTaskForm) -> str:
    typed = form.cleaned_data
    if any(fold(known.name) == fold(typed["name"]) and known.pk != task.pk for known in FlatTask.objects.all()):
        raise Refused(f"There is a task called {typed['name']} already.", field="name")
    task.name, task.step, task.price_minor = typed["name"], typed["step"], typed["price"]
    task.priced_by, task.set_class = typed["priced_by"] or PricedBy.JOB, typed["set_class"]
    task.in_use = typed.get("in_use", True)
    task.save()
    return reverse("shop:flat_tasks")
