"""The stock ledger: every part that came, went or was counted, who and why."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.filters import MovementFilter
from inventory.models import Movement
from inventory.queries.lots import ledger
from inventory.tables import MovementTable
from shop.access import EVERYBODY, role_required
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.saving import file_of, table_sheet, wants_file

NAMES = ("q", "kind", "drawer", "reference", "person", "since", "until")


@role_required(*EVERYBODY)
@as_left("inventory:movements", dict.fromkeys(NAMES, ""), MovementFilter)
def movement_list(request: HttpRequest) -> HttpResponse:
    found = MovementFilter(request.GET, queryset=ledger())
    table = MovementTable(found.qs)
    leaf_through(request, table, shown=ledger(), to_count=found.to_count())
    if wants_file(request):
        return file_of(request, table_sheet("movements", table))
    any_move = bool(table.page.object_list) or Movement.objects.exists()
    return render(request, "inventory/movement_list.html", {"found": found, "table": table, "any_move": any_move})
