"""What the shop expected of a set before it was repaired, kept so that expectation and outcome can be held side by side."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.estimate import Estimate
from jobs.models.job import Job


class Forecast(models.Model):
    """A price that was expected from past jobs, as it stood when an estimate was sent. Append-only.

    `low_minor`..`high_minor` is the range that holds the price in 80 of 100 cases, `from_jobs` the finished jobs it rests on,
    `facts` what it was drawn from. Sums include tax as the customer pays it.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="forecasts")
    estimate = models.OneToOneField(Estimate, on_delete=models.PROTECT, null=True, blank=True, related_name="forecast")
    from_jobs = models.PositiveIntegerField()
    low_minor = models.PositiveBigIntegerField()
    median_minor = models.PositiveBigIntegerField()
    high_minor = models.PositiveBigIntegerField()
    facts = models.JSONField(default=dict)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(low_minor__lte=models.F("median_minor")) & Q(median_minor__lte=models.F("high_minor")),
                name="a_forecast_runs_upwards",
            )
        ]

    def __str__(self) -> str:
        return f"forecast of {self.job}"
