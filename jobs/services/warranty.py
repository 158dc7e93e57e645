"""The warranty record: drawn from the log at hand-over, line by line."""

from datetime import date, timedelta

from django.db import transaction

from inventory.models import Condition
from jobs.models import Decision, Job, LabourEntry, LogEntry, Warranty, WarrantyLine
from jobs.queries.exposure import standing_labour
from jobs.queries.sheet import PositionState, sheet_of
from jobs.services.log import profile
from shop.models import Profile

VALVE_KINDS = ("valve", "transistor")


@transaction.atomic
def start_warranty(job: Job, starts_on: date) -> Warranty:
    """Cover what was done, from today. What was left in is listed as not covered, so that nobody has to guess later."""
    terms = profile()
    warranty = Warranty.objects.create(job=job, starts_on=starts_on)
    sheet = sheet_of(job)
    lines = [_part_line(warranty, entry, terms) for entry in sheet.fitted]
    lines += [_labour_line(warranty, entry, terms) for entry in standing_labour(job)]
    lines += [_kept_line(warranty, row) for row in sheet.rows if row.decision == Decision.KEEP and not row.fitted]
    WarrantyLine.objects.bulk_create(lines)
    return warranty


def _days(entry: LogEntry, terms: Profile) -> int:
    is_valve = entry.part is not None and entry.part.kind in VALVE_KINDS
    return terms.valve_warranty_days if is_valve else terms.warranty_days


def _part_line(warranty: Warranty, entry: LogEntry, terms: Profile) -> WarrantyLine:
    days = _days(entry, terms)
    used = f", {entry.part_class}" if entry.part_class != Condition.NEW else ""
    place = entry.position.designator if entry.position else ""
    text = f"{place}: {entry.text}{used}"
    return WarrantyLine(
        warranty=warranty,
        entry=entry,
        text=text[:300],
        covered=days > 0,
        until_on=warranty.starts_on + timedelta(days=days) if days else None,
    )


def _labour_line(warranty: Warranty, entry: LabourEntry, terms: Profile) -> WarrantyLine:
    text = (
        entry.task.name if entry.task else f"{entry.get_step_display()}: {entry.text}" if entry.text else entry.get_step_display()
    )
    days = terms.warranty_days
    return WarrantyLine(
        warranty=warranty,
        labour=entry,
        text=text[:300],
        covered=days > 0,
        until_on=warranty.starts_on + timedelta(days=days) if days else None,
    )


def _kept_line(warranty: Warranty, row: PositionState) -> WarrantyLine:
    text = f"{row.position.designator}: {row.role_label.lower()} {row.called}".strip()
    return WarrantyLine(warranty=warranty, text=text[:300], covered=False, note="left in as it was; only work done is covered")
