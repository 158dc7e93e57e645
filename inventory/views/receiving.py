"""Parts come in: first which part, then how many, into which drawer, at what cost, from whom."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory import services
from inventory.forms.lot import LotFields, ReceiveForm, ReceiveNewForm
from inventory.models import Drawer, Part
from inventory.queries.drawers import codes
from inventory.services import Receipt
from inventory.views.acting import carry_out
from inventory.views.parts import found_parts
from shop.access import role_required, staff_of
from shop.clock import now, today
from shop.models import Role
from shop.web.pages import answer_once


@role_required(Role.BENCH, Role.COUNTER)
def receive(request: HttpRequest) -> HttpResponse:
    """`?part=` receives more of a part, `?new=1` one without a card; with neither the page asks which."""
    asked = request.GET.get("part", "")
    if asked:
        part = get_object_or_404(Part, pk=asked if asked.isdecimal() and len(asked) < 19 else 0)
        return _receive(request, part, ReceiveForm(request.POST or None, initial=_start(request, part)))
    if "new" in request.GET:
        return _receive(request, None, ReceiveNewForm(request.POST or None, initial=_start(request)))
    text = request.GET.get("q", "")[:80]
    return render(
        request, "inventory/receive_which.html", {"text": text, "found": found_parts(text), "delivery": _delivery(request)}
    )


def _delivery(request: HttpRequest) -> dict[str, str]:
    """What the parts of one delivery share, carried from lot to lot by the address."""
    return {name: request.GET[name][:20] for name in ("supplier", "received_on") if request.GET.get(name)}


def _start(request: HttpRequest, part: Part | None = None) -> dict[str, object]:
    """The drawer where the part lies, and the delivery the last lot came with."""
    start: dict[str, object] = {"received_on": today().isoformat(), **_delivery(request)}
    if part is None:
        return start | {"marking": request.GET.get("q", "")[:80]}
    drawer = Drawer.objects.filter(balances__lot__part=part, balances__on_hand__gt=0).order_by("-balances__lot_id").first()
    last = part.lots.order_by("-pk").first()  # type: ignore[attr-defined]
    usual = {"supplier": last.supplier_id, "condition": last.condition} if last else {}
    return {**usual, **start, "drawer": drawer}


def _receive(request: HttpRequest, part: Part | None, form: LotFields) -> HttpResponse:
    def work() -> str:
        into = form.cleaned_data["drawer"] or services.add_drawer(form.place())
        received = part or services.add_part(form.part_facts())  # type: ignore[attr-defined]
        lot = services.receive(_receipt(form, received, into), person=staff_of(request), at=now())
        return reverse("inventory:lot", args=[lot.pk])

    if form.is_bound and (done := carry_out(form, "receive parts", work)):
        return answer_once(request, *done, said=f"{form.cleaned_data['count']} received.")
    context = {
        "part": part,
        "form": form,
        "codes": codes(),
        "lot_fields": [form[name] for name in LotFields.base_fields if name in LOT_ORDER],
    }
    return render(request, "inventory/receive.html", context, status=form.status)


LOT_ORDER = ("count", "cost", "cost_for", "supplier", "condition", "date_code", "received_on", "note")


def _receipt(form: LotFields, part: Part, drawer: Drawer) -> Receipt:
    typed = form.cleaned_data
    return Receipt(
        part,
        drawer,
        typed["count"],
        form.unit_cost_milli(),
        typed["received_on"],
        supplier=typed["supplier"],
        date_code=typed["date_code"],
        condition=typed["condition"],
        note=typed["note"],
    )
