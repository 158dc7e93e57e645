"""What an invoice line stands on: its position and readings, its part, lot and movement, its labour, and its consent."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from billing.models import Invoice, InvoiceLine
from inventory.models import Lot, Movement
from jobs.models import Consent, EntryKind, EstimateLine, LabourEntry, LogEntry, Photo
from jobs.queries.sheet import HistoryLine, PositionState, position_state

LINE_HEADS = (
    *("invoice__job__radio__model", "invoice__job__customer", "invoice__consent__estimate", "invoice__credits"),
    *("entry__position", "entry__lot__supplier", "entry__lot__part", "entry__movement__drawer", "entry__movement__person"),
    *("entry__person", "entry__override_by", "labour__worker", "labour__person", "labour__task"),
)


@dataclass(frozen=True)
class LineProof:
    """All of it, read from the log, the drawers and the papers. `state` and what belongs to it are None for labour."""

    line: InvoiceLine
    invoice: Invoice
    state: PositionState | None
    readings: Sequence[HistoryLine]
    fitted: LogEntry | None
    lot: Lot | None
    movement: Movement | None
    photos: Sequence[Photo]
    labour: LabourEntry | None
    consent: Consent | None
    estimated: Sequence[EstimateLine]
    credited: Sequence[InvoiceLine]

    @property
    def credited_minor(self) -> int:
        return sum(one.amount_minor for one in self.credited)

    @property
    def rest_minor(self) -> int:
        """What the line still stands for, as it was priced."""
        return self.line.amount_minor - self.credited_minor

    @property
    def cost_milli(self) -> int | None:
        """What its parts cost us, in thousandths of the smallest coin."""
        return self.lot.unit_cost_milli * self.line.count if self.lot else None


def lines_with_heads() -> "QuerySet[InvoiceLine]":
    return InvoiceLine.objects.select_related(*LINE_HEADS)


def proof_of_line(line: InvoiceLine) -> LineProof:
    """The proof of a line of an invoice. That of a credit note's line is its invoice line's."""
    entry, invoice = line.entry, line.invoice
    state = position_state(entry.position) if entry and entry.position else None
    consent = invoice.consent
    return LineProof(
        line=line,
        invoice=invoice,
        state=state,
        readings=[one for one in state.history if one.entry.kind in (EntryKind.MEASURED, EntryKind.VOLTAGE)] if state else (),
        fitted=entry,
        lot=entry.lot if entry else None,
        movement=entry.movement if entry else None,
        photos=list(state.position.photos.filter(set_aside_at=None).select_related("person")) if state else (),  # type: ignore[attr-defined]
        labour=line.labour,
        consent=consent,
        estimated=_estimated(line, consent, state),
        credited=list(line.credited_by.select_related("invoice").order_by("pk")),  # type: ignore[attr-defined]
    )


def _estimated(line: InvoiceLine, consent: Consent | None, state: PositionState | None) -> list[EstimateLine]:
    """The lines of the agreed version that say this: those of the position, or those of its kind of work."""
    if consent is None or consent.estimate is None:
        return []
    mine = consent.estimate.lines.order_by("order", "pk")  # type: ignore[attr-defined]
    return list(mine.filter(position=state.position) if state else mine.exclude(kind="part"))


def lines_of_lot(lot: Lot) -> "QuerySet[InvoiceLine]":
    """Invoice lines on which parts of a lot were billed, the newest first."""
    # By key: the few entries of a lot first, whatever a planner thinks of the lines.
    entries = LogEntry.objects.filter(lot=lot).order_by().values("pk")
    billed = InvoiceLine.objects.filter(credits_line__isnull=True, entry__in=entries)
    return billed.select_related("invoice__customer", "invoice__job").order_by("-invoice", "order")
