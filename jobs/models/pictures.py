"""Pictures: photos of a job, and pages of the shop's own service sheets with the places of positions on them."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.job import Job
from jobs.models.sets import RadioModel

WHOLE = 10_000
"""Places on a page are counted in ten-thousandths of its width and height, from its upper left corner."""


class Moment(models.TextChoices):
    """What a photo shows of the set's way through the shop."""

    FOUND = "found", "as it was found"
    WORK = "work", "during the work"
    DONE = "done", "when it was done"


class Photo(models.Model):
    """A photo of a job, perhaps of one position. `digest` is the SHA-256 of the file kept, so that a change can be seen.

    Photos are evidence: none is removed. One sent in error is set aside with a reason, while the found state isn't locked.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    position = models.ForeignKey("jobs.Position", on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    image = models.ImageField(upload_to="jobs/%Y/%m", width_field="width", height_field="height")
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    moment = models.CharField("shows the set", max_length=8, choices=Moment, blank=True)
    caption = models.CharField(max_length=160, blank=True)
    digest = models.CharField(max_length=64, blank=True, editable=False)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    set_aside_at = models.DateTimeField(null=True, blank=True)
    set_aside_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    set_aside_why = models.CharField("why it was set aside", max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return self.caption or f"photo of {self.job}"


class FoundState(models.Model):
    """The photos of a set as it was found, locked: nothing of them changes afterwards. Append-only.

    `digest` is the SHA-256 over the digests of these photos in order of their keys; `by_change` names the log entry whose change
    locked it, where nobody had locked it by hand before.
    """

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="found_state")
    photo_count = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    by_change = models.PositiveIntegerField("log entry that locked it", null=True, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"found state of {self.job}: {self.photo_count} photos"


class SheetPage(models.Model):
    """A page of the shop's own service sheet for a model: a picture on which positions have places."""

    model = models.ForeignKey(RadioModel, on_delete=models.PROTECT, related_name="sheet_pages")
    title = models.CharField(max_length=80)
    image = models.ImageField(upload_to="sheets/%Y/%m", width_field="width", height_field="height")
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    order = models.PositiveSmallIntegerField(default=0)
    source = models.CharField("where the sheet is from", max_length=160, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    set_aside_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["order", "pk"]

    def __str__(self) -> str:
        return self.title


class SheetPlace(models.Model):
    """Where a position stands on a page: `x` and `y` in ten-thousandths of its width and height, from the upper left corner."""

    page = models.ForeignKey(SheetPage, on_delete=models.CASCADE, related_name="places")
    designator = models.CharField(max_length=16)
    x = models.PositiveSmallIntegerField()
    y = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["page", "designator"], name="one_place_a_page"),
            models.CheckConstraint(condition=Q(x__lte=WHOLE, y__lte=WHOLE), name="a_place_is_on_its_page"),
        ]

    def __str__(self) -> str:
        return self.designator
