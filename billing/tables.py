"""The lists of invoices and credit notes, and of money."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from billing.models import Invoice, Payment, PaymentKind
from billing.queries import payment_words, standing_of
from shop.money import show
from shop.templatetags.shop_tags import day, moment
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
    also = (("Kind", "get_kind_display"), ("Due on", "due_on"))
    money = ("gross_minor", "due")

    class Meta:
        orderable = True
        order_by = "-issued_on"
        empty_text = "Nothing like that was issued."

    def __init__(self, *args: Any, today: Any, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **kwargs)

    def currency_of(self, record: Invoice) -> str:
        return record.currency

    def value_job(self, record: Invoice) -> str:
        return record.job.number

    def value_gross_minor(self, record: Invoice) -> int:
        return -record.gross_minor if record.is_credit else record.gross_minor

    def value_standing(self, record: Invoice) -> str:
        return standing_of(record, self.today)[1]

    def render_number(self, record: Invoice) -> str:
        return format_html('<a href="{}">{}</a>', reverse("billing:invoice", args=[record.pk]), record.number)

    def render_issued_on(self, record: Invoice) -> str:
        return day(record.issued_on)

    def render_job(self, record: Invoice) -> str:
        return marks.tag_number(record.job.number, reverse("billing:job_money", args=[record.job_id]))

    def render_gross_minor(self, record: Invoice) -> str:
        return show(self.value_gross_minor(record), record.currency)

    def render_due(self, record: Any) -> str:
        return show(record.due, record.currency)

    def render_standing(self, record: Invoice) -> str:
        mark, word = standing_of(record, self.today)
        return marks.state(mark, word)


class PaymentTable(tables.Table):
    """Expects payments from `queries.lists.payments_like`."""

    caption = "Money against invoices, the newest first"
    money = ("received", "other")
    also = (("Note", "note"),)
    at = tables.Column("When", orderable=False)
    invoice = tables.Column("Invoice", orderable=False)
    customer = tables.Column("Customer", accessor="invoice__customer", orderable=False)
    what = tables.Column("What", empty_values=(), orderable=False)
    received = tables.Column("Received or given back", empty_values=(), orderable=False, attrs=NUMBER)
    other = tables.Column("Moved or let go", empty_values=(), orderable=False, attrs=NUMBER)
    person = tables.Column("Who", orderable=False)

    class Meta:
        order_by = ()
        empty_text = "No money answers to this."

    def __init__(self, *args: Any, locale: str, **kwargs: Any) -> None:
        self.locale = locale
        super().__init__(*args, **kwargs)

    def currency_of(self, record: Payment) -> str:
        return record.invoice.currency

    def render_at(self, record: Payment) -> str:
        return moment(record.at)

    def value_invoice(self, record: Payment) -> str:
        return record.invoice.number

    def render_invoice(self, record: Payment) -> str:
        return format_html('<a href="{}">{}</a>', reverse("billing:invoice", args=[record.invoice_id]), record.invoice.number)

    def value_what(self, record: Payment) -> str:
        return payment_words(record)

    def render_what(self, record: Payment) -> str:
        return payment_words(record)

    def value_received(self, record: Payment) -> int | None:
        sign = {PaymentKind.PAID: 1, PaymentKind.REFUND: -1}.get(PaymentKind(record.kind))
        return sign * record.amount_minor if sign else None

    def render_received(self, record: Payment) -> str:
        return self._shown(self.value_received(record), record)

    def value_other(self, record: Payment) -> int | None:
        return record.amount_minor if self.value_received(record) is None else None

    def render_other(self, record: Payment) -> str:
        return self._shown(self.value_other(record), record)

    def _shown(self, minor: int | None, record: Payment) -> str:
        return "" if minor is None else show(minor, record.invoice.currency, self.locale)
