"""Orders that came in wholly, with their bills: what the lying lots were bought by."""

from random import Random
from typing import Any

from inventory.models import Order, OrderLine, SupplierBill, SupplierBillLine
from tests.speed.twenty_years.bulk import Store, columns
from tests.speed.twenty_years.days import TEXTS, moment
from tests.speed.twenty_years.stays import A_DAY, Numbers
from tests.speed.twenty_years.stock import LyingLots

LINES = 5


def group_by_order(lots: LyingLots, orders: int) -> list[list[int]]:
    """Places of lots that came with one order: neighbours in time from the same supplier."""
    waiting: dict[int, list[int]] = {}
    found: list[list[int]] = []
    for place, supplier in enumerate(lots.suppliers.tolist()):
        together = waiting.setdefault(supplier, [])
        together.append(place)
        if len(together) == LINES:
            found.append(together)
            waiting[supplier] = []
    step = max(len(found) // max(orders, 1), 1)
    return found[::step][:orders]


def write_orders(
    store: Store, lots: LyingLots, groups: list[list[int]], numbers: Numbers, person: int, rng: Random
) -> dict[int, int]:
    """Keys of order lines by the place of the lot that came in on them."""
    came, sent = lots.came.tolist(), []
    for group in groups:
        sent.append((min(came[place] for place in group) - rng.randrange(2, 12) * A_DAY, group))
    sent.sort()
    of_lots: dict[int, int] = {}
    for (at, group), key in zip(sent, store.keys(Order, len(sent)), strict=True):
        lines = dict(zip(group, store.keys(OrderLine, len(group)), strict=True))
        of_lots |= lines
        last = max(came[place] for place in group)
        _write_order(store, key, lots, group, numbers.give("B", at // A_DAY)[0], at, last, person)
        _write_lines(store, key, lots, lines)
        _write_bill(store, lots, lines, last, person)
    store.flush()
    return of_lots


def _write(store: Store, model: Any, row: dict[str, Any]) -> None:
    store.add(model, [tuple(row[name] for name in columns(model))])


def _write_order(store: Store, key: int, lots: LyingLots, group: list[int], number: str, at: int, last: int, person: int) -> None:
    row = {
        "id": key,
        "supplier_id": int(lots.suppliers[group[0]]),
        "state": "closed",
        "number": number,
        "currency": "GBP",
        "exchange_ppm": 1_000_000,
        "carriage_minor": 0,
        "note": "",
        "made_at": moment(at - 1800),
        "made_by_id": person,
        "sent_at": moment(at),
        "sent_by_id": person,
        "expected_on": TEXTS[at // A_DAY + 7],
        "closed_at": moment(last),
        "version": 2,
    }
    _write(store, Order, row)


def _each(lots: LyingLots, place: int) -> int:
    """What one costs, as the lot has it."""
    return 1_000 + lots.keys[place] % 397 * 731


def _write_lines(store: Store, order: int, lots: LyingLots, lines: dict[int, int]) -> None:
    for place, key in lines.items():
        row = {
            "id": key,
            "order_id": order,
            "part_id": int(lots.parts[place]),
            "offer_id": None,
            "code": f"W{key}",
            "text": "as on the card",
            "count": int(lots.counts[place]),
            "pack_size": 1,
            "unit_milli": _each(lots, place),
            "for_what": "stock",
            "needed_on": None,
            "expected_on": None,
            "dropped_count": 0,
            "dropped_why": "",
        }
        _write(store, OrderLine, row)


def _write_bill(store: Store, lots: LyingLots, lines: dict[int, int], last: int, person: int) -> None:
    key, net = store.keys(SupplierBill, 1)[0], 0
    for place, line in lines.items():
        count, each = int(lots.counts[place]), _each(lots, place)
        net += (count * each + 500) // 1000
        row = {"id": store.keys(SupplierBillLine, 1)[0], "bill_id": key, "order_line_id": line, "text": "as ordered"}
        _write(store, SupplierBillLine, row | {"count": count, "unit_milli": each})
    bill = {
        "id": key,
        "supplier_id": int(lots.suppliers[next(iter(lines))]),
        "number": f"W {key}",
        "billed_on": TEXTS[last // A_DAY],
        "due_on": TEXTS[last // A_DAY + 30],
        "currency": "GBP",
        "carriage_minor": 0,
        "net_minor": net,
        "tax_minor": 0,
        "accepted_at": moment(last + 3600),
        "accepted_by_id": person,
        "accepted_why": "",
        "note": "",
        "at": moment(last + 1800),
        "person_id": person,
        "version": 2,
    }
    _write(store, SupplierBill, bill)
