"""What proves a set: the second look, the electrical safety check, the soak, the hand-over."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from jobs.models.job import Job


class SecondLook(models.Model):
    """Somebody went through the second-look list and says that the set may be powered: the log as it stood at `log_seq`."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="second_looks")
    log_seq = models.PositiveIntegerField()
    note = models.CharField(max_length=300, blank=True)
    accepted = models.TextField("points that were open and accepted", blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"second look at {self.job}"


class SafetyCheck(models.Model):
    """One electrical safety check. Append-only. It holds for the log at `log_seq`: a part fitted later voids it."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="safety_checks")
    practice = models.CharField(max_length=40)
    earthed = models.BooleanField("the set has a protective earth", default=False)
    isolating_transformer = models.BooleanField("made behind an isolating transformer", default=False)
    instrument = models.CharField(max_length=80, blank=True)
    passed = models.BooleanField()
    findings = models.TextField(blank=True)
    log_seq = models.PositiveIntegerField()
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"safety check of {self.job}: {'passed' if self.passed else 'failed'}"


class SafetyReading(models.Model):
    check_made = models.ForeignKey(SafetyCheck, on_delete=models.PROTECT, related_name="readings")
    test = models.CharField(max_length=40)
    label = models.CharField(max_length=200)
    polarity = models.CharField(max_length=10, blank=True)
    switch = models.CharField(max_length=4, blank=True)
    reading = models.CharField(max_length=40)
    unit = models.CharField(max_length=12)
    limit = models.CharField(max_length=60)
    source = models.CharField(max_length=200, blank=True)
    passed = models.BooleanField()

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.label}: {self.reading} {self.unit}"


class SoakRun(models.Model):
    """The long run on the bench. Open until it is ended with its hours and result."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="soaks")
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    minutes = models.PositiveIntegerField(default=0)
    passed = models.BooleanField(default=False)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["job"], condition=models.Q(ended_at__isnull=True), name="one_open_soak_a_job")
        ]

    def __str__(self) -> str:
        return f"soak of {self.job}"


class HandOverKind(models.TextChoices):
    PROVEN = "proven", "Proven safe and working"
    UNSAFE = "unsafe", "Returned unsafe, disabled"


class HandOver(models.Model):
    """The set went back to its owner. Append-only, once a job."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="hand_over")
    kind = models.CharField(max_length=8, choices=HandOverKind)
    received_by = models.CharField("received and signed by", max_length=120)
    how_disabled = models.CharField(max_length=200, blank=True)
    money = models.CharField("how the money stood", max_length=200, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"hand-over of {self.job}"
