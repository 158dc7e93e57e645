"""Suppliers' bills: typed as they came, held against the orders, accepted once they agree or the owner says why not."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime

from django.db import transaction

from inventory.models import Order, OrderLine, Supplier, SupplierBill, SupplierBillLine
from inventory.queries.supplier_bills import standing_of_bill
from inventory.services.ledger import MOST_AT_ONCE
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.money import LARGEST_MINOR, show


@dataclass(frozen=True, slots=True)
class BillFacts:
    """The head of a bill as printed on it; sums in the smallest coin of its currency, `net_minor` without tax."""

    number: str
    billed_on: date
    currency: str
    net_minor: int
    tax_minor: int = 0
    carriage_minor: int = 0
    due_on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class BillLineFacts:
    """`count` at `unit_milli` each (thousandths of the smallest coin), for a line of an order or for something else."""

    text: str
    count: int
    unit_milli: int
    order_line: OrderLine | None = None


def _check(supplier: Supplier, facts: BillFacts, lines: Sequence[BillLineFacts], but: SupplierBill | None = None) -> None:
    known = SupplierBill.objects.filter(supplier=supplier, number=facts.number).first()
    if known is not None and known != but:
        raise Refused(f"Bill {facts.number} of {supplier} is written down already.", field="number", code="known")
    if not lines:
        raise Refused("Say what the bill charges for: a count at a line that came, or a line of its own.", code="empty")
    if facts.due_on and facts.due_on < facts.billed_on:
        raise Refused("It falls due before it was written. Check both days.", field="due_on")
    for line in lines:
        _check_line(facts, line)


def _check_line(facts: BillFacts, line: BillLineFacts) -> None:
    ordered = line.order_line
    at = f"_{ordered.pk}" if ordered else ""
    if not 1 <= line.count <= MOST_AT_ONCE:
        raise Refused(f"The count of {line.text} must be from 1 to {MOST_AT_ONCE:,}.", field=f"count{at}")
    if not 0 <= line.unit_milli * line.count <= LARGEST_MINOR * 1000:
        raise Refused(f"The price of {line.text} can't be booked. Check it for a slip of the finger.", field=f"unit{at}")
    if ordered is not None and ordered.order.currency != facts.currency:
        raise Refused(f"{line.text} was ordered in {ordered.order.currency}, and this bill is in {facts.currency}.")


def _write_lines(bill: SupplierBill, lines: Sequence[BillLineFacts]) -> None:
    SupplierBillLine.objects.bulk_create(
        SupplierBillLine(bill=bill, order_line=one.order_line, text=one.text[:200], count=one.count, unit_milli=one.unit_milli)
        for one in lines
    )


@transaction.atomic
def add_bill(
    supplier: Supplier, facts: BillFacts, lines: Sequence[BillLineFacts], *, person: Staff, at: datetime
) -> SupplierBill:
    """Write a bill down. The supplier's row is locked, so that one bill typed by two people is one bill.

    Not its key: rows that point to the supplier, such as lots, may be written meanwhile.
    """
    card = Supplier.objects.select_for_update(no_key=True).get(pk=supplier.pk)
    _check(card, facts, lines)
    bill = SupplierBill.objects.create(supplier=card, person=person, at=at, **asdict(facts))
    _write_lines(bill, lines)
    return bill


def _lock_open(bill: SupplierBill, seen: int | None) -> SupplierBill:
    current = SupplierBill.objects.select_for_update().filter(pk=bill.pk).first()
    if current is None:
        raise Stale("Somebody else took this bill away. Look at the list of bills.")
    if current.accepted_at is not None:
        raise Refused("This bill was accepted and stands as it is. Write a later bill of theirs down as one of its own.")
    if seen is not None and current.version != seen:
        raise Stale("Somebody else changed this bill since you opened it. Compare, then send again.")
    return current


@transaction.atomic
def change_bill(bill: SupplierBill, facts: BillFacts, lines: Sequence[BillLineFacts], *, seen: int) -> SupplierBill:
    Supplier.objects.select_for_update(no_key=True).get(pk=bill.supplier_id)
    current = _lock_open(bill, seen)
    _check(current.supplier, facts, lines, current)
    for name, value in asdict(facts).items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    current.lines.all().delete()  # type: ignore[attr-defined]
    _write_lines(current, lines)
    return current


@transaction.atomic
def remove_bill(bill: SupplierBill, *, seen: int | None = None) -> None:
    """A bill that was typed by mistake. What came on the orders counts as not billed again."""
    _lock_open(bill, seen).delete()


@transaction.atomic
def accept_bill(bill: SupplierBill, *, person: Staff, at: datetime, why: str = "", seen: int | None = None) -> SupplierBill:
    """Accept a bill that agrees with orders and receipts; one that doesn't takes the owner and a written reason.

    Its orders are locked, so that two bills for the same parts can't both be found to agree.
    """
    Supplier.objects.select_for_update(no_key=True).get(pk=bill.supplier_id)
    current = _lock_open(bill, seen)
    orders = Order.objects.filter(lines__billed__bill=current).values("pk")
    list(Order.objects.select_for_update().filter(pk__in=orders).order_by("pk"))
    standing = standing_of_bill(current)
    if standing.differences:
        _need_owner(person, why, len(standing.differences), show(standing.above_minor, current.currency))
    current.accepted_at, current.accepted_by = at, person
    current.accepted_why = why.strip()[:300] if standing.differences else ""
    current.version += 1
    current.save(update_fields=["accepted_at", "accepted_by", "accepted_why", "version"])
    return current


def _need_owner(person: Staff, why: str, count: int, above: str) -> None:
    differs = "one difference" if count == 1 else f"{count} differences"
    if not person.is_owner:
        raise Refused(
            f"This bill has {differs} ({above} in all). Ask the supplier, correct what was typed, or let the owner accept it.",
            code="owner",
        )
    if not why.strip():
        raise Refused(f"This bill has {differs} ({above} in all). Say why it is accepted all the same.", field="why", code="why")
