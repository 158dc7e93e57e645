"""Orders as they stand: of every line what was ordered, came in, is on back order, was given up and was billed; what is late."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import Case, Count, Exists, F, IntegerField, Min, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce, Greatest

from inventory.models import Lot, Offer, Order, OrderLine, OrderState, Part, Supplier, SupplierBillLine
from inventory.queries.exchange import amount_minor, exchanged, whole
from inventory.queries.on_order import still_coming, with_received
from shop.search_text import fold

MOST_OFFERS = 30


def with_billed(lines: "QuerySet[OrderLine]") -> "QuerySet[OrderLine]":
    """Adds `was_billed`, the parts that suppliers' bills charge for on a line, accepted or not."""
    bills = SupplierBillLine.objects.filter(order_line=OuterRef("pk")).order_by().values("order_line")
    return lines.annotate(was_billed=Coalesce(Subquery(bills.annotate(sum=Sum("count")).values("sum")), 0))


@dataclass(frozen=True)
class LineStanding:
    """One line of an order. Sums in the order's currency; `open` are on back order once the order was sent."""

    line: OrderLine
    received: int
    billed: int
    lots: tuple[Lot, ...]
    state: str
    today: date

    @property
    def open(self) -> int:
        return max(self.line.count - self.line.dropped_count - self.received, 0) if self.state == OrderState.SENT else 0

    @property
    def more(self) -> int:
        """How many more came than were ordered and not given up."""
        return max(self.received - (self.line.count - self.line.dropped_count), 0)

    @property
    def amount_minor(self) -> int:
        return amount_minor(self.line.count, self.line.unit_milli)

    @property
    def packs(self) -> int:
        return self.line.count // self.line.pack_size

    @property
    def late_days(self) -> int:
        """Days since it was expected; 0 where nothing is open or the day has not passed."""
        expected = self.line.expected_on
        return max((self.today - expected).days, 0) if self.open and expected else 0

    @property
    def unbilled(self) -> int:
        return max(self.received - self.billed, 0)


@dataclass(frozen=True)
class OrderStanding:
    """An order with its lines. The page, the PDF and the CSV all take their sums from here."""

    order: Order
    lines: tuple[LineStanding, ...]
    shop_currency: str

    @cached_property
    def goods_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)

    @property
    def total_minor(self) -> int:
        return self.goods_minor + self.order.carriage_minor

    @property
    def is_foreign(self) -> bool:
        return self.order.currency != self.shop_currency

    @property
    def rate(self) -> str:
        """What one unit of theirs costs in the shop's money: `0.86`."""
        return f"{Decimal(self.order.exchange_ppm).scaleb(-6).normalize():f}"

    @property
    def total_shop_minor(self) -> int:
        """In the shop's money by the order's own rate, rounded to its smallest coin."""
        return whole(exchanged(self.total_minor, self.order.currency, self.shop_currency, self.order.exchange_ppm))

    @property
    def short_of_smallest_minor(self) -> int:
        """How far the goods stay below the supplier's smallest order."""
        return max(self.order.supplier.minimum_order_minor - self.goods_minor, 0)

    @property
    def open(self) -> int:
        return sum(line.open for line in self.lines)

    @property
    def late_days(self) -> int:
        return max((line.late_days for line in self.lines), default=0)

    @property
    def came(self) -> bool:
        return any(line.received for line in self.lines)


def standing_of(order: Order, shop_currency: str, today: date) -> OrderStanding:
    """Everything about one order, in two queries."""
    lines = with_billed(with_received(OrderLine.objects.filter(order=order))).select_related("part", "offer", "order")
    came: dict[int, list[Lot]] = {}
    for lot in Lot.objects.filter(order_line__order=order, split_from=None):
        came.setdefault(lot.order_line_id or 0, []).append(lot)
    standing = (
        LineStanding(line, line.received, line.was_billed, tuple(came.get(line.pk, ())), order.state, today)  # type: ignore[attr-defined]
        for line in lines
    )
    return OrderStanding(order, tuple(standing), shop_currency)


def listed() -> "QuerySet[Order]":
    """Orders for their list: what is on back order first, then what was sent, what is being written, and what is over.

    Adds `line_count`, `ordered`, `coming` (still open), `goods` (minor units of their currency), `next_on` (the first day on
    which something open is expected), `partly` (something came).
    """
    lines = with_received(OrderLine.objects.filter(order=OuterRef("pk"))).order_by().values("order")
    # Each line rounded half up, as on the paper; whole numbers divide whole on both databases.
    goods = Sum((F("count") * F("unit_milli") * 2 + 1000) / 2000)
    waiting = lines.filter(order__state=OrderState.SENT)
    known = Order.objects.select_related("supplier").annotate(
        line_count=_sum_of(lines, Count("pk")),
        ordered=_sum_of(lines, Sum("count")),
        coming=_sum_of(waiting, Sum(Greatest(F("coming"), 0))),
        goods=_sum_of(lines, goods),
        next_on=Subquery(waiting.filter(Q(coming__gt=0)).annotate(first=Min("expected_on")).values("first")),
        partly=Exists(Lot.objects.filter(order_line__order=OuterRef("pk"))),
    )
    rank = Case(
        When(state=OrderState.SENT, partly=True, then=Value(0)),
        When(state=OrderState.SENT, then=Value(1)),
        When(state=OrderState.DRAFT, then=Value(2)),
        default=Value(3),
        output_field=IntegerField(),
    )
    return known.order_by(rank, F("next_on").asc(nulls_last=True), "-pk")


def _sum_of(lines: "QuerySet[Any, Any]", total: Any) -> Coalesce:
    return Coalesce(Subquery(lines.annotate(sum=total).values("sum"), output_field=IntegerField()), 0)


def late_lines(today: date) -> "QuerySet[OrderLine]":
    """Lines of sent orders that should have come before today, the latest first; each with `coming`."""
    return still_coming().filter(expected_on__lt=today).select_related("order__supplier", "part").order_by("expected_on", "pk")


def coming_of(part: Part) -> list[OrderLine]:
    """The lines on which a part is still to come, the first expected first; each with `coming`."""
    return list(still_coming([part]).select_related("order__supplier").order_by("expected_on", "pk"))


def offers_of_supplier(supplier: Supplier, text: str) -> list[Offer]:
    """What a supplier offers by these words or this code, an exact code first; each with its part's card, where it has one."""
    found = Offer.objects.filter(supplier=supplier, is_offered=True).select_related("part")
    exact = list(found.filter(code=text.strip()))
    for word in fold(text).split():
        found = found.filter(Q(search__contains=word) | Q(part__search__contains=word))
    return [*exact, *found.exclude(pk__in=[one.pk for one in exact])[: MOST_OFFERS - len(exact)]]
