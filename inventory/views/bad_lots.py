"""A lot turned out bad: one form from the lot's page. The bad lot's own page, with the sets it is in, is of the higher app."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.forms.bad_lots import BadLotForm, LiftForm
from inventory.models import BadLot, Lot
from inventory.queries.bad_lots import found_together, lying_of, open_bad, suspects_of
from inventory.services import bad_lots
from inventory.views.acting import carry_out, edit
from shop.access import role_required, staff_of
from shop.clock import now
from shop.models import Role
from shop.web.pages import Undo, answer_once, go, refuse

BY_MISTAKE = "it was found bad by mistake"


def page_of_bad(pk: int) -> str:
    return reverse("jobs:bad_lot", args=[pk])


@role_required(Role.BENCH)
def bad_lot_new(request: HttpRequest, pk: int) -> HttpResponse:
    """`?job=` names the job whose part showed it; a lot that was found bad already leads to its page."""
    lot = get_object_or_404(Lot.objects.select_related("part", "supplier"), pk=pk)
    known = open_bad(lot)
    if known is not None and request.method != "POST":
        return go(request, page_of_bad(known.pk))
    suspects = suspects_of(lot)
    form = BadLotForm(request.POST or None, initial={"reference": request.GET.get("job", "")[:60]}, suspects=suspects)

    def work() -> str:
        bad = bad_lots.find_bad(lot, form.finding(), also=form.also_bad(), person=staff_of(request), at=now())
        return page_of_bad(bad.pk)

    if form.is_bound and (done := carry_out(form, "find lot bad", work)):
        return _found(request, lot, done)
    context = {"lot": lot, "form": form, "lying": lying_of([lot]), "suspects": suspects}
    return render(request, "inventory/bad_lot_new.html", context, status=form.status)


def _found(request: HttpRequest, lot: Lot, done: tuple[str, bool]) -> HttpResponse:
    bad = open_bad(lot)
    undo = Undo(reverse("inventory:bad_lot_lift", args=[bad.pk]), "Take it back", _undoing(bad)) if bad else None
    return answer_once(request, *done, said="Nothing of it is fitted any more. Look below at the sets it is in.", undo=undo)


def _undoing(bad: BadLot) -> dict[str, str | int]:
    return {"why": BY_MISTAKE, "seen": _seen(bad)}


def _seen(bad: BadLot) -> int:
    return max(one.version for one in found_together(bad))


@role_required(Role.BENCH)
def bad_lot_lift(request: HttpRequest, pk: int) -> HttpResponse:
    bad = get_object_or_404(BadLot.objects.select_related("lot__part", "person"), pk=pk)
    if bad.lifted_at and request.method != "POST":
        return refuse(request, "This was lifted already.", back=page_of_bad(pk))
    form = LiftForm(request.POST or None, initial={"seen": _seen(bad)})

    def work() -> str:
        bad_lots.lift(bad, form.cleaned_data["why"], person=staff_of(request), at=now(), seen=form.cleaned_data["seen"])
        return page_of_bad(pk)

    done, _ = edit(form, "lift bad lot", work, lambda: (_seen(bad), {})) if form.is_bound else (None, None)
    if done:
        undo = Undo(reverse("inventory:bad_lot_new", args=[bad.lot_id]), "It is bad all the same", _found_as(bad))
        return answer_once(
            request, *done, said="The lot may be fitted again. Letters that went out stay written down.", undo=undo
        )
    context = {"bad": bad, "together": found_together(bad), "form": form, "back": page_of_bad(pk)}
    return render(request, "inventory/bad_lot_lift.html", context, status=form.status)


def _found_as(bad: BadLot) -> dict[str, str | int]:
    return {name: getattr(bad, name) for name in ("why", "danger", "advice", "reference")}
