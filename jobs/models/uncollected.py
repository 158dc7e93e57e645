"""Sets that nobody collects: proof that a notice arrived, and disputes that stop the clock."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from jobs.models.job import CollectionNotice, Job


class ServiceKind(models.TextChoices):
    POSTED = "posted", "posted"
    DELIVERED = "delivered", "delivered or signed for"
    CAME_BACK = "came_back", "came back undelivered"
    PUBLISHED = "published", "published"


class NoticeService(models.Model):
    """What proves that a notice went out or arrived: a receipt's number, a signature, a date. Append-only."""

    notice = models.ForeignKey(CollectionNotice, on_delete=models.PROTECT, related_name="service")
    kind = models.CharField(max_length=10, choices=ServiceKind)
    on = models.DateField("day")
    proof = models.CharField("receipt or reference number, or who signed", max_length=160)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.notice}: {self.kind}"


class DisputeStep(models.Model):
    """The customer disputes what is owed, or the dispute was settled. Append-only; the newest says how it stands."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="dispute_steps")
    opens = models.BooleanField("opens the dispute; else it settles it")
    text = models.CharField("what is disputed, or how it was settled", max_length=300)
    on = models.DateField("day")
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.job}: {'disputed' if self.opens else 'settled'}"
