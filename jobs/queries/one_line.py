"""Where the line of the sheet stands, what became of the rows since a page was drawn, and whose last line can be taken back."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from jobs.models import EntryKind, LogEntry, Verdict
from jobs.queries.sheet import PositionState, Sheet, in_words

# A line is taken back by one key while its writer still stands at the bench; later the position's history has the way.
TAKEN_BACK_WITHIN = timedelta(hours=12)
# The order in which one line is written.
_IN_A_LINE = (EntryKind.FOUND, EntryKind.MEASURED, EntryKind.DECIDED)


def line_place(sheet: Sheet, at: int | None = None, after: int | None = None) -> PositionState | None:
    """The row where the line stands: the one asked for, else the next in circuit order that is to be inspected or decided.

    Rows that only wait for their part come last; with nothing left to do, the line stands at the row behind.
    """
    numbers = [row.position.pk for row in sheet.rows]
    if at in numbers:
        return sheet.rows[numbers.index(at)]
    start = numbers.index(after) + 1 if after in numbers else 0
    turned = [*sheet.rows[start:], *sheet.rows[:start]]
    unresolved = [row for row in turned if not row.is_resolved]
    return next((row for row in unresolved if not row.to_fit), next(iter(unresolved or turned), None))


def changed_since(sheet: Sheet, seen: int) -> list[PositionState]:
    """The rows that got entries behind number `seen`."""
    return [row for row in sheet.rows if row.last_seq > seen]


def last_seq(sheet: Sheet) -> int:
    return sheet.entries[-1].seq if sheet.entries else 0


@dataclass(frozen=True, slots=True)
class LastLine:
    """What somebody wrote last with one line: its first and last number, its position, and its entries in words."""

    first: int
    last: int
    designator: str
    words: str


def last_line(sheet: Sheet, person_pk: int, now: datetime) -> LastLine | None:
    """None where this person's last entry is none that is simply taken back, or is long ago."""
    corrected = {entry.corrects_id for entry in sheet.entries if entry.corrects_id}
    mine = (entry for entry in reversed(sheet.entries) if entry.person_id == person_pk and not entry.withdrawn)
    last = next((entry for entry in mine if entry.pk not in corrected), None)
    if last is None or last.kind not in _IN_A_LINE or now - last.at > TAKEN_BACK_WITHIN:
        return None
    entries = _with_its_line(sheet, last, corrected)
    place = next(row.position for row in sheet.rows if row.position.pk == last.position_id)
    return LastLine(entries[0].seq, last.seq, place.designator, "; ".join(said(entry) for entry in entries))


def _with_its_line(sheet: Sheet, last: LogEntry, corrected: set[int]) -> list[LogEntry]:
    """The entries right before that were written by the same line, oldest first."""
    entries = [last]
    for entry in reversed(sheet.entries[: sheet.entries.index(last)]):
        together = (entry.position_id, entry.person_id, entry.at) == (last.position_id, last.person_id, last.at)
        before = entry.kind in _IN_A_LINE and _IN_A_LINE.index(EntryKind(entry.kind)) < _IN_A_LINE.index(
            EntryKind(entries[0].kind)
        )
        if not (together and before) or entry.pk in corrected or entry.withdrawn:
            break
        entries.insert(0, entry)
    return entries


def said(entry: LogEntry) -> str:
    """An entry with its verdict: `measured: 310K, drifted`."""
    judged = entry.kind == EntryKind.MEASURED or entry.verdict == Verdict.WRONG_PART
    verdict = f", {entry.get_verdict_display()}" if judged and entry.verdict else ""
    return in_words(entry) + verdict
