"""Addresses of bad lots: the list, the sets one is in, the letters."""

from django.urls import path

from jobs.views import bad_lots

urlpatterns = [
    path("bad-lots/", bad_lots.bad_lot_list, name="bad_lots"),
    path("bad-lots/<int:pk>/", bad_lots.bad_lot, name="bad_lot"),
    path("bad-lots/<int:pk>/letters/", bad_lots.bad_lot_letters, name="bad_lot_letters"),
    path("bad-lots/<int:pk>/sent/", bad_lots.bad_lot_sent, name="bad_lot_sent"),
    path("bad-lots/<int:pk>/unsent/", bad_lots.bad_lot_unsent, name="bad_lot_unsent"),
    path("bad-lots/<int:pk>/answers/", bad_lots.bad_lot_answer, name="bad_lot_answer"),
]
