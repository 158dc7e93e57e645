"""What the shop stands by, per line, until when."""

from typing import ClassVar

from django.db import models

from jobs.models.job import Job
from jobs.models.labour import LabourEntry
from jobs.models.log import LogEntry


class Warranty(models.Model):
    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="warranty")
    starts_on = models.DateField()

    class Meta:
        verbose_name_plural = "warranties"

    def __str__(self) -> str:
        return f"warranty of {self.job}"


class WarrantyLine(models.Model):
    """One line of what is covered (or is not, with the reason in `note`). Append-only."""

    warranty = models.ForeignKey(Warranty, on_delete=models.PROTECT, related_name="lines")
    entry = models.ForeignKey(LogEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="warranty_lines")
    labour = models.ForeignKey(LabourEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="warranty_lines")
    text = models.CharField(max_length=300)
    covered = models.BooleanField(default=True)
    until_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return self.text
