"""The lines of an order: finding what to order, changing and taking off while it is written; a rest afterwards."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.forms.order import (
    ExpectedForm,
    OrderLineChangeForm,
    OrderLineFields,
    OrderLineForm,
    WillNotComeForm,
    line_values,
    offered,
)
from inventory.models import Offer, Order, OrderLine, Part
from inventory.queries.on_order import with_received
from inventory.queries.orders import offers_of_supplier
from inventory.services import ordering, orders
from inventory.views.acting import Now, carry_out, edit
from inventory.views.orders import load, page_of_order
from inventory.views.parts import found_parts
from shop.access import role_required
from shop.clock import now
from shop.models import Role
from shop.web.pages import Undo, answer_once, go, warn
from shop.web.press import press, seen_in


def _asked(request: HttpRequest, name: str) -> int:
    text = request.GET.get(name, "")
    return int(text) if text.isdecimal() and len(text) < 19 else 0


@role_required(Role.BENCH, Role.COUNTER)
def order_line_add(request: HttpRequest, pk: int) -> HttpResponse:
    """`?offer=` or `?part=` is what to order; with neither the page asks which, and `?q=` looks for it."""
    one = load(pk)
    if not one.is_draft:
        warn(request, f"{one} was sent and stands as it is. Write what is missing on a new order.")
        return go(request, page_of_order(pk))
    if "offer" in request.GET:
        offer = get_object_or_404(Offer.objects.select_related("part"), pk=_asked(request, "offer"), supplier=one.supplier)
        if offer.part is None:
            warn(request, f"{offer.code} belongs to no part's card yet. Say which card it belongs to, then order it.")
            return go(request, f"{reverse('inventory:order_line_add', args=[pk])}?q={offer.code}")
        return _add(request, one, offer.part, offer)
    if "part" in request.GET:
        return _add(request, one, get_object_or_404(Part, pk=_asked(request, "part")), None)
    text = request.GET.get("q", "")[:80]
    offers = offers_of_supplier(one.supplier, text) if text.strip() else []
    context = {"order": one, "text": text, "offers": offers, "parts": found_parts(text)}
    return render(request, "inventory/order_line_which.html", context)


def _add(request: HttpRequest, one: Order, part: Part, offer: Offer | None) -> HttpResponse:
    start = offered(offer) if offer else {"text": part.title}
    form = OrderLineForm(request.POST or None, initial=start, order=one, part=part, offer=offer)

    def work() -> str:
        orders.add_line(one, form.draft_line())
        return page_of_order(one.pk)

    if form.is_bound and (done := carry_out(form, "add order line", work)):
        return answer_once(request, *done, said=f"{form.cleaned_data['text']} is on the order.")
    return _line_page(request, one, form, "Put it on the order")


def _line_page(
    request: HttpRequest, one: Order, form: OrderLineFields, act: str, line: OrderLine | None = None, stands: Now = None
) -> HttpResponse:
    context = {"order": one, "form": form, "act": act, "line": line, "now": stands, "part": form.part, "offer": form.offer}
    return render(request, "inventory/order_line.html", context, status=form.status)


def _line(pk: int) -> OrderLine:
    return get_object_or_404(OrderLine.objects.select_related("order__supplier", "part", "offer"), pk=pk)


@role_required(Role.BENCH, Role.COUNTER)
def order_line_change(request: HttpRequest, pk: int) -> HttpResponse:
    line = _line(pk)
    one = line.order
    if not one.is_draft:
        warn(request, f"{one} was sent and stands as it is. Write what is missing on a new order.")
        return go(request, page_of_order(one.pk))
    start = {**line_values(line), "seen": one.version}
    form = OrderLineChangeForm(request.POST or None, initial=start, order=one, part=line.part, offer=line.offer)

    def work() -> str:
        orders.change_line(line, form.draft_line(), seen=form.cleaned_data["seen"])
        return page_of_order(one.pk)

    done, stands = edit(form, "change order line", work, lambda: _reread(line))
    if done:
        return answer_once(request, *done, said=f"The line {form.cleaned_data['text']} is changed.")
    return _line_page(request, one, form, "Save the line", line, stands)


def _reread(line: OrderLine) -> tuple[int, dict[str, Any]]:
    """What the line says now; nothing where it was taken off meanwhile."""
    current = OrderLine.objects.select_related("offer").filter(pk=line.pk).first()
    return load(line.order_id).version, line_values(current) if current else {}


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def order_line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    line = OrderLine.objects.select_related("order").filter(pk=pk).first()
    if line is None:
        warn(request, "That line was taken off already.")
        return go(request, "inventory:orders")
    said = f"{line.text} is off the order."
    address = page_of_order(line.order_id)
    return press(request, "remove order line", lambda: orders.remove_line(line, seen=seen_in(request)), address, said)


@role_required(Role.BENCH, Role.COUNTER)
def order_line_drop(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(with_received(OrderLine.objects.select_related("order__supplier", "part")), pk=pk)
    start = {"count": ordering.open_count(line) or None, "seen": line.order.version}
    form = WillNotComeForm(request.POST or None, initial=start)

    def work() -> str:
        typed = form.cleaned_data
        ordering.will_not_come(line, typed["count"], reason=typed["reason"], at=now(), seen=typed["seen"])
        return page_of_order(line.order_id)

    done, stands = edit(form, "order line will not come", work, lambda: _rest_of(line))
    if done:
        said = f"{form.cleaned_data['count']} of {line.text} are no longer waited for."
        # What was given up before would be waited for again, too.
        undo = None if line.dropped_count else Undo(reverse("inventory:order_line_awaited", args=[pk]), "Wait for them again")
        return answer_once(request, *done, said=said, undo=undo)
    return _rest_page(request, line, form, "Will not come", "No longer wait for them", stands)


def _rest_of(line: OrderLine) -> tuple[int, dict[str, Any]]:
    current = with_received(OrderLine.objects.filter(pk=line.pk)).get()
    return load(line.order_id).version, {"count": ordering.open_count(current)}


def _rest_page(request: HttpRequest, line: OrderLine, form: Any, title: str, act: str, stands: Now) -> HttpResponse:
    context = {"order": line.order, "line": line, "form": form, "title": title, "act": act, "now": stands}
    return render(request, "inventory/order_line_rest.html", context, status=form.status)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def order_line_awaited(request: HttpRequest, pk: int) -> HttpResponse:
    line = _line(pk)
    said = f"{line.text} is waited for again."
    address = page_of_order(line.order_id)
    return press(request, "order line comes after all", lambda: ordering.comes_after_all(line, at=now()), address, said)


@role_required(Role.BENCH, Role.COUNTER)
def order_line_expected(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(with_received(OrderLine.objects.select_related("order__supplier", "part")), pk=pk)
    form = ExpectedForm(request.POST or None, initial={"expected_on": line.expected_on, "seen": line.order.version})

    def work() -> str:
        ordering.expect_on(line, form.cleaned_data["expected_on"], seen=form.cleaned_data["seen"])
        return page_of_order(line.order_id)

    done, stands = edit(form, "order line expected", work, lambda: _expected_of(line))
    if done:
        return answer_once(request, *done, said=f"{line.text} is expected on another day now.")
    return _rest_page(request, line, form, "Expected on another day", "Expect it then", stands)


def _expected_of(line: OrderLine) -> tuple[int, dict[str, Any]]:
    return load(line.order_id).version, {"expected_on": OrderLine.objects.get(pk=line.pk).expected_on}
