"""The lists of invoices and credit notes, of money, of what jobs earned and what their estimates missed."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from billing.models import Invoice, Payment, PaymentKind
from billing.queries import payment_words, standing_of
from billing.queries.missed import MissedJob
from billing.queries.profit import JobProfit
from shop.money import show
from shop.templatetags.shop_tags import day, hours, moment
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


class ProfitTable(tables.Table):
    """Expects `JobProfit`s of `queries.profit.profits`."""

    caption = "What jobs earned, without tax"
    money = ("net", "parts", "work", "other", "back", "result")
    also = (
        ("Customer", "job__customer"),
        ("Class of set", "job__radio__model__set_class"),
        ("Minutes not charged", "free_minutes"),
        ("Came back to", "carried_to"),
    )
    number = tables.Column("Job", accessor="job__number")
    radio = tables.Column("Set", accessor="job__radio__model", order_by=("job__radio__model__maker", "job__radio__model__name"))
    first_billed_on = tables.Column("First bill", orderable=False)
    net = tables.Column("Billed", accessor="net_minor", attrs=NUMBER)
    parts = tables.Column("Parts", accessor="parts_cost_minor", attrs=NUMBER)
    minutes = tables.Column("Worked", attrs=NUMBER)
    work = tables.Column("Work", accessor="work_cost_minor", attrs=NUMBER)
    other = tables.Column("Other", accessor="other_minor", attrs=NUMBER)
    back = tables.Column("Came back", accessor="back_minor", attrs=NUMBER)
    result = tables.Column("Earned", accessor="result_minor", attrs=NUMBER)

    class Meta:
        order_by = ()
        empty_text = "No job answers to this. Take a word out of the search, or show every job."

    def __init__(self, *args: Any, currency: str, locale: str, **kwargs: Any) -> None:
        self.currency, self.locale = currency, locale
        super().__init__(*args, **kwargs)

    def currency_of(self, record: JobProfit) -> str:
        return self.currency

    def render_number(self, record: JobProfit) -> str:
        return marks.tag_number(record.job.number, reverse("billing:job_profit", args=[record.job.pk]))

    def render_first_billed_on(self, record: JobProfit) -> str:
        return day(record.first_billed_on)

    def value_minutes(self, record: JobProfit) -> int:
        return record.minutes

    def render_minutes(self, record: JobProfit) -> str:
        return hours(record.minutes)

    def render_net(self, value: int) -> str:
        return show(value, self.currency, self.locale)

    render_parts = render_work = render_other = render_net

    def render_back(self, record: JobProfit) -> str:
        if not record.back_minor:
            return ""
        return show(record.back_minor, self.currency, self.locale)

    def render_result(self, record: JobProfit) -> str:
        shown = show(record.result_minor, self.currency, self.locale)
        return format_html("<strong>{}</strong> {}", shown, marks.state("no", "loss")) if record.result_minor < 0 else shown


class MissedTable(tables.Table):
    """Expects `MissedJob`s of `queries.missed.missed`."""

    caption = "Jobs, what was agreed to first and what was billed"
    money = ("agreed", "billed", "parts", "work", "fees", "difference")
    also = (("Customer", "job__customer"), ("Reasons given for newer versions", "said_because"), ("All reasons", "said"))
    number = tables.Column("Job", accessor="job__number")
    radio = tables.Column("Set", accessor="job__radio__model", orderable=False)
    billed_on = tables.Column("Billed on")
    agreed = tables.Column("Agreed to first", accessor="agreed__all_minor", attrs=NUMBER)
    billed = tables.Column("Billed", accessor="billed__all_minor", attrs=NUMBER)
    parts = tables.Column("Parts", accessor="parts_minor", attrs=NUMBER)
    work = tables.Column("Work", accessor="work_minor", attrs=NUMBER)
    fees = tables.Column("Fees", accessor="fees_minor", attrs=NUMBER)
    difference = tables.Column("Difference", accessor="difference_minor", attrs=NUMBER)
    weightiest = tables.Column("Mostly", empty_values=(), orderable=False)

    class Meta:
        order_by = ()
        empty_text = "No job answers to this."

    def __init__(self, *args: Any, currency: str, locale: str, **kwargs: Any) -> None:
        self.currency, self.locale = currency, locale
        super().__init__(*args, **kwargs)

    def currency_of(self, record: MissedJob) -> str:
        return self.currency

    def render_number(self, record: MissedJob) -> str:
        return marks.tag_number(record.job.number, reverse("billing:job_profit", args=[record.job.pk]))

    def render_billed_on(self, record: MissedJob) -> str:
        return day(record.billed_on)

    def render_agreed(self, value: int) -> str:
        return show(value, self.currency, self.locale)

    render_billed = render_agreed

    def render_parts(self, value: int) -> str:
        return f"+{show(value, self.currency, self.locale)}" if value > 0 else show(value, self.currency, self.locale)

    render_work = render_fees = render_difference = render_parts

    def value_weightiest(self, record: MissedJob) -> str:
        found = record.weightiest
        return f"{found.place}: {found.words}" if found else "nothing"

    render_weightiest = value_weightiest
