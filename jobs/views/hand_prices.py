"""The owner's list of prices that were set by hand."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.queries.hand_prices import set_by_hand, sums_of
from shop.access import role_required
from shop.models import Role
from shop.web.pages import page_of


@role_required(Role.OWNER)
def hand_prices(request: HttpRequest) -> HttpResponse:
    listed = set_by_hand()
    return render(request, "jobs/hand_prices.html", {"entries": page_of(request, listed), "sums": sums_of(listed)})
