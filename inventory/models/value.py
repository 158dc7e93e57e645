"""What parts would fetch, and what they were listed at, by date: a past year's end can be valued as it stood. Append-only."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.models.stock import Lot, Part


class Writedown(models.Model):
    """From `from_on`, one part of this lot is worth no more than `unit_milli` (thousandths of the smallest coin), and why."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="writedowns")
    unit_milli = models.PositiveBigIntegerField("realisable value of one")
    from_on = models.DateField()
    reason = models.CharField(max_length=200)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.lot} from {self.from_on}"


class ListPriceChange(models.Model):
    """A part's list price from a moment on; None where it has none and the markup ladder prices it."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="list_price_changes")
    before_minor = models.PositiveBigIntegerField(null=True, blank=True)
    after_minor = models.PositiveBigIntegerField(null=True, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.part}: {self.after_minor}"
