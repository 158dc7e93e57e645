"""When the shop is backed up, where to, and how long copies are kept. What was made is read from the copies themselves."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class BackupPlan(models.Model):
    """The one plan of this shop. Counts of copies: the newest of each day, week, month and year are kept that far back."""

    hour = models.PositiveSmallIntegerField("hour of the day, shop's time", default=20, validators=[MaxValueValidator(23)])
    second_place = models.CharField("second place, such as a stick or a folder of another machine", max_length=400, blank=True)
    keep_days = models.PositiveSmallIntegerField("days", default=14, validators=[MinValueValidator(2)])
    keep_weeks = models.PositiveSmallIntegerField("weeks", default=8)
    keep_months = models.PositiveSmallIntegerField("months", default=24)
    keep_years = models.PositiveSmallIntegerField("years", default=10)
    late_hours = models.PositiveSmallIntegerField(
        "warn where the last good copy is older than, hours", default=36, validators=[MinValueValidator(2)]
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(pk=1), name="one_backup_plan")]

    def __str__(self) -> str:
        return f"daily at {self.hour}"
