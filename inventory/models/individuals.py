"""Valves kept as individuals: a lot of one with a mark, the readings of a tester, and what it is matched with."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.stock import Lot


class ValveTester(models.Model):
    """A valve tester of the shop. A reading is worth nothing without it, its calibration and a date."""

    name = models.CharField(max_length=80, unique=True)
    calibrated_on = models.DateField("last calibrated on", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class ValveVerdict(models.TextChoices):
    GOOD = "good", "good"
    USABLE = "usable", "usable"
    WEAK = "weak", "weak"
    FAULTY = "faulty", "faulty"


class ValveTest(models.Model):
    """One reading of a valve on a tester. Append-only; the tester's name and calibration stay as they were that day."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="tests")
    tester = models.ForeignKey(ValveTester, on_delete=models.PROTECT, related_name="+")
    tester_name = models.CharField(max_length=80)
    calibrated_on = models.DateField(null=True, blank=True)
    reading = models.CharField("reading, as the tester shows it", max_length=160)
    percent_of_new = models.PositiveSmallIntegerField("% of a new one", null=True, blank=True)
    verdict = models.CharField(max_length=8, choices=ValveVerdict)
    note = models.CharField(max_length=200, blank=True)
    tested_on = models.DateField()
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(reading=""), name="a_valve_test_has_a_reading")]

    def __str__(self) -> str:
        return f"{self.reading} ({self.tester_name})"


class MatchedSet(models.Model):
    """Valves that were matched and stay together: a pair, a quartet."""

    note = models.CharField("matched by", max_length=200)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    parted_at = models.DateTimeField(null=True, blank=True)
    parted_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"matched set {self.pk}"


class LotPhoto(models.Model):
    """A picture of a lot: its bag, its print, its date code."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="photos")
    image = models.ImageField(upload_to="lots/%Y/%m", width_field="width", height_field="height")
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    caption = models.CharField(max_length=160, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return self.caption or f"photo of {self.lot}"
