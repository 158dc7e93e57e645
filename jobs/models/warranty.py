"""What the shop stands by, per line, until when; and who holds the promise after a set changed hands."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from jobs.models.job import Job
from jobs.models.labour import LabourEntry
from jobs.models.log import LogEntry
from shop.models import Customer, WarrantyStart


class CoverKind(models.TextChoices):
    """What kind of line it is: each has a time of its own in the shop's terms."""

    LABOUR = "labour", "Work"
    NEW_PART = "new_part", "New part"
    USED_PART = "used_part", "Used or rebuilt part"
    NEW_VALVE = "new_valve", "New or unused valve"
    USED_VALVE = "used_valve", "Used valve"
    OWN_PART = "own_part", "Customer's own part"
    LEFT_IN = "left_in", "Left in as it was"


class Warranty(models.Model):
    """`terms` are those of the day it began, frozen: days by kind of line, what ends the cover, what the place's law says."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="warranty")
    starts_on = models.DateField()
    start_event = models.CharField(max_length=10, choices=WarrantyStart, default=WarrantyStart.HAND_OVER)
    transfers = models.BooleanField("goes with the set to a new owner", default=True)
    terms = models.JSONField(default=dict, blank=True)

    class Meta:
        verbose_name_plural = "warranties"

    def __str__(self) -> str:
        return f"warranty of {self.job}"


class WarrantyLine(models.Model):
    """One line of what is covered (or is not, with the reason in `note`). Append-only."""

    warranty = models.ForeignKey(Warranty, on_delete=models.PROTECT, related_name="lines")
    entry = models.ForeignKey(LogEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="warranty_lines")
    labour = models.ForeignKey(LabourEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="warranty_lines")
    kind = models.CharField(max_length=10, choices=CoverKind, blank=True)
    designator = models.CharField(max_length=16, blank=True)
    text = models.CharField(max_length=300)
    covered = models.BooleanField(default=True)
    days = models.PositiveSmallIntegerField(null=True, blank=True)
    until_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return self.text


class WarrantyTransfer(models.Model):
    """A set under warranty changed hands. Append-only."""

    warranty = models.ForeignKey(Warranty, on_delete=models.PROTECT, related_name="transfers_made")
    from_customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="+")
    to_customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="+")
    moved_on = models.DateField()
    goes_along = models.BooleanField("the warranty goes along")
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.warranty} to {self.to_customer}"
