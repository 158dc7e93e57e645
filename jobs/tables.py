"""Tables of jobs."""

from typing import ClassVar

import django_tables2 as tables
from django.db.models import F, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from jobs.models import Job
from shop.templatetags.shop_tags import day
from shop.web.marks import state, tag_number


class JobTable(tables.Table):
    """Expects jobs `with_heads()` and with `is_late`."""

    caption = "Jobs"
    number = tables.Column("Job")
    radio = tables.Column("Set", order_by=("radio__model__maker", "radio__model__name"))
    customer = tables.Column("Customer", order_by="customer__name")
    stage = tables.Column("Stage")
    waits_for = tables.Column("Waits for", empty_values=(None,))
    bench = tables.Column("Bench", order_by=("bench__order", "bench__name"), default="")
    promised_on = tables.Column("Promised", empty_values=())

    class Meta:
        order_by: ClassVar = ("promised_on",)
        empty_text = "No job answers to this. Take a word out of the search, or show all jobs."

    def render_number(self, record: Job) -> SafeString:
        return tag_number(record.number, reverse("jobs:job", args=[record.pk]))

    def render_radio(self, record: Job) -> str:
        serial = f", {record.radio.serial}" if record.radio.serial else ""
        return f"{record.radio.model}{serial}"

    def render_stage(self, record: Job) -> str:
        return record.get_stage_display()

    def render_waits_for(self, record: Job) -> SafeString | str:
        if not record.waits_for:
            return ""
        return state("wait", record.waits_note or record.get_waits_for_display())

    def render_promised_on(self, record: Job) -> SafeString | str:
        if record.promised_on is None:
            return ""
        late = record.is_late  # type: ignore[attr-defined]
        return format_html("{} {}", day(record.promised_on), state("warn", "overdue")) if late else day(record.promised_on)

    def order_promised_on(self, jobs: "QuerySet[Job]", is_descending: bool) -> "tuple[QuerySet[Job], bool]":
        """Jobs without a promise stand last both ways."""
        promised = F("promised_on").desc(nulls_last=True) if is_descending else F("promised_on").asc(nulls_last=True)
        return jobs.order_by(promised, "-pk"), True
