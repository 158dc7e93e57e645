"""Where people work, the counters that number papers, and the marks of forms that were sent."""

import uuid
from typing import ClassVar

from django.core.validators import MaxValueValidator
from django.db import models


class Bench(models.Model):
    """A place where one job at a time is worked on."""

    name = models.CharField(max_length=40, unique=True)
    order = models.PositiveSmallIntegerField(default=0)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["order", "name"]
        verbose_name_plural = "benches"

    def __str__(self) -> str:
        return self.name


class NumberSeries(models.Model):
    """The last number given in a series and year; the row is locked while a paper is numbered, so none is skipped or doubled."""

    series = models.CharField(max_length=8)
    year = models.PositiveSmallIntegerField(validators=[MaxValueValidator(9999)])
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["series", "year"], name="one_counter_a_year")]

    def __str__(self) -> str:
        return f"{self.series}-{self.year}: {self.last}"


class ActOnce(models.Model):
    """The mark that one sent form leaves: the same form sent again finds it and acts no second time."""

    token = models.UUIDField(primary_key=True, default=uuid.uuid4)
    act = models.CharField(max_length=60)
    answer = models.CharField(max_length=400, blank=True)
    at = models.DateTimeField()

    class Meta:
        verbose_name = "act done once"

    def __str__(self) -> str:
        return f"{self.act} {self.token}"
