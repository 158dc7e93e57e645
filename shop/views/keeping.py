"""The owner's list of how long each customer's papers are kept, and erasing everybody whose time has ended."""

from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_POST

from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now, today
from shop.models import Profile, Role
from shop.personal.counted import KEEPING_TIME, clocks_as_counted, shown_of
from shop.personal.erasing import erase_ended
from shop.personal.keeping import Clock, clocks
from shop.place import rules_of
from shop.templatetags.shop_tags import day
from shop.web.leafing import show_leaf
from shop.web.lists import as_left
from shop.web.marks import state
from shop.web.press import press
from shop.web.saving import file_of, table_sheet, wants_file
from shop.web.tallied import count_now, tallied

SHOWN = {"": "all", "ended": "those whose time has ended", "held": "those that something else holds"}
# Each is a handful of questions and a few files: more than this would keep the others from the database for too long.
MOST_AT_ONCE = 100


class KeepingTable(tables.Table):
    caption = "Customers by the last day of keeping"
    name = tables.Column("Customer", accessor="customer__name", orderable=False)
    until_on = tables.Column("Kept until the end of", orderable=False)
    why = tables.Column("Newest", orderable=False)
    since_on = tables.Column("Of", orderable=False)
    law = tables.Column("Rule", accessor="rule__source__citation", orderable=False)
    state = tables.Column("Today", empty_values=(), orderable=False)

    also = (("Years", "rule__years"),)

    class Meta:
        empty_text = "Nobody answers to this."

    def __init__(self, *args: Any, on: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on

    def render_name(self, record: Clock) -> SafeString:
        address = reverse("shop:customer_data", args=[record.customer.pk])
        return format_html('<a href="{}">{}</a>', address, record.customer.name)

    def render_until_on(self, value: Any) -> str:
        return day(value)

    def render_since_on(self, value: Any) -> str:
        return day(value)

    def render_state(self, record: Clock) -> SafeString:
        mark = "warn" if record.has_ended(self.on) else "wait" if record.holds else "open"
        return format_html("{}{}", state(mark, self._word(record)), f" {'; '.join(record.holds)}" if record.holds else "")

    def value_state(self, record: Clock) -> str:
        return ": ".join(part for part in (self._word(record), "; ".join(record.holds)) if part)

    def _word(self, record: Clock) -> str:
        return "Time has ended" if record.has_ended(self.on) else "Held" if record.holds else "Runs"


@role_required(Role.OWNER)
@as_left("shop:keeping_time", {"show": ""}, words={"show": SHOWN})
def keeping_time(request: HttpRequest) -> HttpResponse:
    on, show = today(), request.GET.get("show", "")
    show = show if show in SHOWN else ""
    if wants_file(request):
        listed = shown_of(clocks(on, rules_of(Profile.current())), show, on)
        return file_of(request, table_sheet("time-of-keeping", KeepingTable(listed, on=on)))
    if request.method == "POST":
        return count_now(request, KEEPING_TIME, {"show": show})
    found = tallied(request, KEEPING_TIME, {"show": show})
    found.leaf.object_list = clocks_as_counted(found.leaf.object_list)
    table = KeepingTable(found.leaf.object_list, on=on)
    table.request = request
    show_leaf(table, found.leaf)
    context = {"table": table, "tallied": found, "most": MOST_AT_ONCE, "shown": SHOWN.items(), "show": show}
    return render(request, "shop/keeping_time.html", {**context, "ended": 0, "any": False, **found.figures})


@role_required(Role.OWNER)
@require_POST
def keeping_erase(request: HttpRequest) -> HttpResponse:
    """Everybody whose time has ended, as many as the page said."""

    def work() -> None:
        if not request.POST.get("sure"):
            raise Refused("Tick that nothing brings it back, then press again.")
        ended = [one.customer for one in clocks(today(), rules_of(Profile.current())) if one.has_ended(today())]
        if str(len(ended)) != request.POST.get("count"):
            raise Refused("The list changed since it was counted. Count it again, look at it, then press again.")
        erase_ended(ended[:MOST_AT_ONCE], person=staff_of(request), at=now())

    return press(request, "erase ended", work, reverse("shop:keeping_time"), "Erased. Sums, numbers and days of papers stay.")
