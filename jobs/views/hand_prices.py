"""The owner's list of prices that were set by hand."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.exports import hand_prices_sheet
from jobs.queries.hand_prices import set_by_hand, sums_of
from shop.access import role_required
from shop.models import Role
from shop.web.context import shop_currency
from shop.web.pages import page_of
from shop.web.saving import file_of, wants_file


@role_required(Role.OWNER)
def hand_prices(request: HttpRequest) -> HttpResponse:
    listed = set_by_hand()
    if wants_file(request):
        return file_of(request, hand_prices_sheet(listed, shop_currency()))
    return render(request, "jobs/hand_prices.html", {"entries": page_of(request, listed), "sums": sums_of(listed)})
