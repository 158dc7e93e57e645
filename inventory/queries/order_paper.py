"""An order as it leaves the house: the paper's data, and the rows of its table. Sums come from the order's standing."""

from collections.abc import Iterator
from decimal import Decimal

from django.utils import timezone

from inventory.documents.order import OrderPaper, OrderPaperLine
from inventory.queries.orders import OrderStanding
from shop.letterhead_of import address_lines, letterhead
from shop.models import Profile
from shop.money import as_money, minor_digits
from shop.paper import Party
from shop.tabular import Cell

HEADINGS = ("Their code", "Description", "Count", "Pieces in a pack", "Packs", "Price each", "Sum", "Currency", "Needed by")


def order_paper(standing: OrderStanding, profile: Profile) -> OrderPaper:
    order, currency = standing.order, standing.order.currency
    supplier = order.supplier
    return OrderPaper(
        letterhead(profile),
        order.number,
        Party(supplier.name, address_lines(supplier.address), supplier.phone, supplier.email),
        tuple(
            OrderPaperLine(
                one.line.code,
                one.line.text,
                one.line.count,
                one.line.pack_size,
                one.line.unit_milli,
                as_money(one.amount_minor, currency),
                one.line.needed_on,
            )
            for one in standing.lines
        ),
        as_money(standing.goods_minor, currency),
        as_money(order.carriage_minor, currency),
        as_money(standing.total_minor, currency),
        timezone.localdate(order.sent_at) if order.sent_at else None,
        order.expected_on,
        supplier.our_number,
        str(order.sent_by) if order.sent_by else "",
        order.note,
    )


def order_rows(standing: OrderStanding) -> Iterator[tuple[Cell, ...]]:
    """A row a line under `HEADINGS`, and one for the carriage, so that the column of sums adds up to the total."""
    currency = standing.order.currency
    for one in standing.lines:
        line = one.line
        unit = Decimal(line.unit_milli).scaleb(-minor_digits(currency) - 3)
        amount = as_money(one.amount_minor, currency).amount
        yield (line.code, line.text, line.count, line.pack_size, one.packs, unit, amount, currency, line.needed_on)
    if standing.order.carriage_minor:
        carriage = as_money(standing.order.carriage_minor, currency).amount
        yield ("", "Carriage", None, None, None, None, carriage, currency, None)
