"""How often the stock turns, and what lies dead: the owner's pages."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.exports import dead_sheet, turns_sheet
from inventory.forms.valuing import DeadForm, PeriodForm
from inventory.queries.turning import dead_lots, turns_between
from inventory.views.acting import terms
from shop.access import role_required
from shop.clock import today
from shop.models import Role
from shop.web.pages import page_of
from shop.web.saving import file_of, wants_file


@role_required(Role.OWNER)
def stock_turns(request: HttpRequest) -> HttpResponse:
    day = today()
    form = PeriodForm(request.GET, today=day)
    found = turns_between(*form.period)
    if wants_file(request):
        return file_of(request, turns_sheet(found, terms(request).currency))
    context = {
        "form": form,
        "found": found,
        "parts": page_of(request, found.parts),
        "this_year": (date(day.year, 1, 1), day),
        "last_year": (date(day.year - 1, 1, 1), date(day.year - 1, 12, 31)),
    }
    return render(request, "inventory/stock_turns.html", context)


@role_required(Role.OWNER)
def dead_stock(request: HttpRequest) -> HttpResponse:
    form = DeadForm(request.GET, today=today())
    found = dead_lots(today(), form.asked("days"))
    if wants_file(request):
        return file_of(request, dead_sheet(found, terms(request).currency))
    context = {
        "form": form,
        "days": form.asked("days"),
        "lots": page_of(request, found),
        "count": len(found),
        "cost_milli": sum(one.cost_milli for one in found),
        "open_milli": sum(one.cost_milli for one in found if one.can_go_back),
    }
    return render(request, "inventory/dead_stock.html", context)
