"""Findings of the log that a version gives as its reason, with the photos of their positions."""

from dataclasses import dataclass

from jobs.models import Estimate, Job, LogEntry, Photo
from jobs.queries.findings import GRAVE, TOLD, is_finding
from jobs.queries.sheet import in_words, log_entries, standing


@dataclass(frozen=True, slots=True)
class Finding:
    """A finding as the customer is told of it. `photos` are those of its position, taken before the version was sent."""

    entry: LogEntry
    text: str
    photos: tuple[Photo, ...] = ()

    @property
    def place(self) -> str:
        return self.entry.position.designator if self.entry.position else ""


def finding_words(entry: LogEntry) -> str:
    """`C12: measured: 31 MΩ, leaky`, or the words of a note."""
    words = entry.text if entry.kind in TOLD else in_words(entry)
    verdict = f", {entry.get_verdict_display()}" if entry.verdict in GRAVE else ""
    place = f"{entry.position.designator}: " if entry.position else ""
    return f"{place}{words}{verdict}"


def findings_of(estimate: Estimate) -> tuple[Finding, ...]:
    """Reads `evidence__entry__position__photos`, prefetched where there are several versions."""
    rows = estimate.evidence.all()  # type: ignore[attr-defined]
    return tuple(Finding(row.entry, finding_words(row.entry), _photos(row.entry, estimate)) for row in rows)


def reason_beyond(estimate: Estimate, findings: tuple[Finding, ...]) -> str:
    """The reason in words, where it says more than its findings do."""
    return "" if estimate.because == "; ".join(one.text for one in findings) else estimate.because


def _photos(entry: LogEntry, estimate: Estimate) -> tuple[Photo, ...]:
    if entry.position is None:
        return ()
    until = estimate.sent_at
    taken = entry.position.photos.all()  # type: ignore[attr-defined]
    return tuple(photo for photo in taken if photo.set_aside_at is None and (until is None or photo.at <= until))


def photo_shown(estimate: Estimate, pk: int) -> Photo | None:
    """A photo that this version shows as evidence; every other photo is none of the customer page's business."""
    return next((photo for finding in findings_of(estimate) for photo in finding.photos if photo.pk == pk), None)


def findings_in(job: Job) -> list[LogEntry]:
    """The standing findings of a job, the newest first."""
    return [entry for entry in reversed(standing(log_entries(job, ("position",)))) if is_finding(entry)]


def findings_to_add(job: Job, estimate: Estimate) -> list[LogEntry]:
    """Those that the version doesn't name yet."""
    named = {row.entry_id for row in estimate.evidence.all()}  # type: ignore[attr-defined]
    return [entry for entry in findings_in(job) if entry.pk not in named]


def struck_findings(estimate: Estimate) -> list[LogEntry]:
    """Findings that were corrected or taken back since the version named them."""
    entries = [row.entry for row in estimate.evidence.select_related("entry__position")]  # type: ignore[attr-defined]
    struck = set(LogEntry.objects.filter(corrects__in=entries).values_list("corrects_id", flat=True))
    return [entry for entry in entries if entry.pk in struck]
