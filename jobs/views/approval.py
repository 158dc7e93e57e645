from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


@login_not_required
def approve(request: HttpRequest, token: str) -> HttpResponse:
    return render(request, "jobs/approval.html")
