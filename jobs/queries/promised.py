"""Open jobs with a promised day, as a calendar of them reads them."""

from django.db.models import Max, QuerySet
from django.db.models.functions import Coalesce

from jobs.models import Job


def promised_jobs() -> "QuerySet[Job]":
    """The nearest first. `changed_at`: the last named act, or the taking in; `version` tells of every other change."""
    promised = Job.objects.open().filter(promised_on__isnull=False).select_related("radio__model")
    return promised.annotate(changed_at=Coalesce(Max("acts__at"), "taken_in_at")).order_by("promised_on", "pk")
