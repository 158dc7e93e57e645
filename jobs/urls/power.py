"""Addresses of what is worked out from readings under power: the output stage, reforming."""

from django.urls import path

from jobs.views import output_stage

urlpatterns = [
    path("<int:pk>/output-stage/", output_stage.output_stage, name="output_stage"),
]
