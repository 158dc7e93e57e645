"""The clock, read at the edge only: services take the time as an argument, pages and commands ask here."""

from datetime import date, datetime

from django.utils import timezone


def now() -> datetime:
    return timezone.now()


def today() -> date:
    return timezone.localdate()
