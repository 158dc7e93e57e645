from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def search(request: HttpRequest) -> HttpResponse:
    return render(request, "shop/search.html")
