"""Receiving on an order: all its lines on one page, in part or in full."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.forms.order_receipt import OrderReceiptForm
from inventory.models import Condition, Drawer, Order
from inventory.queries.drawers import codes
from inventory.queries.exchange import exchanged, whole
from inventory.queries.orders import LineStanding, OrderStanding
from inventory.services.order_receipts import receive_on_order
from inventory.views.acting import edit, terms
from inventory.views.orders import load, page_of_order, standing
from shop.access import role_required, staff_of
from shop.clock import now, today
from shop.models import Role
from shop.web.pages import answer_once, go, warn


@role_required(Role.BENCH, Role.COUNTER)
def order_receive(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    known = standing(request, one)
    if one.number == "":
        warn(request, "Nothing can come in on an order that was not sent.")
        return go(request, page_of_order(pk))
    form = _form(request, one, known)

    def work() -> str:
        receive_on_order(
            one,
            form.arrived(),
            received_on=form.cleaned_data["received_on"],
            person=staff_of(request),
            at=now(),
            carriage_minor=form.carriage_minor(),
            seen=form.cleaned_data["seen"],
        )
        return page_of_order(pk)

    done, stands = edit(form, "receive on order", work, lambda: (load(pk).version, {}))
    if done:
        return answer_once(request, *done, said=_said(form))
    if stands is not None:  # what is open has changed with what the other one received
        form.lines = standing(request, load(pk)).lines
    context = {"order": one, "standing": known, "form": form, "codes": codes()}
    return render(request, "inventory/order_receive.html", context, status=form.status)


def _said(form: OrderReceiptForm) -> str:
    pieces = sum(one.count for one in form.arrived())
    return f"{pieces} received. What came by mistake is sent back or scrapped from its lot."


def _form(request: HttpRequest, one: Order, known: OrderStanding) -> OrderReceiptForm:
    ours = terms(request).currency
    carriage = None if known.came else whole(exchanged(one.carriage_minor, one.currency, ours, one.exchange_ppm)) or None
    start: dict[str, Any] = {"received_on": today().isoformat(), "carriage": carriage, "seen": one.version}
    places = _places(known)
    for line in known.lines:
        start |= _start_of(line, one, ours, places.get(line.line.part_id))
    return OrderReceiptForm(request.POST or None, initial=start, lines=known.lines, currency=ours)


def _places(known: OrderStanding) -> dict[int, Drawer]:
    """Where each of these parts lies now, the newest lot's drawer."""
    parts = {line.line.part_id for line in known.lines}
    there = Drawer.objects.filter(balances__lot__part__in=parts, balances__on_hand__gt=0)
    rows = there.order_by("balances__lot_id").values_list("balances__lot__part_id", "pk")
    newest = dict(rows)
    drawers = Drawer.objects.in_bulk(set(newest.values()))
    return {part: drawers[pk] for part, pk in newest.items()}


def _start_of(line: LineStanding, one: Order, ours: str, drawer: Drawer | None) -> dict[str, Any]:
    pk = line.line.pk
    cost = whole(exchanged(line.line.unit_milli, one.currency, ours, one.exchange_ppm))
    return {f"unit_cost_{pk}": cost, f"drawer_{pk}": drawer, f"condition_{pk}": Condition.NEW}
