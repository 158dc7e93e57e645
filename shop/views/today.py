from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def today(request: HttpRequest) -> HttpResponse:
    return render(request, "shop/today.html")
