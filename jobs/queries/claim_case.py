"""The case of a claim, drawn from the log of the earlier job, its frozen warranty, the findings and the log of the claim.

Nothing in it can change later but by a new entry: so the case of a decision can be drawn again, as far as findings and log went
then, and must come out the same (`jobs.verification`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet

from inventory.models import BadLot
from jobs.cover import case as pure
from jobs.cover.terms import LABOUR, LEFT_IN, LawWords
from jobs.models import Claim, ClaimFinding, Decision, Job, LogEntry, WarrantyLine
from jobs.queries.sheet import JUDGED, PositionState, sheet_of

OUTCOMES: dict[str, str] = {
    Decision.KEEP: pure.KEPT,
    Decision.REPAIR: pure.REPAIRED,
    Decision.REMOVE: pure.REMOVED,
    Decision.REPLACE: pure.OFFERED,
}


@dataclass(frozen=True, slots=True)
class AsOf:
    """How far to look: the first `finding_count` findings, the claim's log up to `log_seq`, everything else up to `at`."""

    finding_count: int
    log_seq: int
    at: datetime


def case_of(claim: Claim, as_of: AsOf) -> pure.ClaimCase:
    warranty, earlier = claim.warranty, claim.warranty.job
    terms = warranty.terms or {}
    lines = list(lines_of(claim))
    holder, moved = _holder(claim, as_of.at)
    return pure.ClaimCase(
        job=earlier.number,
        claimed_on=claim.claimed_on,
        starts_on=warranty.starts_on,
        start_event=warranty.start_event,
        holder=holder == claim.job.customer_id,
        moved=moved,
        lines=_lines(lines, as_of.at),
        findings=_findings(claim, as_of, {line.pk: ref for ref, line in enumerate(lines, 1)}),
        places=places_of(earlier),
        void_rules=tuple(terms.get("void_rules", ())),
        law=LawWords.from_json(terms.get("law") or {}),
    ).in_order


def lines_of(claim: Claim) -> "QuerySet[WarrantyLine]":
    lines = WarrantyLine.objects.filter(warranty=claim.warranty_id)
    return lines.select_related("entry__position", "entry__lot", "labour").order_by("pk")


def _lines(lines: Sequence[WarrantyLine], at: datetime) -> tuple[pure.Line, ...]:
    lots = {line.entry.lot_id for line in lines if line.entry is not None and line.entry.lot_id}
    held_bad = BadLot.objects.filter(Q(lifted_at=None) | Q(lifted_at__gt=at), lot__in=lots, at__lte=at)
    bad = set(held_bad.values_list("lot", flat=True)) if lots else set()
    return tuple(_line(ref, line, bad) for ref, line in enumerate(lines, 1))


def _line(ref: int, line: WarrantyLine, bad: set[int]) -> pure.Line:
    entry = line.entry
    lot = entry.lot_id if entry else None
    return pure.Line(
        ref=ref,
        kind=line.kind or _kind(line),
        designator=place_of(line),
        text=line.text.removeprefix(f"{place_of(line)}: "),
        covered=line.covered,
        until_on=line.until_on,
        note=line.note,
        seq=entry.seq if entry else None,
        lot=lot,
        lot_is_bad=lot in bad,
    )


def _kind(line: WarrantyLine) -> str:
    """Of a line from before kinds were kept."""
    return LABOUR if line.labour_id else "" if line.entry_id else LEFT_IN


def place_of(line: WarrantyLine) -> str:
    """The position that a line is about; empty for work."""
    if line.labour_id:
        return ""
    if line.designator:
        return line.designator
    position = line.entry.position if line.entry else None
    return position.designator if position else line.text.partition(": ")[0][:16]


def _findings(claim: Claim, as_of: AsOf, refs: dict[int, int]) -> tuple[pure.Finding, ...]:
    rows = findings_upto(claim, as_of.finding_count)
    standing = standing_findings(rows)
    entries = [one.entry_id for one in standing if one.entry_id]
    struck = LogEntry.objects.filter(corrects__in=entries, seq__lte=as_of.log_seq).values_list("corrects", flat=True)
    gone = set(struck) if entries else set()
    numbers = {one.pk: number for number, one in enumerate(rows, 1)}
    return tuple(
        pure.Finding(
            number=numbers[one.pk],
            text=one.text,
            designator=one.position.designator if one.position else "",
            line=refs.get(one.line_id) if one.line_id else None,
            same_fault=one.same_fault,
            cause=one.cause,
            void_rule=one.void_rule,
            entry=one.entry.seq if one.entry else None,
            entry_stands=one.entry_id not in gone,
        )
        for one in standing
    )


def findings_upto(claim: Claim, count: int | None = None) -> list[ClaimFinding]:
    """Every row written on the claim, oldest first, those taken back too; only the first `count` where one is given."""
    rows = claim.findings.select_related("line__entry__position", "position", "entry", "person").order_by("pk")  # type: ignore[attr-defined]
    return list(rows if count is None else rows[:count])


def standing_findings(rows: Sequence[ClaimFinding]) -> list[ClaimFinding]:
    """Those that count: neither taken back nor replaced by a later one among `rows`."""
    replaced = {one.corrects_id for one in rows if one.corrects_id}
    return [one for one in rows if one.pk not in replaced and not one.withdrawn]


def places_of(job: Job) -> tuple[pure.Place, ...]:
    """What became of each position; those where nothing was decided or fitted are left out."""
    places = (_place(row) for row in sheet_of(job, JUDGED).rows)
    return tuple(one for one in places if one is not None)


def _place(row: PositionState) -> pure.Place | None:
    name, decided = row.position.designator, row.decided
    if row.fitted:
        return pure.Place(name, pure.FITTED, row.fitted[-1].seq)
    if decided is None:
        return None
    return pure.Place(name, OUTCOMES[decided.decision], decided.seq, decided.note)


def _holder(claim: Claim, at: datetime) -> tuple[int, bool]:
    """Who holds the warranty, and whether it moved. Where it doesn't go along, it stays with whoever held it."""
    holder, moved = claim.warranty.job.customer_id, False
    for one in claim.warranty.transfers_made.filter(at__lte=at, goes_along=True).order_by("pk"):  # type: ignore[attr-defined]
        holder, moved = one.to_customer_id, True
    return holder, moved
