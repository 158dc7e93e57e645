"""The warranty: begun at hand-over from the log, line by line, under the terms of that day, which are frozen with it."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils import timezone

from jobs.cover.terms import CoverTerms, kind_of, line
from jobs.models import CoverKind, Decision, Job, LabourEntry, LogEntry, Warranty, WarrantyLine
from jobs.queries.exposure import standing_labour
from jobs.queries.sheet import PositionState, sheet_of
from jobs.queries.warranty_terms import terms_of
from jobs.services.log import profile
from shop.models import WarrantyStart


@dataclass(frozen=True, slots=True)
class Days:
    """The days that a warranty may run from: of the hand-over, and of the first standing invoice, if there is one."""

    handed_on: date
    invoiced_on: date | None = None


@transaction.atomic
def start_warranty(job: Job, days: Days) -> Warranty:
    """Cover what was done. What was left in is listed as not covered, so that nobody has to guess later.

    It runs from the event that the shop's terms name; where there was none (a set that was never ready, a job without an
    invoice), from the hand-over, and says so.
    """
    terms = terms_of(profile())
    event, starts_on = _start(job, terms.start_event, days)
    warranty = Warranty.objects.create(
        job=job, starts_on=starts_on, start_event=event, transfers=terms.transfers, terms=terms.as_json()
    )
    sheet = sheet_of(job)
    lines = [_part_line(warranty, entry, terms) for entry in sheet.fitted]
    lines += [_labour_line(warranty, entry, terms) for entry in standing_labour(job)]
    lines += [_kept_line(warranty, row, terms) for row in sheet.rows if row.decision == Decision.KEEP and not row.fitted]
    WarrantyLine.objects.bulk_create(lines)
    return warranty


def _start(job: Job, event: str, days: Days) -> tuple[str, date]:
    ready_on = _ready_on(job)
    if event == WarrantyStart.READY and ready_on is not None:
        return event, ready_on
    if event == WarrantyStart.INVOICE and days.invoiced_on is not None:
        return event, days.invoiced_on
    return WarrantyStart.HAND_OVER, days.handed_on


def _ready_on(job: Job) -> date | None:
    acts = job.acts.filter(act="mark_ready", undone_by__isnull=True)  # type: ignore[attr-defined]
    last = acts.order_by("-pk").first()
    return timezone.localdate(last.at) if last else None


def _part_line(warranty: Warranty, entry: LogEntry, terms: CoverTerms) -> WarrantyLine:
    is_own = entry.lot is not None and entry.lot.owner_id is not None
    kind = kind_of(entry.part.kind if entry.part else "", entry.part_class, is_own)
    used = f", {entry.part_class}" if entry.part_class not in ("", "new") else ""
    place = entry.position.designator if entry.position else ""
    return _line(warranty, kind, f"{entry.text}{used}", terms, designator=place, entry=entry)


def _labour_line(warranty: Warranty, entry: LabourEntry, terms: CoverTerms) -> WarrantyLine:
    step = entry.get_step_display()
    text = entry.task.name if entry.task else f"{step}: {entry.text}" if entry.text else step
    return _line(warranty, CoverKind.LABOUR, text, terms, labour=entry)


def _kept_line(warranty: Warranty, row: PositionState, terms: CoverTerms) -> WarrantyLine:
    text = f"{row.role_label.lower()} {row.called}".strip()
    return _line(warranty, CoverKind.LEFT_IN, text, terms, designator=row.position.designator)


def _line(
    warranty: Warranty,
    kind: str,
    text: str,
    terms: CoverTerms,
    *,
    designator: str = "",
    entry: LogEntry | None = None,
    labour: LabourEntry | None = None,
) -> WarrantyLine:
    cover = line(kind, warranty.starts_on, terms)
    return WarrantyLine(
        warranty=warranty,
        entry=entry,
        labour=labour,
        kind=kind,
        designator=designator,
        text=text[:300],
        covered=cover.covered,
        days=cover.days,
        until_on=cover.until_on,
        note=cover.note,
    )
