"""Addresses of the power supply: a model's figures, and what another part would do in a job."""

from django.urls import path

from jobs.views import supply

urlpatterns = [
    path("models/<int:pk>/supply/", supply.supply_figures, name="supply_figures"),
    path("<int:pk>/supply/", supply.supply, name="supply"),
]
