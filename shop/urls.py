"""Every address of the shop. The roof knows every app; no app knows another's addresses but by name."""

from django.urls import include, path

from jobs.views import approval
from shop.views import calendar, search, sign_in, today

handler500 = "shop.views.broken.broken"
urlpatterns = [
    path("", today.today, name="today"),
    path("search/", search.search, name="search"),
    path("sign-in/", sign_in.sign_in, name="login"),
    path("sign-in/code/", sign_in.sign_in_code, name="login_code"),
    path("sign-out/", sign_in.sign_out, name="logout"),
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
