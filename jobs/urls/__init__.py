"""Addresses of jobs, a file a subject."""

from jobs.urls import bench, estimates, intake, power, supply

app_name = "jobs"
urlpatterns = [*intake.urlpatterns, *bench.urlpatterns, *power.urlpatterns, *supply.urlpatterns, *estimates.urlpatterns]
