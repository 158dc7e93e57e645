"""Addresses of the one line of the change log: writing it, how it is read, taking it back."""

from django.urls import path

from jobs.views import one_line

urlpatterns = [
    path("<int:pk>/log/line/", one_line.line, name="line"),
    path("<int:pk>/log/line/read/", one_line.line_read, name="line_read"),
    path("<int:pk>/log/line/take-back/", one_line.line_take_back, name="line_take_back"),
]
