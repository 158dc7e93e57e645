"""What the customer brought for their set: taking it into a drawer, what became of it, giving the rest back."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory import services as stock
from inventory.forms.lot import LotFields
from inventory.forms.own_part import GiveBackForm, NotGivenForm, OwnPartForm, OwnPartNewForm
from inventory.models import Drawer, Lot, Movement, Part
from inventory.queries.drawers import codes
from inventory.queries.parts import parts_matching
from jobs.models import Job
from jobs.queries.own_parts import own_lots
from jobs.services import own_parts as services
from jobs.views.job_frame import carry_out, frame, load_job
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Role
from shop.web.forms import TradeForm
from shop.web.pages import Undo, answer_once

MOST_FOUND = 12
LARGEST_KEY = 2**63 - 1


@role_required(Role.BENCH, Role.COUNTER)
def own_parts(request: HttpRequest, pk: int) -> HttpResponse:
    """`?part=` takes in more of a card, `?new=1` a part without one; with neither the page asks which."""
    return _show(request, load_job(pk))


def _show(request: HttpRequest, job: Job, giving: TradeForm | None = None) -> HttpResponse:
    text = request.GET.get("q", "")[:80]
    context = frame(request, job) | {
        "lots": [(one, _give_back_forms(one)) for one in own_lots(job)],
        "giving": giving,
        "text": text,
        "found": parts_matching(text).order_by("-in_use", "kind", "value_si", "pk")[:MOST_FOUND] if text.strip() else [],
    }
    return render(request, "jobs/own_parts.html", context, status=giving.status if giving else 200)


def _give_back_forms(one: Any) -> list[tuple[Any, GiveBackForm]]:
    """A form for each drawer where some of it is free."""
    made = []
    for line in one.lying:
        start = {"lot": line.lot_id, "drawer": line.drawer_id, "count": line.free}
        made.append((line, GiveBackForm(initial=start, auto_id=f"back_{line.pk}_%s")))
    return made


@role_required(Role.BENCH, Role.COUNTER)
def own_part_new(request: HttpRequest, pk: int) -> HttpResponse:
    job, asked = load_job(pk), request.GET.get("part", "")
    part = get_object_or_404(Part, pk=asked if asked.isdecimal() and len(asked) < 19 else 0) if asked else None
    start: dict[str, object] = {} if part else {"marking": request.GET.get("q", "")[:80]}
    form = (OwnPartForm if part else OwnPartNewForm)(request.POST or None, initial=start)

    def work() -> str:
        services.bring(job, _brought(form, part), person=staff_of(request), at=now())
        return reverse("jobs:own_parts", args=[pk])

    if form.is_valid() and (done := carry_out(form, "bring own part", work)):
        return answer_once(request, *done, said=f"Taken in: {form.cleaned_data['count']} of {job.customer}'s own.")
    context = frame(request, job) | {"part": part, "form": form, "codes": codes()}
    return render(request, "jobs/own_part_new.html", context, status=form.status)


def _brought(form: LotFields, part: Part | None) -> services.Brought:
    typed = form.cleaned_data
    drawer = typed["drawer"] or stock.add_drawer(form.place())
    known = part or stock.add_part(form.part_facts())  # type: ignore[attr-defined]
    return services.Brought(known, drawer, typed["count"], typed["condition"], typed["date_code"], typed["note"])


@require_POST
@role_required(Role.BENCH, Role.COUNTER)
def own_part_back(request: HttpRequest, pk: int) -> HttpResponse:
    job, form = load_job(pk), GiveBackForm(request.POST)
    given: list[Movement] = []

    def work() -> str:
        lot, drawer = _named(form)
        given.append(services.give_back(job, lot, drawer, form.cleaned_data["count"], person=staff_of(request), at=now()))
        return reverse("jobs:own_parts", args=[pk])

    done = carry_out(form, "give own part back", work) if form.is_valid() else None
    if done is None:
        return _show(request, job, form)
    undo = Undo(reverse("jobs:own_part_kept", args=[pk]), "It is still here", {"movement": given[0].pk}) if given else None
    return answer_once(request, *done, said=f"Given back to {job.customer}.", undo=undo)


def _named(form: TradeForm) -> tuple[Lot, Drawer]:
    lot = Lot.objects.filter(pk=min(form.cleaned_data["lot"], LARGEST_KEY)).first()
    drawer = Drawer.objects.filter(pk=min(form.cleaned_data["drawer"], LARGEST_KEY)).first()
    if lot is None or drawer is None:
        raise Refused("That part isn't on the list. Load the page again.")
    return lot, drawer


@require_POST
@role_required(Role.BENCH, Role.COUNTER)
def own_part_kept(request: HttpRequest, pk: int) -> HttpResponse:
    """Undoes a giving back."""
    job, form = load_job(pk), NotGivenForm(request.POST)
    if not form.is_valid():
        return _show(request, job, form)
    found = Movement.objects.select_related("lot", "drawer").filter(pk=min(form.cleaned_data["movement"], LARGEST_KEY)).first()
    if found is None:
        raise Http404

    def work() -> str:
        services.not_given_back(job, found, person=staff_of(request), at=now())
        return reverse("jobs:own_parts", args=[pk])

    done = carry_out(form, "keep own part", work)
    return answer_once(request, *done, said="It lies where it lay before.") if done else _show(request, job, form)
