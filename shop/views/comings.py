"""The owner's page of comings and goings: who came in, who was kept out, who took data away."""

from datetime import date, datetime, time, timedelta
from typing import Any, ClassVar

import django_filters as filters
import django_tables2 as tables
from django import forms
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import SafeString

from shop.access import role_required
from shop.models import AccessEvent, AccessKind, Role, Staff
from shop.templatetags.shop_tags import moment
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.marks import state
from shop.web.saving import file_of, table_sheet, wants_file

NAMES = ("kind", "person", "since", "until")
# What the owner should look at stands out by a mark and its sign.
KEPT_OUT = {AccessKind.FAILED, AccessKind.FORBIDDEN, AccessKind.BAD_LINK}
GRAVE = {AccessKind.SHUT_OUT, AccessKind.FACTOR_REMOVED, AccessKind.CODE_USED, AccessKind.RESTORED, AccessKind.TAKEN_OUT}


def _start(on: date) -> datetime:
    return timezone.make_aware(datetime.combine(on, time.min))


class ComingsFilter(filters.FilterSet):
    kind = filters.ChoiceFilter(label="What", choices=AccessKind.choices, empty_label="everything")
    person = filters.ModelChoiceFilter(label="Who", queryset=Staff.objects.order_by("username"), empty_label="anybody")
    since = filters.DateFilter(label="From", method="from_day", widget=forms.DateInput(attrs={"type": "date"}))
    until = filters.DateFilter(label="To", method="to_day", widget=forms.DateInput(attrs={"type": "date"}))

    class Meta:
        model = AccessEvent
        fields: tuple[str, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.form.label_suffix = ""

    def from_day(self, events: "QuerySet[AccessEvent]", name: str, value: date) -> "QuerySet[AccessEvent]":
        return events.filter(at__gte=_start(value))

    def to_day(self, events: "QuerySet[AccessEvent]", name: str, value: date) -> "QuerySet[AccessEvent]":
        return events.filter(at__lt=_start(value + timedelta(days=1))) if value < date.max else events


class ComingsTable(tables.Table):
    caption = "Comings and goings, the newest first"
    at = tables.Column("When", orderable=False)
    kind = tables.Column("What", orderable=False)
    person = tables.Column("Who", orderable=False, empty_values=())
    address = tables.Column("From which address", orderable=False)
    note = tables.Column("Note", orderable=False)

    class Meta:
        order_by: ClassVar = ()
        empty_text = "Nothing answers to this."

    def render_at(self, value: Any) -> SafeString | str:
        return moment(value)

    def render_kind(self, record: AccessEvent) -> SafeString | str:
        words = record.get_kind_display()
        if record.kind in GRAVE:
            return state("warn", words)
        return state("no", words) if record.kind in KEPT_OUT else words

    def value_kind(self, record: AccessEvent) -> str:
        return str(record.get_kind_display())

    def render_person(self, record: AccessEvent) -> str:
        return self.value_person(record) or "nobody known"

    def value_person(self, record: AccessEvent) -> str:
        return str(record.person) if record.person else ""


@role_required(Role.OWNER)
@as_left("shop:comings", dict.fromkeys(NAMES, ""), ComingsFilter)
def comings(request: HttpRequest) -> HttpResponse:
    found = ComingsFilter(request.GET, queryset=AccessEvent.objects.select_related("person").order_by("-pk"))
    table = ComingsTable(found.qs)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("comings-and-goings", table))
    any_event = bool(table.page.object_list) or AccessEvent.objects.exists()
    return render(request, "shop/comings.html", {"found": found, "table": table, "any_event": any_event})
