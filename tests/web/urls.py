"""Addresses of the specimen, and as many of the shop's names as the frame's tabs need."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from shop.access import EVERYBODY, role_required
from shop.models import Role
from tests.web import specimen


def empty(request: HttpRequest) -> HttpResponse:
    return HttpResponse("")


everybody = role_required(*EVERYBODY)(empty)
owner_only = role_required(Role.OWNER)(empty)

urlpatterns = [
    path("", everybody, name="today"),
    path("specimen/", specimen.specimen, name="specimen"),
    path("asked/", specimen.asked),
    path("refused/", specimen.refused),
    path("found/", specimen.found),
    path("search/", everybody, name="search"),
    path("sign-in/", login_not_required(LoginView.as_view(template_name="shop/login.html")), name="login"),
    path("sign-out/", LogoutView.as_view(), name="logout"),
    path("jobs/", include(([path("benches/", everybody, name="benches"), path("", everybody, name="list")], "jobs"))),
    path("shop/", include(([path("owner/", owner_only, name="owner"), path("customers/", everybody, name="customers")], "shop"))),
    path("parts/", include(([path("", everybody, name="parts")], "inventory"))),
    path("money/", include(([path("", role_required(Role.COUNTER)(empty), name="invoices")], "billing"))),
]
