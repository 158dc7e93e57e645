"""Writing a lot down to what it would fetch, and back up."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory import services
from inventory.forms.valuing import WritedownForm
from inventory.models import Lot
from inventory.pricing import price_terms, priced_lot
from inventory.queries.realisable import used_above_half
from inventory.queries.valuing import LotValue, value_on
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import Role
from shop.web.pages import answer_once


@role_required(Role.OWNER)
def write_down(request: HttpRequest, pk: int) -> HttpResponse:
    lot = get_object_or_404(Lot.objects.select_related("part", "supplier"), pk=pk)
    back_up = {"unit": lot.unit_cost_milli} if "back" in request.GET else {}
    form = WritedownForm(request.POST or None, initial={"from_on": today(), "seen": services.writedown_seen(lot), **back_up})
    address = reverse("inventory:write_down", args=[pk])

    def work() -> str:
        services.write_down(lot, form.judged, seen=form.cleaned_data["seen"], person=staff_of(request), at=now())
        return address

    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "write lot down", work)
        except Stale as stale:
            form.take_refusal(stale)
            form.see(services.writedown_seen(lot))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            up = form.judged.unit_milli == lot.unit_cost_milli
            said = "The lot is valued at its cost again." if up else "The lot is written down."
            return answer_once(request, *done, said=said)
    return render(request, "inventory/write_down.html", _context(lot, form), status=form.status)


def _context(lot: Lot, form: WritedownForm) -> dict[str, Any]:
    value = next((one for one in value_on(today(), part=lot.part).lots if one.lot.pk == lot.pk), None)
    return {
        "lot": lot,
        "form": form,
        "value": value,
        "price": priced_lot(lot.part, lot, price_terms()),
        "history": lot.writedowns.select_related("person").order_by("-pk"),  # type: ignore[attr-defined]
        "suggestion": _suggestion(value),
    }


def _suggestion(value: LotValue | None) -> int | None:
    """Half of what an unused valve of its type cost, where this lot of used ones is valued above it."""
    if value is None or value.lot.part.kind != "valve":
        return None
    found = used_above_half([(value.lot, value.on_hand, value.taken_unit_milli)], today())
    return found[0].half_milli if found else None
