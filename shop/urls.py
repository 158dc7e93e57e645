"""Every address of the shop. The roof knows every app; no app knows another's addresses but by name."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from jobs.views import approval
from shop.views import calendar, search, today

handler500 = "shop.views.broken.broken"
urlpatterns = [
    path("", today.today, name="today"),
    path("search/", search.search, name="search"),
    path("sign-in/", login_not_required(LoginView.as_view(template_name="shop/login.html")), name="login"),
    path("sign-out/", LogoutView.as_view(), name="logout"),
    # The customer's page: a private address, no signing in.
    path("answer/<str:token>/", approval.approve, name="approve"),
    path("answer/<str:token>/photos/<int:pk>/", approval.approve_photo, name="approve_photo"),
    path("answer/<path:rest>/", approval.approve_nothing, name="approve_nothing"),
    # What a calendar program reads: a private address, no signing in.
    path("calendar/<str:token>/days.ics", calendar.calendar_feed, name="calendar_feed"),
    path("calendar/<path:rest>", calendar.calendar_nothing, name="calendar_nothing"),
    path("house/", include("shop.house_urls")),
    path("drawers/", include("inventory.urls")),
    path("jobs/", include("jobs.urls")),
    path("money/", include("billing.urls")),
]
