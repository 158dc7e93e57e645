"""What the till holds of a customer, as plain data for a copy; in the manner of `jobs.queries.personal_copy`."""

from typing import Any

from billing.models import Invoice, SurplusPayment, UncollectedSale
from jobs.queries.personal_copy import Data, moment
from shop.models import Customer
from shop.money import plain


def papers_held(customer: Customer) -> list[Data]:
    """Invoices and credit notes as they were issued, each with its payments."""
    papers = Invoice.objects.filter(customer=customer).select_related("job", "credits").order_by("pk")
    return [_paper(one) for one in papers.prefetch_related("lines", "payments")]


def _paper(one: Invoice) -> Data:
    code = one.currency
    return {
        "number": one.number,
        "kind": one.get_kind_display(),
        "job": one.job.number,
        "credits": one.credits.number if one.credits else None,
        "reason": one.reason,
        "buyer": {
            "name": one.buyer_name,
            "address": one.buyer_address,
            "country": one.buyer_country,
            "tax_id": one.buyer_tax_id,
            "reference": one.buyer_reference,
        },
        "set": one.set_line,
        "fault": one.fault,
        "issued_on": one.issued_on.isoformat(),
        "due_on": one.due_on.isoformat(),
        "currency": code,
        "net": plain(one.net_minor, code),
        "tax": plain(one.tax_minor, code),
        "total": plain(one.gross_minor, code),
        "deposits_set_off": plain(one.prepaid_minor, code),
        "lines": [_line(line, code) for line in one.lines.all()],  # type: ignore[attr-defined]
        "payments": [_payment(paid, code) for paid in one.payments.all()],  # type: ignore[attr-defined]
    }


def _line(line: Any, code: str) -> Data:
    return {
        "text": line.text,
        "count": line.count,
        "sum": plain(line.amount_minor, code),
        "charged": line.charged,
        "not_charged_reason": line.not_charged_reason,
    }


def _payment(paid: Any, code: str) -> Data:
    how = paid.get_how_display() if paid.how else ""
    return {"kind": paid.get_kind_display(), "sum": plain(paid.amount_minor, code), "how": how, "at": moment(paid.at)} | {
        "note": paid.note
    }


def sales_held(customer: Customer, code: str) -> list[Data]:
    """Of sets that weren't collected. Who bought one is somebody else's data and isn't given."""
    return [
        {
            "job": one.job.number,
            "sold_on": one.sold_on.isoformat(),
            "price": plain(one.price_minor, code),
            "costs": plain(one.costs_minor, code),
            "owed": plain(one.owed_minor, code),
            "surplus": plain(one.surplus_minor, code),
            "paid_out": [_paid_out(paid, code) for paid in SurplusPayment.objects.filter(sale=one)],
        }
        for one in UncollectedSale.objects.filter(job__customer=customer).select_related("job").order_by("pk")
    ]


def _paid_out(paid: SurplusPayment, code: str) -> Data:
    return {"sum": plain(paid.amount_minor, code), "to_whom": paid.to_whom, "at": moment(paid.at), "note": paid.note}


def paper_keys(customer: Customer) -> list[int]:
    return list(Invoice.objects.filter(customer=customer).order_by("pk").values_list("pk", flat=True))
