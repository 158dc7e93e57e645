"""The books for the accountant: journal, tax and papers of a period, each as a page and as a file."""

from typing import Any

from django.db.models import Min
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from billing import exports
from billing.forms import PeriodForm
from billing.models import Invoice
from billing.queries.journal import Journal, journal_of
from billing.queries.periods import Period
from billing.queries.tax_report import TaxReport, paper_rows, tax_report
from shop.access import role_required
from shop.clock import today
from shop.models import Role
from shop.tabular import TYPES
from shop.web.context import shop_currency
from shop.web.pages import page_of
from shop.web.saving import file_of


def _form(request: HttpRequest) -> PeriodForm:
    since = Invoice.objects.aggregate(first=Min("issued_on"))["first"] or today()
    asked = {name: request.GET[name] for name in ("period", "first", "last") if name in request.GET}
    return PeriodForm(asked or None, since=min(since, today()), today=today())


def _wants_file(request: HttpRequest, period: Period | None) -> bool:
    return period is not None and request.GET.get("as") in TYPES


def _show(request: HttpRequest, template: str, form: PeriodForm, period: Period | None, **more: Any) -> HttpResponse:
    status = 422 if form.is_bound and form.errors else 200
    return render(request, template, {"form": form, "period": period, **more}, status=status)


@role_required(Role.OWNER)
def books(request: HttpRequest) -> HttpResponse:
    """What there is, and the sums of the period by account and by tax."""
    form = _form(request)
    period = form.asked()
    journal: Journal | None = journal_of(period, shop_currency()) if period else None
    report: TaxReport | None = tax_report(period) if period else None
    return _show(request, "billing/books.html", form, period, journal=journal, report=report)


@role_required(Role.OWNER)
def journal(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    period = form.asked()
    kept = journal_of(period, shop_currency()) if period else None
    if kept and _wants_file(request, period):
        return file_of(request, exports.journal_sheet(kept))
    page = page_of(request, kept.entries) if kept else None
    return _show(request, "billing/journal.html", form, period, page=page)


@role_required(Role.OWNER)
def tax(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    period = form.asked()
    report = tax_report(period) if period else None
    if report and _wants_file(request, period):
        return file_of(request, exports.tax_sheet(report))
    return _show(request, "billing/tax.html", form, period, report=report)


@role_required(Role.OWNER)
def paper_list(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    period = form.asked()
    rows = paper_rows(period) if period else []
    if period and _wants_file(request, period):
        return file_of(request, exports.papers_sheet(rows, f"papers-{period.file_part}"))
    return _show(request, "billing/paper_list.html", form, period, page=page_of(request, rows))
