"""The list of invoices and credit notes."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from billing.models import Invoice
from billing.queries import standing_of
from shop.money import show
from shop.templatetags.shop_tags import day
from shop.web import marks

NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


class InvoiceTable(tables.Table):
    number = tables.Column("Number", order_by=("year", "series", "sequence"))
    issued_on = tables.Column("Issued", order_by=("issued_on", "pk"))
    buyer_name = tables.Column("Customer")
    job = tables.Column("Job", order_by=("job__number",))
    gross_minor = tables.Column("Total", attrs=NUMBER)
    due = tables.Column("Due", attrs=NUMBER)
    standing = tables.Column("Standing", empty_values=(), orderable=False)

    caption = "Invoices and credit notes"

    class Meta:
        orderable = True
        order_by = "-issued_on"
        empty_text = "Nothing like that was issued."

    def __init__(self, *args: Any, today: Any, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **kwargs)

    def render_number(self, record: Invoice) -> str:
        return format_html('<a href="{}">{}</a>', reverse("billing:invoice", args=[record.pk]), record.number)

    def render_issued_on(self, record: Invoice) -> str:
        return day(record.issued_on)

    def render_job(self, record: Invoice) -> str:
        return marks.tag_number(record.job.number, reverse("billing:job_money", args=[record.job_id]))

    def render_gross_minor(self, record: Invoice) -> str:
        sign = -1 if record.is_credit else 1
        return show(sign * record.gross_minor, record.currency)

    def render_due(self, record: Any) -> str:
        return show(record.due, record.currency)

    def render_standing(self, record: Invoice) -> str:
        mark, word = standing_of(record, self.today)
        return marks.state(mark, word)
