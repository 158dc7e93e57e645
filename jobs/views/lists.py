"""Lists over all jobs: the sets that were ever here, and the labour."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.filters import OPEN, LabourFilter, SetFilter
from jobs.models import LabourEntry, RadioSet
from jobs.queries.known import listed_sets
from jobs.tables import LabourTable, SetTable
from shop.access import EVERYBODY, role_required
from shop.models import Profile
from shop.web.context import shop_profile
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.saving import file_of, table_sheet, wants_file


@role_required(*EVERYBODY)
@as_left("jobs:sets", {"q": ""}, SetFilter)
def set_list(request: HttpRequest) -> HttpResponse:
    found = SetFilter(request.GET, queryset=listed_sets())
    table = SetTable(found.qs)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("sets", table))
    any_set = bool(table.page.object_list) or RadioSet.objects.exists()
    return render(request, "jobs/set_list.html", {"found": found, "table": table, "any_set": any_set})


@role_required(*EVERYBODY)
@as_left("jobs:labour_list", {"q": "", "worker": "", "step": "", "since": "", "until": "", "show": OPEN}, LabourFilter)
def labour_list(request: HttpRequest) -> HttpResponse:
    profile = shop_profile(request) or Profile()
    # Who worked is read for the rows that are shown: joined, it would tempt a planner to begin at the few people.
    entries = LabourEntry.objects.select_related("job").prefetch_related("worker", "task", "corrected_by")
    found = LabourFilter(request.GET, queryset=entries)
    table = LabourTable(found.qs, currency=profile.currency, locale=profile.locale)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("labour", table))
    any_entry = bool(table.page.object_list) or LabourEntry.objects.exists()
    return render(request, "jobs/labour_list.html", {"found": found, "table": table, "any_entry": any_entry})
