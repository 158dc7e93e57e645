"""The first page of the day: what is promised, what waits, what is ready, what runs out."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import today as this_day
from shop.views.day_lists import day_of


@role_required(*EVERYBODY)
def today(request: HttpRequest) -> HttpResponse:
    return render(request, "shop/today.html", {"day": day_of(staff_of(request), this_day())})
