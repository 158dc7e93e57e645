"""Labour: time by step and person, flat tasks. Entries are append-only like the log; a correction names the one it replaces."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.job import Job
from jobs.models.sets import SetClass


class Step(models.TextChoices):
    INSPECTION = "inspection", "Inspection"
    REPAIR = "repair", "Repair"
    CLEANING = "cleaning", "Cleaning"
    ALIGNMENT = "alignment", "Alignment"
    CABINET = "cabinet", "Cabinet"
    PROVING = "proving", "Safety and soak"
    OTHER = "other", "Other work"


class PricedBy(models.TextChoices):
    JOB = "job", "once a job"
    VALVE = "valve", "for each valve"
    CAPACITOR = "capacitor", "for each capacitor"


class FlatTask(models.Model):
    """Work at a fixed price, whatever the time it takes: once a job, for each valve or for each capacitor.

    One with a `set_class` is offered for sets of that class only.
    """

    name = models.CharField(max_length=80, unique=True)
    step = models.CharField(max_length=12, choices=Step, default=Step.REPAIR)
    price_minor = models.PositiveBigIntegerField("price")
    priced_by = models.CharField(max_length=10, choices=PricedBy, default=PricedBy.JOB)
    set_class = models.ForeignKey(SetClass, on_delete=models.PROTECT, null=True, blank=True, related_name="tasks")
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class Timer(models.Model):
    """A running clock: at most one a person."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="timer")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="timers")
    step = models.CharField(max_length=12, choices=Step)
    started_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.person} on {self.job}"


class LabourEntry(models.Model):
    """`minutes` were worked; `charged_minutes` at `hour_rate_minor`, or `flat_minor`, make the billed `amount_minor`."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="labour")
    worker = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    step = models.CharField(max_length=12, choices=Step)
    text = models.CharField(max_length=160, blank=True)
    worked_on = models.DateField()
    minutes = models.PositiveIntegerField(default=0)
    charged_minutes = models.PositiveIntegerField(default=0)
    hour_rate_minor = models.PositiveBigIntegerField(default=0)
    task = models.ForeignKey(FlatTask, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    task_count = models.PositiveSmallIntegerField("how often the task's price", default=1)
    flat_minor = models.PositiveBigIntegerField(null=True, blank=True)
    amount_minor = models.PositiveBigIntegerField(default=0)
    charged = models.BooleanField(default=True)
    not_charged_reason = models.CharField(max_length=200, blank=True)
    corrects = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by")
    withdrawn = models.BooleanField(default=False)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "labour entries"
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(charged=True) | ~Q(not_charged_reason=""), name="labour_not_charged_says_why")
        ]
        indexes: ClassVar = [models.Index(fields=["worked_on", "id"], name="labour_by_day")]

    def __str__(self) -> str:
        return f"{self.job} {self.step} {self.minutes} min"

    @property
    def billed_minor(self) -> int:
        return self.amount_minor if self.charged and not self.withdrawn else 0
