"""The lines of the Today page about drawers, suppliers and money."""

from collections.abc import Sequence
from typing import Any

from django.urls import reverse

from billing.models import Invoice
from inventory.models import Lot, OrderLine, Part
from inventory.queries.on_order import being_ordered, on_order
from jobs.queries.wanted import SURE
from shop.views.day_lines import Desk, Line, ago, day_words, days
from shop.views.day_lists import is_untested
from shop.views.day_ways import Wish


def return_lines(lots: Sequence[Lot], desk: Desk) -> list[Line]:
    return [_return(lot, desk) for lot in lots]


def _return(lot: Any, desk: Desk) -> Line:
    left = (lot.return_until_on - desk.today).days
    untested, place = is_untested(lot), lot.places[0] if lot.places else None
    wishes = [Wish("Write the return", "inventory:send_back", (lot.pk, place.drawer_id))] if place else []
    if untested and lot.is_individual:
        wishes.append(Wish("Test it", "inventory:valve_test", (lot.pk,)))
    elif untested and place:
        wishes.append(Wish("Set apart and test", "inventory:set_apart", (lot.pk, place.drawer_id)))
    mark = ("warn", "Today is the last day" if left == 0 else f"{days(left)} left")
    lying = f"{lot.left} {'lies' if lot.left == 1 else 'lie'} {'untested' if untested else 'unused'}"
    where = f" in {place.drawer}" if place else ""
    words = f"{lying}{where}; {lot.supplier} takes them back until {day_words(lot.return_until_on)}"
    address = reverse("inventory:lot", args=[lot.pk])
    return Line("", address, head=lot.part.title, marks=(mark,), words=words, ways=desk.ways.of(wishes))


def low_lines(parts: Sequence[Part], desk: Desk) -> list[Line]:
    """With what is on its way and what stands on orders that aren't sent: only what is still short is on the buy list."""
    keys = [part.pk for part in parts]
    coming, drafted = on_order(keys), being_ordered(keys)
    return [_low(part, coming.get(part.pk, 0), drafted.get(part.pk, 0), desk) for part in parts]


def _low(part: Any, coming: int, drafted: int, desk: Desk) -> Line:
    words = f"{part.usable} free, {part.minimum} to be kept"
    words += f"; {coming} on the way" if coming else ""
    words += f"; {drafted} on an order that isn't sent" if drafted else ""
    covered = part.usable + coming + drafted >= part.minimum
    wish = (
        Wish("See the orders", "inventory:orders")
        if covered
        else Wish("Buy it", "shop:buy_list", place=f"#count-{SURE}-{part.pk}")
    )
    marks = (("wait", "Ordered"),) if covered else (("no", "None free"),) if part.usable <= 0 else (("warn", "Low"),)
    address = reverse("inventory:part", args=[part.pk])
    return Line("", address, head=part.title, marks=marks, words=words, ways=desk.ways.of([wish]))


def late_lines(lines: Sequence[OrderLine], desk: Desk) -> list[Line]:
    return [_late(one, desk) for one in lines]


def _late(one: Any, desk: Desk) -> Line:
    wishes = [
        Wish("Receive it", "inventory:order_receive", (one.order_id,)),
        Wish("Expect it on another day", "inventory:order_line_expected", (one.pk,)),
    ]
    late = (desk.today - one.expected_on).days
    words = f"expected {day_words(one.expected_on)} from {one.order.supplier}" + (f", for {one.for_what}" if one.for_what else "")
    address = reverse("inventory:order", args=[one.order_id])
    text, mark = f"{one.coming} of {one.text}", ("no", f"Late {days(late)}")
    return Line(text, address, head=one.order.number, marks=(mark,), words=words, ways=desk.ways.of(wishes))


def unpaid_lines(invoices: Sequence[Invoice], desk: Desk) -> list[Line]:
    return [_unpaid(one, desk) for one in invoices]


def _unpaid(one: Any, desk: Desk) -> Line:
    late = (desk.today - one.due_on).days
    mark = ("no", f"Past due {days(late)}") if late > 0 else ("wait", "Due today" if late == 0 else f"Due in {days(-late)}")
    text = f"{one.customer}, {desk.money(one.due, one.currency)}"
    words = f"issued {ago(one.issued_on, desk.today)}; due {day_words(one.due_on)}"
    ways = desk.ways.of([Wish("Take the payment", "billing:pay", (one.pk,))])
    return Line(text, reverse("billing:invoice", args=[one.pk]), head=one.number, marks=(mark,), words=words, ways=ways)
