"""Addresses of readings of many sets side by side."""

from django.urls import path

from jobs.views import drift

urlpatterns = [
    path("readings/", drift.role_readings, name="role_readings"),
    path("models/<int:pk>/readings/", drift.model_readings, name="model_readings"),
    path("positions/<int:pk>/readings/", drift.position_readings, name="position_readings"),
]
