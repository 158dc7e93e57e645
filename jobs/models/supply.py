"""What the service data says of a model's power supply, beyond the parts that stand in its called-for list."""

from typing import ClassVar

from django.db import models

from jobs.models.sets import RadioModel


class Topology(models.TextChoices):
    HALF_WAVE = "half-wave", "Half-wave"
    FULL_WAVE = "full-wave", "Full-wave"


class SupplyFigures(models.Model):
    """Figures of one model's supply, in the unit of their name. Reservoir, smoothing and choke come from the called-for list."""

    model = models.OneToOneField(RadioModel, on_delete=models.PROTECT, related_name="supply_figures")
    topology = models.CharField(max_length=10, choices=Topology)
    volts_rms = models.FloatField("volts rms (each half of the winding, or the line)")
    frequency_hz = models.FloatField("frequency in Hz", default=50)
    source_ohms = models.FloatField("resistance before the rectifier in ohms")
    rectifier = models.CharField("rectifier", max_length=20)
    choke_h = models.FloatField("inductance of choke or field coil in henries", default=0)
    choke_ohms = models.FloatField("resistance of choke, field coil or resistor in ohms")
    load_amps = models.FloatField("current drawn in amperes")
    note = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "supply figures"
        ordering: ClassVar = ["model"]

    def __str__(self) -> str:
        return f"supply of {self.model}"
