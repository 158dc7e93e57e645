"""The alternatives of a draft: offered, named, taken away, and which line belongs to which."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_POST

from jobs.forms.alternatives import AlternativeForm, PlacesForm
from jobs.models import Alternative
from jobs.queries.alternatives import placeable
from jobs.queries.sheet import sheet_of
from jobs.services import estimates
from jobs.views.estimates import edit_draft, load_estimate, page_of
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.models import Role
from shop.web.pages import answer_once, go, tell, warn
from shop.web.press import press, seen_in


@role_required(Role.COUNTER)
@require_POST
def alternatives_offer(request: HttpRequest, pk: int) -> HttpResponse:
    shown, seen = load_estimate(pk), seen_in(request)
    said = "Three alternatives are offered. Put the lines into them: each holds all that the smaller ones hold."
    return press(request, "offer alternatives", lambda: estimates.offer(shown, seen=seen), page_of(shown), said)


@role_required(Role.COUNTER)
@require_POST
def alternative_add(request: HttpRequest, pk: int) -> HttpResponse:
    shown, form = load_estimate(pk), AlternativeForm(request.POST, auto_id="alternative_%s")

    def work() -> None:
        typed = form.cleaned_data
        estimates.add_alternative(shown, typed["name"], typed["text"], seen=typed["seen"])

    said = "The alternative is added as the largest. Put lines into it that the smaller ones don't hold."
    return edit_draft(request, shown, form, "add alternative", work, said)


@role_required(Role.COUNTER)
@require_POST
def alternatives_place(request: HttpRequest, pk: int) -> HttpResponse:
    shown = load_estimate(pk)
    lines = placeable(shown.lines.select_related("position"), sheet_of(shown.job))  # type: ignore[attr-defined]
    offered = list(shown.alternatives.all())  # type: ignore[attr-defined]
    form = PlacesForm(request.POST, lines=lines, alternatives=offered, auto_id="place_%s")

    def work() -> None:
        estimates.place(shown, form.places(), seen=form.cleaned_data["seen"])

    return edit_draft(request, shown, form, "place lines", work, "The lines are where you put them.")


@role_required(Role.COUNTER)
def alternative_change(request: HttpRequest, pk: int) -> HttpResponse:
    heads = ("estimate__job__radio__model", "estimate__job__customer")
    one = get_object_or_404(Alternative.objects.select_related(*heads), pk=pk)
    shown = one.estimate
    if not shown.is_draft:
        warn(request, f"Version {shown.number} was sent and is frozen. Draft a new version to change anything.")
        return go(request, page_of(shown))
    form = AlternativeForm(request.POST or None, initial={"name": one.name, "text": one.text, "seen": shown.version})
    context: dict[str, object] = {"form": form, "one": one, "estimate": shown, "job": shown.job}

    def work() -> str:
        typed = form.cleaned_data
        estimates.change_alternative(one, typed["name"], typed["text"], seen=typed["seen"])
        return page_of(shown)

    if form.is_valid():
        try:
            return answer_once(
                request, *acts.once(form.cleaned_data["once"], "change alternative", work), "The alternative is changed."
            )
        except Stale as stale:
            form.take_refusal(stale)
            one.refresh_from_db()
            shown.refresh_from_db()
            context["now"] = standing_now(form, {"name": one.name, "text": one.text})
            form.see(shown.version)
        except Refused as refused:
            form.take_refusal(refused)
    return render(request, "jobs/alternative_change.html", context, status=form.status)


@role_required(Role.COUNTER)
@require_POST
def alternative_remove(request: HttpRequest, pk: int) -> HttpResponse:
    one = Alternative.objects.select_related("estimate__job").filter(pk=pk).first()
    if one is None:
        warn(request, "That alternative was taken away already.")
        job = request.POST.get("job", "")
        return go(request, "jobs:estimate", int(job)) if job.isdecimal() and len(job) < 18 else go(request, "today")
    seen, heirs = seen_in(request), []
    answer = press(
        request,
        "remove alternative",
        lambda: heirs.append(estimates.remove_alternative(one, seen=seen)),
        page_of(one.estimate),
        f"“{one.name}” is no longer offered.",
    )
    if heirs:
        tell(request, f"Its lines are in “{heirs[0]}” now." if heirs[0] else "The estimate is answered as a whole again.")
    return answer
