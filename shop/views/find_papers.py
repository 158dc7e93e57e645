"""Finding by number: jobs, estimates, invoices and credit notes, orders, suppliers' bills; also without strokes and year."""

import re
from dataclasses import dataclass
from typing import Any

from django.db.models import F, Func, Q, QuerySet, Value
from django.db.models.functions import Replace
from django.utils.formats import date_format

from billing.models import Invoice
from billing.services.credits import CREDIT_SERIES
from billing.services.invoices import INVOICE_SERIES
from inventory.models import Order, SupplierBill
from inventory.services.ordering import ORDER_SERIES
from jobs.models import Estimate, Job
from jobs.models.estimate import EstimateState
from shop.models import NumberSeries
from shop.money import show
from shop.numbers import Number
from shop.search_text import compact
from shop.views.found import Asked, Group, Hit

JOB, ORDER, PAPERS = "J", ORDER_SERIES, (INVOICE_SERIES, CREDIT_SERIES)
SERIES = frozenset((JOB, ORDER, *PAPERS, ""))
# J-2026-0041, J 41, J41, 2026-41, 41; and with the year and four figures run together: J20260041.
_NUMBER = re.compile(r"(?:([a-z])[\s./-]*)?(?:(20\d\d)[\s./-]+|(20\d\d)(?=\d{4}$))?0*(\d{1,6})", re.I | re.A)
FEWEST_OF_A_BILL = 3
DAY = "j M Y"


@dataclass(frozen=True, slots=True)
class Typed:
    """A number as somebody typed it; `series` empty and `year` None where it was left out."""

    series: str
    year: int | None
    sequence: int

    @property
    def is_full(self) -> bool:
        """Surely meant as a number of ours, and as nothing else."""
        return bool(self.series) and self.year is not None

    def may_be(self, *series: str) -> bool:
        return not self.series or self.series in series

    def of_series(self, *series: str) -> list[str]:
        """The numbers that may be meant, in whole: of every year in which one was given. So an index finds them."""
        given = NumberSeries.objects.filter(series__in=[one for one in series if self.may_be(one)])
        years = given.filter(year=self.year) if self.year is not None else given
        return [str(Number(one, year, self.sequence)) for one, year in years.values_list("series", "year")]


def read_number(text: str) -> Typed | None:
    found = _NUMBER.fullmatch(text.strip())
    series, year, run_together, sequence = found.groups() if found else ("-", None, None, "0")
    series = (series or "").upper()
    if series not in SERIES:
        return None
    written = year or run_together
    return Typed(series, int(written) if written else None, int(sequence))


def jobs_numbered(typed: Typed) -> "QuerySet[Job]":
    if not typed.may_be(JOB):
        return Job.objects.none()
    return Job.objects.with_heads().filter(number__in=typed.of_series(JOB)).order_by("-pk")


def papers(asked: Asked, typed: Typed | None) -> list[Group | None]:
    return [_invoices(asked, typed), _orders(asked, typed), _bills(asked)]


def _invoices(asked: Asked, typed: Typed | None) -> Group | None:
    """By their own number, or all of a job whose number was typed in full."""
    if not asked.url("billing:invoices"):
        return None
    # Our numbers are written in capitals.
    number = asked.text.upper()
    wanted = Q(job__in=Job.objects.filter(number=number).values("pk")) | Q(number=number)
    if typed is not None and typed.may_be(*PAPERS):
        wanted |= Q(number__in=typed.of_series(*PAPERS))
    keys = Invoice.objects.filter(wanted).order_by().values("pk")
    found = Invoice.objects.filter(pk__in=keys).select_related("customer", "job").order_by("-pk")

    def hit(one: Invoice) -> Hit:
        words = f"{one.buyer_name}, {date_format(one.issued_on, DAY)}, {show(one.gross_minor, one.currency)}"
        numbered = typed is not None and typed.may_be(one.series) and one.sequence == typed.sequence
        return Hit(
            one, asked.url("billing:invoice", one.pk), f"{one.get_kind_display()} {one.number}", words, is_numbered=numbered
        )

    return asked.group("invoices", "Invoices and credit notes", found, hit, asked.url("billing:invoices", q=asked.text))


def _orders(asked: Asked, typed: Typed | None) -> Group | None:
    if typed is None or not typed.may_be(ORDER):
        return None
    found = Order.objects.filter(number__in=typed.of_series(ORDER)).select_related("supplier").order_by("-pk")

    def hit(one: Order) -> Hit:
        words = f"{one.supplier}, {one.get_state_display().lower()}"
        return Hit(one, asked.url("inventory:order", one.pk), f"Order {one.number}", words, is_numbered=True)

    return asked.group("orders", "Orders", found, hit, asked.url("inventory:orders", q=asked.text, show="all"))


def _bills(asked: Asked) -> Group | None:
    """A supplier numbers as it likes: its signs between letters and figures don't count."""
    wanted = compact(asked.text)
    if len(wanted) < FEWEST_OF_A_BILL or not any(c.isdigit() for c in wanted):
        return None
    bare: Any = F("number")
    for sign in "-/. ":
        bare = Replace(bare, Value(sign), Value(""))
    found = SupplierBill.objects.annotate(bare=Func(bare, function="LOWER")).filter(bare__contains=wanted)

    def hit(one: SupplierBill) -> Hit:
        words = f"{one.supplier}, {date_format(one.billed_on, DAY)}"
        numbered = compact(one.number) == wanted
        return Hit(one, asked.url("inventory:supplier_bill", one.pk), f"Bill {one.number}", words, is_numbered=numbered)

    found = found.select_related("supplier").order_by("-pk")
    return asked.group("bills", "Suppliers’ bills", found, hit, asked.url("inventory:supplier_bills", q=asked.text, show="all"))


def estimates(asked: Asked, typed: Typed | None) -> Group | None:
    """An estimate has its job's number; the newest version of each stands for all."""
    if typed is None or not typed.may_be(JOB):
        return None
    jobs = jobs_numbered(typed)
    found = (
        Estimate.objects.filter(job__in=jobs.order_by().values("pk")).select_related("job__customer").order_by("-job", "-number")
    )
    newest: dict[int, Estimate] = {}
    for one in found[: asked.most * 4]:
        newest.setdefault(one.job_id, one)

    def hit(one: Estimate) -> Hit:
        state = EstimateState(one.state).label.lower()
        title = f"Estimate of {one.job.number}, version {one.number}"
        return Hit(one, asked.url("jobs:estimate", one.job_id), title, f"{one.job.customer}, {state}")

    return asked.few("estimates", "Estimates", newest.values(), hit)
