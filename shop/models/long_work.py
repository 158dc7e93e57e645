"""Work that takes longer than a page may: what it is, how far it got, and what came of it."""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models


class WorkState(models.TextChoices):
    WAITING = "waiting", "waiting its turn"
    RUNNING = "running", "under way"
    DONE = "done", "done"
    STOPPED = "stopped", "stopped on request"
    FAILED = "failed", "failed"


ENDED = (WorkState.DONE, WorkState.STOPPED, WorkState.FAILED)


class LongWork(models.Model):
    """One piece of long work. `total` 0 means that nobody knows how much there is; `message` is a sentence for the person."""

    key = models.UUIDField("key in addresses", default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=40)
    title = models.CharField(max_length=160)
    asked = models.JSONField("what was asked for", default=dict, blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=8, choices=WorkState, default=WorkState.WAITING, db_index=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    stop_asked = models.BooleanField(default=False)
    message = models.CharField(max_length=400, blank=True)
    result = models.FileField(upload_to="work/%Y/%m", blank=True)
    result_name = models.CharField(max_length=160, blank=True)
    back = models.CharField("page it was started from", max_length=400, blank=True)
    made_at = models.DateTimeField()
    heard_at = models.DateTimeField("last sign of life", null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]
        verbose_name_plural = "long work"

    def __str__(self) -> str:
        return self.title

    @property
    def is_over(self) -> bool:
        return self.state in ENDED

    @property
    def share(self) -> float:
        """From 0 to 1."""
        return min(self.done / self.total, 1.0) if self.total else 0.0
