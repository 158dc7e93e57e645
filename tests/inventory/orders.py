"""One of each for tests of orders: an offer, an order in writing, one that was sent, what came on it, a bill for it."""

from datetime import datetime
from typing import Any

from inventory.models import Lot, Offer, Order, OrderLine, Part, Supplier, SupplierBill
from inventory.services.order_receipts import ArrivedLine, receive_on_order
from inventory.services.ordering import send_order
from inventory.services.orders import OrderDraftLine, draft_order
from inventory.services.supplier_bills import BillFacts, BillLineFacts, add_bill
from shop.clock import now
from shop.models import Staff
from shop.search_text import fold
from tests.builders import a_drawer, a_part, a_staff, a_supplier


def supplied_by(name: str = "Ferrule & Daughters", **terms: Any) -> Supplier:
    """A supplier with terms: `carriage_minor=500`, `currency="EUR"`, …"""
    supplier = a_supplier(name)
    for field, value in terms.items():
        setattr(supplier, field, value)
    supplier.save()
    return supplier


def an_offer(part: Part | None = None, supplier: Supplier | None = None, code: str = "FD-473", **more: Any) -> Offer:
    """Film capacitors in packs of ten: 0.30 each, from a hundred 0.225."""
    whose = supplier or a_supplier()
    usual = {"breaks": [[1, 30_000], [100, 22_500]], "unit_milli": 30_000, "pack_size": 10, "least_count": 10}
    facts = {"currency": whose.currency or "GBP", "text": "film 47 nF", **usual, **more}
    return Offer.objects.create(supplier=whose, code=code, part=part or a_part(), search=fold(f"{code} {facts['text']}"), **facts)


def draft_line(part: Part | None = None, count: int = 10, unit_milli: int = 20_500, **more: Any) -> OrderDraftLine:
    return OrderDraftLine(part=part or a_part(), count=count, unit_milli=unit_milli, **more)


def a_draft(*lines: OrderDraftLine, supplier: Supplier | None = None, person: Staff | None = None) -> Order:
    return draft_order(supplier or a_supplier(), lines or (draft_line(),), person=person or a_staff(), at=now())


def a_sent_order(*lines: OrderDraftLine, supplier: Supplier | None = None, at: datetime | None = None) -> Order:
    return send_order(a_draft(*lines, supplier=supplier), person=a_staff(), at=at or now())


def line_of(order: Order, place: int = 0) -> OrderLine:
    return list(order.lines.select_related("order", "part"))[place]  # type: ignore[attr-defined, no-any-return]


def arrive(line: OrderLine, count: int, unit_cost_milli: int = 20_500, carriage_minor: int = 0, **more: Any) -> Lot:
    arrived = ArrivedLine(line, count, a_drawer(), unit_cost_milli, **more)
    done = receive_on_order(
        line.order, [arrived], received_on=now().date(), person=a_staff(), at=now(), carriage_minor=carriage_minor
    )
    return done[0]


def a_bill(line: OrderLine, count: int, unit_milli: int | None = None, number: str = "R 1207", **more: Any) -> SupplierBill:
    """A bill for one line, its printed sum right unless given."""
    unit = line.unit_milli if unit_milli is None else unit_milli
    carriage = more.pop("carriage_minor", 0)
    net = more.pop("net_minor", (2 * count * unit + 1000) // 2000 + carriage)
    facts = BillFacts(number, now().date(), line.order.currency, net, carriage_minor=carriage, **more)
    return add_bill(line.order.supplier, facts, [BillLineFacts(line.text, count, unit, line)], person=a_staff(), at=now())
