"""What to do before the figures of a year's end go into the books."""

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlencode

from billing.queries.accounts import end_of, start_of
from billing.queries.ageing import TO_GIVE_BACK
from billing.queries.year_end.closing import YearEnd
from inventory.models import Balance, DrawerCount, Kind
from inventory.queries.realisable import used_above_half
from jobs.models import Stage
from jobs.queries.claim_list import undecided


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to do. `is_done` None: nobody but a person can say. `link` names an address, `query` what it asks."""

    text: str
    detail: str
    is_done: bool | None
    link: str
    query: str = ""


def checklist(end: YearEnd) -> list[Item]:
    """Five queries beside those of the year's end."""
    return list(_items(end))


def _items(end: YearEnd) -> Iterator[Item]:
    day = urlencode({"day": end.day.isoformat()})
    yield _counting(end)
    asked = len(end.stock.blocked) + _used(end)
    yield Item("Write down what is worth less", _many(asked, "lot to ask about"), not asked, "inventory:stock_value", day)
    yield Item("Look at what lies dead", "what nobody fitted for a year", None, "inventory:dead_stock")
    ready = sum(1 for one in end.wip if one.stage == Stage.READY)
    yield Item("Bill what is ready", _many(ready, "job ready and not billed"), not ready, "billing:profit", "shown=none")
    late = sum(row.sums_minor[TO_GIVE_BACK - 1] for row in end.aged.rows if row.currency == end.currency)
    yield Item("Ask for late money, or write it off", f"{end.show(late)} over 90 days late", not late, "billing:ageing", day)
    back = -sum(row.sums_minor[TO_GIVE_BACK] for row in end.aged.rows if row.currency == end.currency)
    yield Item("Give back what is too much", f"{end.show(back)} to give back", not back, "billing:ageing", day)
    held = len(end.deposits)
    yield Item("Look at deposits that are still held", _many(held, "deposit"), not held, "billing:profit", "shown=none")
    surplus = len(end.surplus)
    yield Item("Pay out what sales left for owners", _many(surplus, "sale"), not surplus, "billing:surplus")
    claims = undecided().count()
    yield Item("Decide on sets that came back", _many(claims, "claim not decided today"), not claims, "jobs:claims")
    open_claims = len(end.supplier_claims)
    yield Item("Follow up claims on suppliers", _many(open_claims, "claim open"), not open_claims, "inventory:supplier_claims")
    hour = end.show(end.hour_cost_minor)
    yield Item("Write down what an hour costs", f"{hour} an hour", bool(end.hour_cost_minor), "shop:profile")
    yield Item("Keep journal, tax and papers of the year", "as files", None, "billing:books", end.period.query)


def _counting(end: YearEnd) -> Item:
    """Drawers that hold something today and had no count booked in that year."""
    drawers = set(Balance.objects.filter(on_hand__gt=0).values_list("drawer", flat=True).distinct())
    counts = DrawerCount.objects.filter(booked_at__gte=start_of(end.period.first), booked_at__lt=end_of(end.day))
    left = len(drawers - set(counts.values_list("drawer", flat=True)))
    return Item("Count the drawers", f"{left} of {len(drawers)} not counted in that year", not left, "inventory:counts")


def _used(end: YearEnd) -> int:
    lying = [(one.lot, one.on_hand, one.taken_unit_milli) for one in end.stock.lots if one.lot.part.kind == Kind.VALVE]
    return len(used_above_half(lying, end.day))


def _many(count: int, what: str) -> str:
    first, _, rest = what.partition(" ")
    return f"{count} {first}{'' if count == 1 else 's'}{f' {rest}' if rest else ''}" if count else "none"
