"""Addresses of jobs, a file a subject."""

from jobs.urls import bench, estimates, intake

app_name = "jobs"
urlpatterns = [*intake.urlpatterns, *bench.urlpatterns, *estimates.urlpatterns]
