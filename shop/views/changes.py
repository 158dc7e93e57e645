"""The owner's page of who did what: each change of a row, with the page it was made on and what it was before."""

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import Any, ClassVar

import django_filters as filters
import django_tables2 as tables
from django import forms
from django.db import models
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.access import role_required
from shop.audit.plan import audited, own_models
from shop.audit.triggers import SILENT
from shop.models import AuditEntry, AuditVerb, Profile, Role, Staff
from shop.money import show
from shop.templatetags.shop_tags import moment
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.saving import file_of, table_sheet, wants_file

NAMES = ("person", "table", "row", "since", "until")
# Where a thing has a page of its own.
PAGES = {
    "shop_customer": "shop:customer",
    "shop_staff": "shop:staff_change",
    "shop_bench": "shop:bench_change",
    "inventory_part": "inventory:part",
    "inventory_lot": "inventory:lot",
    "inventory_drawer": "inventory:drawer",
    "inventory_order": "inventory:order",
    "inventory_supplier": "inventory:supplier_change",
    "jobs_job": "jobs:job",
    "jobs_radiomodel": "jobs:model",
}
NOBODY, OUTSIDE = "the program itself", "outside the program"
LONGEST_VALUE = 60
# Counters by which the program sees that two pages didn't write over each other: they change with everything else.
COUNTER_WORDS = ("version", "log seq")
ONLY_COUNTED = "counted on, with what else was done"


@cache
def things() -> dict[str, type[models.Model]]:
    """Audited tables by name, with their models."""
    tables_there = {one.table for one in audited()}
    return {model._meta.db_table: model for model in own_models() if model._meta.db_table in tables_there}


@cache
def name_of(table: str) -> str:
    model = things().get(table)
    return str(model._meta.verbose_name).capitalize() if model else table


def _choices() -> list[tuple[str, str]]:
    return sorted(((table, name_of(table)) for table in things()), key=lambda one: one[1])


def _start(on: date) -> datetime:
    return timezone.make_aware(datetime.combine(on, time.min))


class ChangeFilter(filters.FilterSet):
    person = filters.ModelChoiceFilter(label="Who", queryset=Staff.objects.all(), empty_label="anybody")
    table = filters.ChoiceFilter(label="What", choices=_choices, empty_label="anything")
    row = filters.CharFilter(label="Its number", widget=forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 40}))
    since = filters.DateFilter(label="From", method="from_day", widget=forms.DateInput(attrs={"type": "date"}))
    until = filters.DateFilter(label="To", method="to_day", widget=forms.DateInput(attrs={"type": "date"}))

    class Meta:
        model = AuditEntry
        fields: tuple[str, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.form.label_suffix = ""

    def from_day(self, entries: "QuerySet[AuditEntry]", name: str, value: date) -> "QuerySet[AuditEntry]":
        return entries.filter(at__gte=_start(value))

    def to_day(self, entries: "QuerySet[AuditEntry]", name: str, value: date) -> "QuerySet[AuditEntry]":
        return entries.filter(at__lt=_start(value + timedelta(days=1))) if value < date.max else entries


class Wording:
    """Values of columns in words: money by the shop's currency, times by its clock."""

    def __init__(self, profile: Profile | None) -> None:
        self.profile = profile

    def changes(self, entry: AuditEntry) -> Iterator[tuple[str, str, str]]:
        """Column, what it was, what it became; words that aren't kept are empty on both sides."""
        before, after = (json.loads(text) if text else {} for text in (entry.before, entry.after))
        model = things().get(entry.table)
        for column in before:
            field = _field(model, column)
            label = str(field.verbose_name).removesuffix(" minor") if field is not None else column
            yield label, self._value(field, before[column]), self._value(field, after.get(column))

    def _value(self, field: Any, value: Any) -> str:
        if value is None or value == SILENT:
            return ""
        if isinstance(field, models.BooleanField):
            return "yes" if value else "no"
        if field is not None and field.name.endswith("_minor") and self.profile is not None and isinstance(value, int):
            return show(value, self.profile.currency, self.profile.locale)
        if field is not None and field.choices:
            return str(dict(field.flatchoices).get(value, value))
        if isinstance(field, models.DateTimeField) and (at := parse_datetime(str(value))) is not None:
            aware = at if timezone.is_aware(at) else at.replace(tzinfo=UTC)
            return date_format(timezone.localtime(aware), "j M Y, H:i")
        words = f"no. {value}" if isinstance(field, models.ForeignKey) else str(value)
        return words if len(words) <= LONGEST_VALUE else f"{words[:LONGEST_VALUE]}…"

    def sentence(self, entry: AuditEntry) -> str:
        """Without the counters, which change with everything; a file has them, too."""
        told = [one for one in self.changes(entry) if one[0] not in COUNTER_WORDS]
        return "; ".join(_worded(entry.verb, *one) for one in told) or (ONLY_COUNTED if entry.before else "")

    def whole_sentence(self, entry: AuditEntry) -> str:
        return "; ".join(_worded(entry.verb, *one) for one in self.changes(entry))


def _worded(verb: str, label: str, before: str, after: str) -> str:
    if verb == AuditVerb.REMOVED:
        return f"{label} {before or '(not kept)'}"
    if not before and not after:
        return label
    return f"{label}: {before or '—'} → {after or '—'}"


@cache
def _field(model: type[models.Model] | None, column: str) -> Any:
    return next((one for one in model._meta.concrete_fields if one.column == column), None) if model is not None else None


class ChangeTable(tables.Table):
    caption = "Changes, the newest first"
    at = tables.Column("When", orderable=False)
    person = tables.Column("Who", orderable=False, empty_values=())
    what = tables.Column("On the page", orderable=False, empty_values=())
    thing = tables.Column("What", orderable=False, empty_values=())
    verb = tables.Column("How", orderable=False)
    changed = tables.Column("From, to", orderable=False, empty_values=())

    also = (("Address", "address"), ("Act", "act"))

    class Meta:
        order_by: ClassVar = ()
        empty_text = "No change answers to this."

    def __init__(self, *args: Any, wording: Wording, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.wording = wording

    def render_at(self, value: Any) -> SafeString | str:
        return moment(value)

    def render_person(self, record: AuditEntry) -> str:
        return str(record.person or (NOBODY if record.what else OUTSIDE))

    def render_what(self, value: str) -> str:
        return value.partition(":")[2].replace("_", " ") or value

    def render_thing(self, record: AuditEntry) -> SafeString | str:
        words, page = self.value_thing(record), PAGES.get(record.table)
        if page is None or record.verb == AuditVerb.REMOVED or not record.row.isdecimal():
            return words
        return format_html('<a href="{}">{}</a>', reverse(page, args=[int(record.row)]), words)

    def value_thing(self, record: AuditEntry) -> str:
        return f"{name_of(record.table)} {record.row}"

    def render_changed(self, record: AuditEntry) -> str:
        return self.wording.sentence(record)

    def value_changed(self, record: AuditEntry) -> str:
        return self.wording.whole_sentence(record)


@role_required(Role.OWNER)
@as_left("shop:changes", dict.fromkeys(NAMES, ""), ChangeFilter)
def change_list(request: HttpRequest) -> HttpResponse:
    found = ChangeFilter(request.GET, queryset=AuditEntry.objects.select_related("person"))
    table = ChangeTable(found.qs, wording=Wording(Profile.current()))
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("changes", table))
    any_change = bool(table.page.object_list) or AuditEntry.objects.exists()
    return render(request, "shop/changes.html", {"found": found, "table": table, "any_change": any_change})
