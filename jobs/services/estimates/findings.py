"""Why a version is made: its reason in words, and the findings of the log that show it."""

from datetime import datetime

from django.db import transaction

from jobs.models import Estimate, Evidence, Job, LogEntry
from jobs.queries.evidence import finding_words
from jobs.queries.findings import is_finding
from jobs.services.estimates.drafting import draft, draft_only, touch
from shop.acts import Refused, Stale
from shop.models import Staff

LONGEST_BECAUSE = 500


@transaction.atomic
def draft_from(job: Job, entry: LogEntry, *, person: Staff, at: datetime) -> Estimate:
    """Draft a version, or take the draft there is, and give this finding as its reason."""
    made = draft(job, person=person, at=at)
    if not made.evidence.filter(entry=entry).exists():  # type: ignore[attr-defined]
        add_finding(made, entry)
    return made


@transaction.atomic
def add_finding(estimate: Estimate, entry: LogEntry, *, seen: int | None = None) -> Evidence:
    """Name a finding. Its words join the reason, which stays free to be put better."""
    draft_only(estimate, seen)
    if entry.job_id != estimate.job_id or not is_finding(entry):
        raise Refused("That isn't a finding of this job. Choose one from the list.", field="entry")
    if LogEntry.objects.filter(corrects=entry).exists():
        raise Stale(f"Entry no. {entry.seq} was corrected or taken back. Choose the one that stands.")
    made, new = Evidence.objects.get_or_create(estimate=estimate, entry=entry)
    if not new:
        raise Stale("This finding is named already.")
    words = finding_words(entry)
    if words not in estimate.because:
        estimate.because = "; ".join(text for text in (estimate.because, words) if text)[:LONGEST_BECAUSE]
    touch(estimate, "because")
    return made


@transaction.atomic
def remove_finding(estimate: Estimate, entry: LogEntry, *, seen: int | None = None) -> None:
    """Take a finding off the version; its words leave the reason where they still stand there as they were put."""
    draft_only(estimate, seen)
    gone, _ = estimate.evidence.filter(entry=entry).delete()  # type: ignore[attr-defined]
    if not gone:
        raise Stale("This finding was taken off already.")
    estimate.because = "; ".join(text for text in estimate.because.split("; ") if text != finding_words(entry))
    touch(estimate, "because")


@transaction.atomic
def set_because(estimate: Estimate, because: str, *, seen: int | None = None) -> None:
    draft_only(estimate, seen)
    estimate.because = " ".join(because.split())[:LONGEST_BECAUSE]
    touch(estimate, "because")
