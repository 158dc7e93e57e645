"""What of the till is somebody's personal data: its papers and when they were made, and money that is still open."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import F, Max, QuerySet, Sum

from billing.models import Invoice, OpenAccount, PaperKind, Payment, SurplusPayment, UncollectedSale
from billing.queries.accounts import account_of, with_account
from jobs.models import Deposit
from jobs.queries.personal import Record, day_of
from shop.append_only import with_words

Keys = Iterable[int] | None


def paper_records(customers: Keys = None) -> Iterator[Record]:
    """The newest invoice or credit note, payment, sale of an uncollected set and payment out of one, by job."""
    papers = _of(Invoice.objects.order_by(), "customer", customers)
    for customer, job, place, last in papers.values_list("customer", "job", "jurisdiction").annotate(Max("issued_on")):
        yield Record(customer, job, last, "invoice", place)
    paid = _of(Payment.objects.order_by(), "invoice__customer", customers)
    for customer, job, last in paid.values_list("invoice__customer", "invoice__job").annotate(Max("at")):
        yield Record(customer, job, day_of(last), "payment")
    sold = _of(UncollectedSale.objects.order_by(), "job__customer", customers)
    for customer, job, last in sold.values_list("job__customer", "job", "sold_on"):
        yield Record(customer, job, last, "sale of the uncollected set")
    out = _of(SurplusPayment.objects.order_by(), "sale__job__customer", customers)
    for customer, job, last in out.values_list("sale__job__customer", "sale__job").annotate(Max("at")):
        yield Record(customer, job, day_of(last), "payment out of a sale")


def _of(rows: Any, path: str, customers: Keys) -> Any:
    return rows if customers is None else rows.filter(**{f"{path}__in": customers})


def money_holds(customers: Keys = None) -> dict[int, list[str]]:
    """By job: why money keeps its papers from being erased, in words."""
    found: dict[int, list[str]] = defaultdict(list)
    opened = _of(OpenAccount.objects.order_by(), "invoice__customer", customers)
    for job, number, due in opened.values_list("invoice__job", "invoice__number", "due_minor"):
        found[job].append(f"money is due on {number}" if due > 0 else f"money is to be given back on {number}")
    for job in _deposits_left(customers):
        found[job].append("a deposit on it isn't settled")
    for job in _surplus_left(customers):
        found[job].append("money from the sale of the set belongs to its owner")
    return dict(found)


def _deposits_left(customers: Keys) -> Iterator[int]:
    """Taken less given back, against what invoices use of it."""
    taken: dict[int, int] = defaultdict(int)
    deposits = _of(Deposit.objects.order_by(), "job__customer", customers)
    for job, given_back, total in deposits.values_list("job", "given_back").annotate(Sum("amount_minor")):
        taken[job] += -total if given_back else total
    drawn_on = Invoice.objects.filter(kind=PaperKind.INVOICE, prepaid_minor__gt=0).order_by()
    for invoice in with_account(_of(drawn_on, "customer", customers)):
        taken[invoice.job_id] -= account_of(invoice).prepaid_minor
    return (job for job, left in taken.items() if left > 0)


def _surplus_left(customers: Keys) -> Iterator[int]:
    sales = _of(UncollectedSale.objects.order_by(), "job__customer", customers).filter(surplus_minor__gt=0)
    paid = sales.annotate(paid=Sum("surplus_payments__amount_minor"))
    left = paid.exclude(paid=F("surplus_minor")).values_list("job", flat=True)
    return iter(list(left))


def paper_rows(jobs: Iterable[int]) -> "list[QuerySet[Any]]":
    """What of these jobs' papers still holds personal words, a ledger each."""
    keys = list(jobs)
    ways = ((Invoice, "job"), (Payment, "invoice__job"), (UncollectedSale, "job"), (SurplusPayment, "sale__job"))
    return [with_words(model.objects.filter(**{f"{way}__in": keys})) for model, way in ways]
