"""The shop's practices: how far a reading may lie from the value called for, by role and by the customer's goal."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.bench.practice import Suggestion
from jobs.forms.practices import PracticeChangeForm, PracticeForm, practice_values
from jobs.models import Goal, TolerancePractice
from jobs.queries.practices import open_suggestions, role_words
from jobs.services import practices as service
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.models import Role
from shop.web.pages import answer_once


@dataclass(frozen=True, slots=True)
class Line:
    """One practice as the list shows it."""

    practice: TolerancePractice
    role: str
    goal: str


@dataclass(frozen=True, slots=True)
class Usual:
    """A suggestion with the address that fills it into the form."""

    suggestion: Suggestion
    role: str
    goal: str
    address: str


def _goal(code: str) -> str:
    return Goal(code).label if code in Goal.values else "any goal"


def _usual(one: Suggestion) -> Usual:
    low, high = one.band
    query = f"role={one.role}&goal={one.goal}&below={-low}&above={high}"
    return Usual(one, role_words(one.role), _goal(one.goal), f"{reverse('jobs:practices')}?{query}#more")


def _taken_over(request: HttpRequest) -> dict[str, str]:
    """A suggestion chosen by its link; it stands in the form until somebody writes it down."""
    return {name: request.GET[name][:30] for name in ("role", "goal", "below", "above") if name in request.GET}


@role_required(Role.OWNER)
def practices(request: HttpRequest) -> HttpResponse:
    form = PracticeForm(request.POST or None, initial=_taken_over(request))
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "add practice", lambda: _add(form))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The practice is written down. Verdicts already given keep theirs.")
    lines = [Line(one, role_words(one.role), _goal(one.goal)) for one in TolerancePractice.objects.all()]
    context = {"form": form, "lines": lines, "usual": [_usual(one) for one in open_suggestions()]}
    return render(request, "jobs/practices.html", context, status=form.status)


def _add(form: PracticeForm) -> str:
    service.add_practice(form.facts())
    return reverse("jobs:practices")


@role_required(Role.OWNER)
def practice_change(request: HttpRequest, pk: int) -> HttpResponse:
    practice = get_object_or_404(TolerancePractice, pk=pk)
    form = PracticeChangeForm(request.POST or None, initial={**practice_values(practice), "seen": practice.version})
    context: dict[str, Any] = {
        "practice": practice,
        "form": form,
        "role": role_words(practice.role),
        "goal": _goal(practice.goal),
    }
    wanted = "take out practice" if "remove" in request.POST else "change practice"
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], wanted, lambda: _write(practice, form, "remove" in request.POST))
        except Stale as stale:
            form.take_refusal(stale)
            standing = TolerancePractice.objects.filter(pk=practice.pk).first()
            if standing is not None:
                context["now"] = standing_now(form, practice_values(standing))
                form.see(standing.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            said = "The practice is taken out." if "remove" in request.POST else "The practice is changed."
            return answer_once(request, *done, said=f"{said} Verdicts already given keep theirs.")
    return render(request, "jobs/practice_change.html", context, status=form.status)


def _write(practice: TolerancePractice, form: PracticeChangeForm, remove: bool) -> str:
    seen = form.cleaned_data["seen"]
    if remove:
        service.remove_practice(practice, seen=seen)
    else:
        service.change_practice(practice, form.facts(), seen=seen)
    return reverse("jobs:practices")
