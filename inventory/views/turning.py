"""How often the stock turns, and what lies dead: the owner's pages."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.exports import dead_sheet, turns_sheet
from inventory.forms.valuing import DeadForm, PeriodForm
from inventory.queries.house import dead, turns
from inventory.queries.turning import dead_lots, turns_between
from inventory.views.acting import terms
from shop.access import role_required
from shop.clock import today
from shop.models import Role
from shop.web.saving import file_of, wants_file
from shop.web.tallied import count_now, tallied


@role_required(Role.OWNER)
def stock_turns(request: HttpRequest) -> HttpResponse:
    day = today()
    form = PeriodForm(request.GET, today=day)
    if wants_file(request):
        return file_of(request, turns_sheet(turns_between(*form.period), terms(request).currency))
    question = turns.asked(form.period, day)
    if request.method == "POST":
        return count_now(request, turns.STOCK_TURNS, question)
    counted = tallied(request, turns.STOCK_TURNS, question)
    counted.leaf.object_list = turns.parts_turning(counted.leaf.object_list)
    context = {
        "form": form,
        "tallied": counted,
        "found": turns.turns_shown(counted.figures) if counted.is_counted else None,
        "parts": counted.leaf,
        "this_year": (date(day.year, 1, 1), day),
        "last_year": (date(day.year - 1, 1, 1), date(day.year - 1, 12, 31)),
    }
    return render(request, "inventory/stock_turns.html", context)


@role_required(Role.OWNER)
def dead_stock(request: HttpRequest) -> HttpResponse:
    form = DeadForm(request.GET, today=today())
    if wants_file(request):
        return file_of(request, dead_sheet(dead_lots(today(), form.asked("days")), terms(request).currency))
    question = dead.asked(form.asked("days"))
    if request.method == "POST":
        return count_now(request, dead.DEAD_STOCK, question)
    counted = tallied(request, dead.DEAD_STOCK, question)
    counted.leaf.object_list = dead.lots_shown(counted.leaf.object_list, today())
    context = {
        "form": form,
        "days": form.asked("days"),
        "tallied": counted,
        "lots": counted.leaf,
        **counted.figures,
    }
    return render(request, "inventory/dead_stock.html", context)
