"""What people asked about the data the shop holds of them, and what was answered."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from shop.models.customers import Customer


class DataRequestKind(models.TextChoices):
    COPY = "copy", "Copy given"
    ERASE = "erase", "Erased what no law keeps"
    REFUSED = "refused", "Refused, with the reason"
    CLOCK = "clock", "Erased as the time of keeping had ended"


class DataRequest(models.Model):
    """One request and what was done about it. Append-only.

    `answer` says by kind of data how many things were given or erased and what is kept, under which law, until when; it holds no
    personal data itself.
    """

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="data_requests")
    kind = models.CharField(max_length=8, choices=DataRequestKind)
    asked_on = models.DateField()
    how = models.CharField("how it was asked", max_length=80, blank=True)
    note = models.CharField(max_length=300, blank=True)
    answer = models.JSONField(default=dict)
    digest = models.CharField("SHA-256 of the archive that was given", max_length=64, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.kind} for {self.customer_id}"
