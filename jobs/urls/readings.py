"""Addresses of readings of many sets side by side."""

from django.urls import path

from jobs.views import drift, model_history

urlpatterns = [
    path("readings/", drift.role_readings, name="role_readings"),
    path("models/<int:pk>/readings/", drift.model_readings, name="model_readings"),
    path("models/<int:pk>/history/", model_history.model_history, name="model_history"),
    path("models/<int:pk>/history/paper/", model_history.model_history_pdf, name="model_history_pdf"),
    path("positions/<int:pk>/readings/", drift.position_readings, name="position_readings"),
]
