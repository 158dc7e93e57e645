"""Addresses of jobs, a file a subject."""

from jobs.urls import bench, estimates, intake, power

app_name = "jobs"
urlpatterns = [*intake.urlpatterns, *bench.urlpatterns, *power.urlpatterns, *estimates.urlpatterns]
