"""What the stock is worth: the owner's page, and its tables for whoever keeps the books."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.forms.valuing import ValueForm
from inventory.queries.house.value import STOCK_VALUE, asked, parts_shown, value_shown
from inventory.queries.valuing import StockValue, Worth, value_on
from inventory.valuation import coins
from inventory.views.acting import terms
from shop.access import role_required
from shop.clock import today
from shop.models import Role
from shop.money import as_money
from shop.tabular import CSV_TYPE, XLSX_TYPE, Cell, csv_bytes, xlsx_bytes
from shop.web.tallied import count_now, tallied

WORTHS = ("On hand", "Cost by lot", "Cost by FIFO", "Cost by weighted average", "Would fetch", "Value taken")
PART_HEADINGS = ("Part", "Kind", *WORTHS)
LOT_HEADINGS = (
    *("Lot", "Part", "Kind", "Came in", "Class", "Blocked", "On hand", "Cost each", "Cost"),
    *("Would fetch each", "By", "Value taken"),
)


@role_required(Role.OWNER)
def stock_value(request: HttpRequest) -> HttpResponse:
    form = ValueForm(request.GET, today=today())
    question = asked(form.asked("day"), today(), form.asked("kind") or "")
    if request.method == "POST":
        return count_now(request, STOCK_VALUE, question)
    found = tallied(request, STOCK_VALUE, question)
    found.leaf.object_list = parts_shown(found.leaf.object_list)
    context = {
        "form": form,
        "tallied": found,
        "value": value_shown(found.figures) if found.is_counted else None,
        "day": form.asked("day"),
        "parts": found.leaf,
        "last_year_end": date(today().year - 1, 12, 31),
        "today": today(),
        "query": request.GET.urlencode(),
    }
    return render(request, "inventory/stock_value.html", context)


@role_required(Role.OWNER)
def stock_value_csv(request: HttpRequest) -> HttpResponse:
    name, headings, rows = _table(request)
    return _file(csv_bytes(headings, rows), CSV_TYPE, f"{name}.csv")


@role_required(Role.OWNER)
def stock_value_xlsx(request: HttpRequest) -> HttpResponse:
    name, headings, rows = _table(request)
    return _file(xlsx_bytes(name, headings, rows), XLSX_TYPE, f"{name}.xlsx")


def _file(content: bytes, kind: str, name: str) -> HttpResponse:
    return HttpResponse(content, content_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def _table(request: HttpRequest) -> tuple[str, tuple[str, ...], Iterator[list[Cell]]]:
    """File name, headings and rows, a row a part, or a lot where `by=lot` asks for it; all of them, whatever page is shown."""
    currency, form = terms(request).currency, ValueForm(request.GET, today=today())
    value = value_on(form.asked("day"), kind=form.asked("kind") or "")
    if request.GET.get("by") == "lot":
        return f"stock-by-lot-{value.day}", LOT_HEADINGS, _lot_rows(value, currency)
    return f"stock-value-{value.day}", PART_HEADINGS, _part_rows(value, currency)


def _sum(milli: int | Fraction, currency: str) -> Decimal:
    return as_money(coins(milli), currency).amount


def _worth_cells(worth: Worth, currency: str) -> list[Cell]:
    sums = (worth.cost_milli, worth.fifo_milli, worth.average_milli, worth.realisable_milli, worth.taken_milli)
    return [worth.on_hand, *(_sum(one, currency) for one in sums)]


def _part_rows(value: StockValue, currency: str) -> Iterator[list[Cell]]:
    for one in value.parts:
        yield [one.part.title, one.part.get_kind_display(), *_worth_cells(one.worth, currency)]
    yield ["Total", "", *_worth_cells(value.total, currency)]


def _lot_rows(value: StockValue, currency: str) -> Iterator[list[Cell]]:
    for part in value.parts:
        for one in part.lots:
            lot, fine = one.lot, as_money(1, currency).amount / 1000
            yield [
                *(lot.pk, part.part.title, part.part.get_kind_display(), lot.received_on, lot.get_condition_display()),
                *(lot.blocked_reason, one.on_hand, lot.unit_cost_milli * fine, _sum(one.cost_milli, currency)),
                *(one.fetches.unit_milli * fine, one.fetches.by, _sum(one.taken_milli, currency)),
            ]
