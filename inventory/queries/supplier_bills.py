"""Suppliers' bills held against what was ordered and what came: every difference with its sum in money."""

from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import BILLS_IN_ORDER, Order, OrderLine, OrderState, Supplier, SupplierBill, SupplierBillLine
from inventory.queries.exchange import amount_minor
from inventory.queries.on_order import with_received
from inventory.queries.orders import with_billed


@dataclass(frozen=True, slots=True)
class Difference:
    """`minor` is what the bill charges above what was agreed, in the bill's smallest coin; negative where it charges less."""

    code: str
    text: str
    minor: int


@dataclass(frozen=True, slots=True)
class BilledLine:
    """A line of a bill beside its order line: `received` of it in all, `elsewhere` billed for on other bills."""

    line: SupplierBillLine
    received: int
    elsewhere: int
    elsewhere_on: str

    @property
    def amount_minor(self) -> int:
        return amount_minor(self.line.count, self.line.unit_milli)

    @property
    def over(self) -> int:
        """How many are billed here that did not come, or were billed for before."""
        return max(min(self.line.count, self.elsewhere + self.line.count - self.received), 0)


@dataclass(frozen=True, slots=True)
class BillStanding:
    """A bill with its lines and every difference. `agreed_carriage_minor` is what its orders agreed to, less what was billed."""

    bill: SupplierBill
    lines: tuple[BilledLine, ...]
    agreed_carriage_minor: int
    differences: tuple[Difference, ...]

    @property
    def lines_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)

    @property
    def gross_minor(self) -> int:
        return self.bill.net_minor + self.bill.tax_minor

    @property
    def above_minor(self) -> int:
        return sum(one.minor for one in self.differences)


def standing_of_bill(bill: SupplierBill) -> BillStanding:
    lines = _billed_lines(bill)
    agreed = _agreed_carriage(bill, {one.line.order_line.order_id for one in lines if one.line.order_line})
    found: list[Difference] = []
    for one in lines:
        found += _of_line(one)
    found += _of_sums(bill, sum(one.amount_minor for one in lines), agreed)
    return BillStanding(bill, tuple(lines), agreed, tuple(found))


def _billed_lines(bill: SupplierBill) -> list[BilledLine]:
    lines = list(SupplierBillLine.objects.filter(bill=bill).select_related("order_line__order", "order_line__part"))
    ordered = [line.order_line_id for line in lines if line.order_line_id]
    received = {line.pk: line.received for line in with_received(OrderLine.objects.filter(pk__in=ordered))}  # type: ignore[attr-defined]
    elsewhere: dict[int, list[SupplierBillLine]] = {}
    for other in SupplierBillLine.objects.filter(order_line__in=ordered).exclude(bill=bill).select_related("bill"):
        elsewhere.setdefault(other.order_line_id or 0, []).append(other)
    seen: dict[int, int] = {}
    found = []
    for line in lines:
        key = line.order_line_id or 0
        others = elsewhere.get(key, []) if key else []
        before = sum(other.count for other in others) + (seen.get(key, 0) if key else 0)
        names = ", ".join(dict.fromkeys(other.bill.number for other in others)) or ("this bill" if seen.get(key) else "")
        found.append(BilledLine(line, received.get(key, 0), before, names))
        seen[key] = seen.get(key, 0) + line.count
    return found


def _of_line(one: BilledLine) -> list[Difference]:
    line, ordered = one.line, one.line.order_line
    if ordered is None:
        return [Difference("not_ordered", f"{line.text}: on no order of ours", one.amount_minor)] if one.amount_minor else []
    found = []
    if line.unit_milli != ordered.unit_milli:
        above = one.amount_minor - amount_minor(line.count, ordered.unit_milli)
        found.append(Difference("price", f"{line.text}: the price is not the one of order {ordered.order.number}", above))
    if one.over and one.elsewhere:
        words = f"{line.text}: {one.over} of {line.count} billed before, on {one.elsewhere_on}"
        found.append(Difference("billed_twice", words, amount_minor(one.over, line.unit_milli)))
    elif one.over:
        words = f"{line.text}: {line.count} billed and {one.received or 'none'} came"
        found.append(Difference("not_received", words, amount_minor(one.over, line.unit_milli)))
    return found


def _of_sums(bill: SupplierBill, lines_minor: int, agreed: int) -> list[Difference]:
    found = []
    if bill.carriage_minor != agreed:
        found.append(Difference("carriage", "carriage is not what was agreed", bill.carriage_minor - agreed))
    added = lines_minor + bill.carriage_minor
    if bill.net_minor != added:
        found.append(Difference("sum", "lines and carriage don't add up to the printed sum", bill.net_minor - added))
    return found


def _agreed_carriage(bill: SupplierBill, orders: set[int]) -> int:
    """Carriage of the orders on this bill, less what other bills of the same orders charged: it is owed once an order."""
    agreed = sum(Order.objects.filter(pk__in=orders).values_list("carriage_minor", flat=True))
    same = SupplierBillLine.objects.filter(order_line__order__in=orders)
    others = SupplierBill.objects.exclude(pk=bill.pk).filter(pk__in=same.values("bill"))
    return max(agreed - sum(others.values_list("carriage_minor", flat=True)), 0)


def can_be_billed(supplier: Supplier, currency: str, bill: SupplierBill | None = None) -> "QuerySet[OrderLine]":
    """Lines that a bill of this supplier may charge for: what came and was not billed, and what is still to come.

    With those on `bill`, whose own counts are left out of `was_billed`. Each has `received`, `coming`, `was_billed`.
    """
    lines = with_received(OrderLine.objects.filter(order__supplier=supplier, order__currency=currency))
    billed = SupplierBillLine.objects.filter(order_line=OuterRef("pk")).order_by().values("order_line")
    others = billed.exclude(bill=bill) if bill else billed
    known = lines.annotate(was_billed=Coalesce(Subquery(others.annotate(sum=Sum("count")).values("sum")), 0))
    due = Q(received__gt=F("was_billed")) | Q(order__state=OrderState.SENT, coming__gt=0)
    if bill is not None:
        due |= Q(Exists(SupplierBillLine.objects.filter(order_line=OuterRef("pk"), bill=bill)))
    return known.filter(due).exclude(order__number="").select_related("order", "part").order_by("order_id", "pk")


def unbilled() -> "QuerySet[OrderLine]":
    """What came on orders and no bill charges for yet, the oldest order first; with `received`, `was_billed`, `not_billed`."""
    lines = with_billed(with_received(OrderLine.objects.all())).annotate(not_billed=F("received") - F("was_billed"))
    return lines.filter(Q(not_billed__gt=0)).select_related("order__supplier", "part").order_by("order_id", "pk")


def listed_bills() -> "QuerySet[SupplierBill]":
    """Bills that wait to be accepted first, by the day they fall due; then the accepted, the newest first."""
    return SupplierBill.objects.select_related("supplier", "accepted_by").order_by(*BILLS_IN_ORDER)
