"""What the program remembers of how somebody works: the filters of lists, and the private addresses of calendars."""

from typing import ClassVar

from django.conf import settings
from django.db import models


class KeptFilter(models.Model):
    """The filter and order in which a person last left a list; `page` is the list's URL name, `query` as in the address."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kept_filters")
    page = models.CharField(max_length=80)
    query = models.CharField(max_length=1000, blank=True)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["person", "page"], name="one_filter_a_list")]

    def __str__(self) -> str:
        return f"{self.page}?{self.query}"


class CalendarLink(models.Model):
    """A private address that a calendar program reads; only the digest of its token is kept, so it is shown once."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_links")
    name = models.CharField("what reads it", max_length=80)
    token_digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField()
    read_at = models.DateTimeField("last read", null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    expires_at = models.DateTimeField("good until; empty: a year from its making", null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_open(self) -> bool:
        return self.revoked_at is None
