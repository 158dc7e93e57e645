"""The stock ledger: every part that came, went or was counted, who and why."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django_tables2 import RequestConfig

from inventory.filters import MovementFilter
from inventory.models import Movement
from inventory.queries.lots import ledger
from inventory.tables import MovementTable
from shop.access import EVERYBODY, role_required
from shop.web.pages import ROWS_A_PAGE


@role_required(*EVERYBODY)
def movement_list(request: HttpRequest) -> HttpResponse:
    found = MovementFilter(request.GET, queryset=ledger())
    table = MovementTable(found.qs)
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE}).configure(table)
    any_move = bool(table.page.object_list) or Movement.objects.exists()
    return render(request, "inventory/movement_list.html", {"found": found, "table": table, "any_move": any_move})
