"""Reforming an electrolytic: voltage brought up in steps, its leakage written down as it falls."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import Lot
from jobs.models.log import Position


class ReformOutcome(models.TextChoices):
    SOUND = "sound", "came back: leakage within the limit"
    LEAKY = "leaky", "still leaks: not to be used"
    STOPPED = "stopped", "stopped without a result"


class Reforming(models.Model):
    """One run on one capacitor, in a set (`position`) or out of a drawer (`lot`). Open until it is ended."""

    position = models.ForeignKey(Position, on_delete=models.PROTECT, null=True, blank=True, related_name="reformings")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="reformings")
    marking = models.CharField("capacitor", max_length=80)
    farads = models.FloatField()
    rated_volts = models.FloatField()
    series_ohms = models.FloatField("series resistor in ohms", null=True, blank=True)
    rule = models.CharField("leakage limit by", max_length=30)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    outcome = models.CharField(max_length=8, choices=ReformOutcome, blank=True)
    note = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-started_at", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(position__isnull=False, lot__isnull=True) | Q(position__isnull=True, lot__isnull=False),
                name="a_reforming_is_of_a_position_or_a_lot",
            ),
            models.UniqueConstraint(
                fields=["position"], condition=Q(ended_at__isnull=True), name="one_open_reforming_a_position"
            ),
        ]

    def __str__(self) -> str:
        return f"reforming of {self.marking}"


class ReformReading(models.Model):
    """Volts across the capacitor and its leakage in amperes at one moment. Append-only: a later one corrects an earlier one."""

    reforming = models.ForeignKey(Reforming, on_delete=models.PROTECT, related_name="readings")
    seq = models.PositiveIntegerField()
    volts = models.FloatField()
    leak_amps = models.FloatField()
    corrects = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by")
    withdrawn = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["reforming", "seq"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["reforming", "seq"], name="one_reform_reading_a_seq")]

    def __str__(self) -> str:
        return f"{self.volts:g} V, {self.leak_amps * 1000:g} mA"
