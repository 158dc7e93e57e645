"""Fills the papers of a sale of an uncollected set from its row, the rules of the place and what was paid since."""

from datetime import date, timedelta
from typing import Any

from billing.documents.sale import BuyersPaper, SaleAccount
from billing.queries.sales import open_invoices
from jobs.models import HandOverKind, Job, SafetyCheck
from jobs.queries.papers_in import party_of
from shop.models import Profile
from shop.money import as_money
from shop.paper import Letterhead, Party
from shop.paper.wording import show_day
from shop.place import rules_of


def sale_account(sale: Any, head: Letterhead, *, written_on: date) -> SaleAccount:
    """`sale` as `sales` reads it."""
    rule = rules_of(Profile.current()).uncollected.surplus
    job = sale.job

    def money(minor: int) -> Any:
        return as_money(minor, head.currency)

    return SaleAccount(
        letterhead=head,
        to=party_of(job.customer),
        job_number=job.number,
        set_line=str(job.radio),
        written_on=written_on,
        sold_on=sale.sold_on,
        how=sale.how.rstrip("."),
        price=money(sale.price_minor),
        costs=money(sale.costs_minor),
        costs_text=sale.costs_text,
        owed=money(sale.owed_minor),
        surplus=money(sale.surplus_minor),
        still_owed=money(sum(one.due for one in open_invoices(job))),
        paid_out=money(sale.paid_out),
        left=money(sale.left),
        notice_on=sale.notice.sent_on,
        citation=sale.citation,
        surplus_words=rule.source.text if sale.left else "",
        surplus_citation=rule.source.citation if sale.left else "",
        goes_on=None if rule.days is None else sale.sold_on + timedelta(days=rule.days),
        goes_to=rule.to,
    )


def buyers_paper(sale: Any, head: Letterhead) -> BuyersPaper:
    done = sale.job.hand_over
    name, *address = sale.to_whom.splitlines() or [""]
    unproven = done.kind == HandOverKind.UNSAFE
    return BuyersPaper(
        letterhead=head,
        buyer=Party(name, tuple(address)),
        job_number=sale.job.number,
        set_line=str(sale.job.radio),
        sold_on=sale.sold_on,
        price=as_money(sale.price_minor, head.currency),
        citation=sale.citation,
        proven="" if unproven else _proof(sale.job, head.locale),
        how_disabled=done.how_disabled if unproven else "",
    )


def _proof(job: Job, locale: str) -> str:
    check = SafetyCheck.objects.filter(job=job, passed=True).select_related("person").order_by("-pk").first()
    if check is None:
        return "It passed the electrical safety check."
    return f"It passed the electrical safety check of {show_day(check.at.date(), locale)}, made by {check.person}."
