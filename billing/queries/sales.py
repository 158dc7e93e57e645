"""Sales of sets that nobody collected: what the price paid, what is left for the owner, what keeps a set from being sold."""

from dataclasses import dataclass
from typing import Any

from django.db.models import BigIntegerField, F, OuterRef, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from billing.models import Invoice, PaperKind, SurplusPayment, UncollectedSale
from billing.queries.accounts import account_of, deposits_left_minor, with_account
from billing.queries.bills import bill_lines
from jobs.models import Job
from shop.models import Profile


@dataclass(frozen=True, slots=True)
class Split:
    """How a price is shared, in minor units: what goes to what was owed, what is left for the owner, what stays owed."""

    paid_minor: int
    surplus_minor: int
    short_minor: int


def split_of(price_minor: int, costs_minor: int, owed_minor: int) -> Split:
    """Costs come first, then what was owed; the rest is the owner's. Costs above the price are the shop's loss."""
    net = max(price_minor - costs_minor, 0)
    paid = min(net, owed_minor)
    return Split(paid, net - paid, owed_minor - paid)


def open_invoices(job: Job) -> list[Any]:
    """Invoices of the job with something due, the oldest first."""
    papers: QuerySet[Any] = with_account(Invoice.objects.filter(job=job, kind=PaperKind.INVOICE))
    return list(papers.filter(due__gt=0).order_by("pk"))


def unsettled_for_sale(job: Job) -> list[str]:
    """What has to be settled before anybody can say what is owed: work that isn't billed, money that the shop owes itself."""
    profile, missing = Profile.current(), []
    if profile is not None and bill_lines(job, profile):
        missing.append("an invoice for the work done")
    for invoice in with_account(Invoice.objects.filter(job=job, kind=PaperKind.INVOICE)):
        if account_of(invoice).due_minor < 0:
            missing.append(f"the money given back that invoice {invoice.number} owes the customer")
        elif profile is not None and invoice.currency != profile.currency and account_of(invoice).due_minor:
            missing.append(f"invoice {invoice.number} settled, which is in {invoice.currency}")
    if deposits_left_minor(job) > 0 and not missing:
        missing.append("the deposit set off on an invoice or given back")
    return missing


def left_in_all() -> int:
    """What is held for the owners of sold sets, minor units."""
    kept = UncollectedSale.objects.aggregate(sum=Sum("surplus_minor", default=0))["sum"]
    return int(kept - SurplusPayment.objects.aggregate(sum=Sum("amount_minor", default=0))["sum"])


def sales_in_order() -> list[int]:
    """The keys of all sales, those with the most left for the owner of the set first."""
    paid = dict(SurplusPayment.objects.order_by().values_list("sale").annotate(sum=Sum("amount_minor")))
    rows = UncollectedSale.objects.order_by("-sold_on", "-pk").values_list("pk", "surplus_minor")
    return [pk for pk, _ in sorted(rows, key=lambda row: paid.get(row[0], 0) - row[1])]


def sales() -> "QuerySet[Any]":
    """Every sale with `paid_out` and `left` in minor units, the newest first."""
    paid = SurplusPayment.objects.filter(sale=OuterRef("pk")).order_by().values("sale").annotate(sum=Sum("amount_minor"))
    out = Coalesce(Subquery(paid.values("sum")), Value(0), output_field=BigIntegerField())
    heads = ("job__radio__model", "job__customer", "notice", "person")
    listed = UncollectedSale.objects.select_related(*heads).annotate(paid_out=out)
    return listed.annotate(left=F("surplus_minor") - F("paid_out")).order_by("-sold_on", "-pk")
