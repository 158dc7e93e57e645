"""Whether the customer may still cancel what was agreed at a distance, and asked for work to begin before."""

from datetime import datetime, timedelta

from django.utils import timezone

from jobs.models import Job
from jobs.queries.exposure import newest_consent
from shop.models import Profile
from shop.place import rules_of


def cancelling_caution(job: Job, at: datetime) -> str:
    """What to mind before work begins; empty where there is nothing. The days are those of the rules today."""
    consent = newest_consent(job) if job.is_open else None
    if consent is None or not consent.cancellation_told or consent.begin_at_once:
        return ""
    rules = rules_of(Profile.current())
    until = timezone.localdate(consent.at) + timedelta(days=rules.cancellation.days)
    if timezone.localdate(at) > until:
        return ""
    return (
        f"{consent.who} may cancel until {until:%d %B %Y} and didn't ask for work to begin before. What is done until then may "
        f"stay unpaid ({rules.cancellation.source.citation}; {rules.cancellation.source.note})."
    )
