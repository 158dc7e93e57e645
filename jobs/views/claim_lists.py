"""All sets that came back, why they did, and the paper of a decision."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from jobs.filters import ALL, ClaimFilter
from jobs.models import Claim
from jobs.queries import drawn
from jobs.queries.claim_list import cause_counts, listed_claims
from jobs.tables import ClaimTable
from shop.access import EVERYBODY, role_required
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pdf import answer_with
from shop.web.saving import file_of, table_sheet, wants_file


@role_required(*EVERYBODY)
@as_left("jobs:claims", {"q": "", "show": ALL, "cause": "", "since": "", "until": ""}, ClaimFilter)
def claim_list(request: HttpRequest) -> HttpResponse:
    found = ClaimFilter(request.GET, queryset=listed_claims())
    table = ClaimTable(found.qs)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("claims", table))
    any_claim = bool(table.page.object_list) or Claim.objects.exists()
    context = {"found": found, "table": table, "any_claim": any_claim, "causes": cause_counts(found.qs) if any_claim else []}
    return render(request, "jobs/claims.html", context)


@role_required(*EVERYBODY)
def claim_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The newest decision of a job's claim, for the customer."""
    return answer_with(lambda: drawn.claim_verdict(pk), back=reverse("jobs:claim", args=[pk]))
