"""Addresses of jobs, a file a subject."""

from jobs.urls import bad_lots, bench, claims, estimates, intake, one_line, own_parts, power, readings, service_sheets, supply

app_name = "jobs"
urlpatterns = [
    *intake.urlpatterns,
    *bench.urlpatterns,
    *one_line.urlpatterns,
    *power.urlpatterns,
    *readings.urlpatterns,
    *supply.urlpatterns,
    *service_sheets.urlpatterns,
    *estimates.urlpatterns,
    *bad_lots.urlpatterns,
    *claims.urlpatterns,
    *own_parts.urlpatterns,
]
