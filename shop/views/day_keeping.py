"""The line of the Today page about papers that no law keeps any more: for the owner, who erases."""

from collections.abc import Sequence
from datetime import date

from django.urls import reverse

from billing.queries.accounts import start_of
from shop.models import Customer, Profile
from shop.personal.keeping import Clock, first_ended
from shop.place import rules_of
from shop.views.day_lines import Desk, Line
from shop.views.day_ways import Wish

MOST_TOLD = 100


def ended_clocks(day: date, terms: Profile | None) -> list[list[Clock]]:
    """Those whose time has ended, in one row, of many the first; none. In the shop's first years it asks one short question."""
    rules = rules_of(terms)
    first = start_of(rules.retention.must_stay_since(day))
    if not Customer.objects.filter(created_at__lt=first).exists():
        return []
    ended = first_ended(day, rules, MOST_TOLD + 1)
    return [ended] if ended else []


def keeping_lines(rows: Sequence[list[Clock]], desk: Desk) -> list[Line]:
    return [_line(ended, desk) for ended in rows]


def _line(ended: list[Clock], desk: Desk) -> Line:
    count = len(ended)
    many = f"more than {MOST_TOLD} customers" if count > MOST_TOLD else "1 customer" if count == 1 else f"{count} customers"
    text = f"The time of keeping has ended for {many}"
    words = "no law wants their papers kept with a name; sums, numbers and days stay"
    address = reverse("shop:keeping_time")
    ways = desk.ways.of([Wish("Look at them", "shop:keeping_time")])
    return Line(text, f"{address}?show=ended", head="Time of keeping", marks=(("warn", "Ended"),), words=words, ways=ways)
