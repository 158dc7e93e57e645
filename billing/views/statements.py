"""A customer's account from a day to a day, as a page, a paper and a table; and how late everybody's money is."""

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from billing import exports, papers
from billing.documents.statement import StatementPaper
from billing.forms import AsOfForm, DaysForm
from billing.queries.ageing import COLUMNS, ageing
from billing.queries.statement import CustomerAccount, accounts_of
from shop.access import role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.models import Customer, Role
from shop.tabular import TYPES
from shop.web.saving import file_of


def _days(form: DaysForm) -> tuple[date | None, date]:
    """What the address asks for; days that can't be read ask for everything until today."""
    typed = form.cleaned_data if form.is_valid() else {}
    return typed.get("first"), typed.get("last") or today()


def _asked(request: HttpRequest, pk: int) -> tuple[Customer, DaysForm, list[CustomerAccount]]:
    customer, form = get_object_or_404(Customer, pk=pk), DaysForm(request.GET or None)
    return customer, form, accounts_of(customer, *_days(form))


@role_required(Role.COUNTER)
def account(request: HttpRequest, pk: int) -> HttpResponse:
    """Every paper, payment, move and sum let go of a customer; `?as=csv` or `xlsx` gives the same as a table."""
    customer, form, accounts = _asked(request, pk)
    if request.GET.get("as") in TYPES:
        return file_of(request, exports.statement_sheet(accounts, f"account-{customer.pk}"))
    context = {
        "customer": customer,
        "form": form,
        "accounts": [{"account": one, "lines": list(zip(one.lines, one.balances(), strict=True))} for one in accounts],
        "query": _query(form),
    }
    return render(request, "billing/account.html", context)


def _query(form: DaysForm) -> str:
    first, last = _days(form)
    return "&".join(f"{name}={day.isoformat()}" for name, day in (("first", first), ("last", last)) if day)


def paper_asked(request: HttpRequest, pk: int) -> StatementPaper:
    """The same as a paper for the customer, in one currency: the one asked for, or the shop's."""
    customer, form = get_object_or_404(Customer, pk=pk), DaysForm(request.GET or None)
    first, last = _days(form)
    currency = request.GET.get("currency", "")
    known = {one.currency for one in accounts_of(customer, first, last)}
    wanted = currency if currency in known else ""
    return papers.statement_paper(customer, letterhead(), as_of_on=last, first=first, currency=wanted)


@role_required(Role.COUNTER)
def ageing_page(request: HttpRequest) -> HttpResponse:
    """What is owed by how late it is, as it stood on any day."""
    form = AsOfForm(request.GET or None)
    asked = form.cleaned_data.get("day") if form.is_valid() else None
    aged = ageing(asked or today())
    if request.GET.get("as") in TYPES:
        return file_of(request, exports.ageing_sheet(aged))
    context: dict[str, Any] = {"form": form, "aged": aged, "columns": COLUMNS, "totals": aged.totals()}
    return render(request, "billing/ageing.html", context)
