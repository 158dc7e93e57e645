"""The shop's practices: how far a reading may lie from the value called for, by role and by the customer's goal."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from jobs.bench.practice import Suggestion
from jobs.forms.practices import PracticeChangeForm, PracticeForm, PracticeRemoveForm, practice_values
from jobs.models import Goal, TolerancePractice
from jobs.queries.practices import open_suggestions, role_words
from jobs.services import practices as service
from jobs.views.job_frame import carry_out
from shop.access import role_required
from shop.acts import Stale
from shop.forms.compare import standing_now
from shop.models import Role
from shop.web.pages import answer_once, refuse

GONE = "Somebody took this practice out. Readings at its role are judged by the next wider one."


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
    query = urlencode({"role": one.role, "goal": one.goal, "below": str(-low), "above": str(high), "why": one.why})
    return Usual(one, role_words(one.role), _goal(one.goal), f"{reverse('jobs:practices')}?{query}#more")


def _taken_over(request: HttpRequest) -> dict[str, str]:
    """A suggestion chosen by its link; it stands in the form until somebody writes it down."""
    return {name: request.GET[name][:200] for name in ("role", "goal", "below", "above", "why") if name in request.GET}


@role_required(Role.OWNER)
def practices(request: HttpRequest) -> HttpResponse:
    form = PracticeForm(request.POST or None, initial=_taken_over(request))
    done = carry_out(form, "add practice", lambda: _add(form)) if form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The practice is written down. Verdicts already given keep theirs.")
    lines = [Line(one, role_words(one.role), _goal(one.goal)) for one in TolerancePractice.objects.all()]
    context = {"form": form, "lines": lines, "usual": [_usual(one) for one in open_suggestions()]}
    return render(request, "jobs/practices.html", context, status=form.status)


def _add(form: PracticeForm) -> str:
    service.add_practice(form.facts())
    return reverse("jobs:practices")


@role_required(Role.OWNER)
def practice_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a practice, or take it out."""
    practice = TolerancePractice.objects.filter(pk=pk).first()
    if practice is None:
        return _gone(request)
    if "remove" in request.POST:
        return _remove(request, practice)
    form = PracticeChangeForm(request.POST or None, initial={**practice_values(practice), "seen": practice.version})
    done = carry_out(form, "change practice", lambda: _change(practice, form)) if form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The practice is changed. Verdicts already given keep theirs.")
    return _page(request, pk, form)


def _change(practice: TolerancePractice, form: PracticeChangeForm) -> str:
    service.change_practice(practice, form.facts(), seen=form.cleaned_data["seen"])
    return reverse("jobs:practices")


def _remove(request: HttpRequest, practice: TolerancePractice) -> HttpResponse:
    sent = PracticeRemoveForm(request.POST)
    done = carry_out(sent, "take out practice", lambda: _take_out(practice, sent)) if sent.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The practice is taken out. Verdicts already given keep theirs.")
    form = PracticeChangeForm(initial={**practice_values(practice), "seen": practice.version})
    return _page(request, practice.pk, form, refused=sent)


def _take_out(practice: TolerancePractice, sent: PracticeRemoveForm) -> str:
    service.remove_practice(practice, seen=sent.cleaned_data["seen"])
    return reverse("jobs:practices")


def _page(request: HttpRequest, pk: int, form: PracticeForm, refused: PracticeRemoveForm | None = None) -> HttpResponse:
    """The practice as it stands now, with what was typed beside it."""
    standing = TolerancePractice.objects.filter(pk=pk).first()
    if standing is None:
        return _gone(request)
    context = {
        "practice": standing,
        "form": form,
        "refused": refused,
        "role": role_words(standing.role),
        "goal": _goal(standing.goal),
    }
    if form.is_bound and str(form.data.get("seen", "")) != str(standing.version):
        context["now"] = standing_now(form, practice_values(standing))
        form.see(standing.version)  # type: ignore[attr-defined]
    return render(request, "jobs/practice_change.html", context, status=refused.status if refused else form.status)


def _gone(request: HttpRequest) -> HttpResponse:
    """A form that was sent twice is told so, as the first sending may be what took the practice out."""
    sent = PracticeRemoveForm(request.POST or None)
    done = carry_out(sent, "take out practice", _say_gone) if sent.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="")
    if request.method != "POST":
        raise Http404
    return refuse(request, GONE, back=reverse("jobs:practices"))


def _say_gone() -> str:
    raise Stale(GONE)
