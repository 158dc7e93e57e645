"""Writes what is neither a reading nor a part: wiring, notes, polarity, an amended value, an entry taken back."""

from django.db import transaction

from inventory import services as stock
from inventory.components.notation import NotationError, read_notation
from inventory.components.roles import role as role_of
from jobs.models import EntryKind, Job, LogEntry, Position
from jobs.services.log.writing import Author, ambiguous, append, check_text, correcting, locked
from jobs.services.photos import lock_by_change
from jobs.services.stages import log_job
from shop.acts import Refused, Stale


@transaction.atomic
def record_wiring(
    job: Job, text: str, author: Author, *, position: Position | None = None, corrects: LogEntry | None = None
) -> LogEntry:
    """Found wired otherwise than the schematic, or rewired by us."""
    what = "what is wired otherwise than the schematic"
    entry = _plain(job, position, EntryKind.WIRING, text, author, what, corrects)
    lock_by_change(entry)
    return entry


@transaction.atomic
def record_note(
    job: Job, text: str, author: Author, *, position: Position | None = None, corrects: LogEntry | None = None
) -> LogEntry:
    return _plain(job, position, EntryKind.NOTE, text, author, "what to note", corrects)


@transaction.atomic
def confirm_polarity(position: Position, author: Author, *, note: str = "", corrects: LogEntry | None = None) -> LogEntry:
    """Somebody looked: the plus side of the fitted part is where the schematic has it."""
    text = note.strip() or "polarity as the schematic has it"
    return _plain(position.job, position, EntryKind.POLARITY, text, author, "what you saw", corrects)


@transaction.atomic
def amend_called_for(position: Position, text: str, author: Author, *, corrects: LogEntry | None = None) -> LogEntry:
    """The sheet was wrong or unreadable: another value is called for in this job."""
    kind = role_of(position.role).kind
    cleaned = check_text(text, "called", "what is called for", 80)
    if kind in ("resistance", "capacitance", "inductance"):
        try:
            read_notation(cleaned, kind)
        except NotationError as error:
            raise (ambiguous(error, "called") if error.code == "ambiguous" else Refused(error.message, field="called")) from error
    return _plain(position.job, position, EntryKind.CALLED_FOR, cleaned, author, "what is called for", corrects)


def _plain(
    job: Job, position: Position | None, kind: str, text: str, author: Author, what: str, corrects: LogEntry | None
) -> LogEntry:
    cleaned = check_text(text, "text", what)
    if position is None:
        return append(log_job(job), kind=kind, text=cleaned, at=author.at, person=author.person)
    current, state = locked(position, author)
    corrected = correcting(state, corrects, (kind,))
    return append(current, position=position, kind=kind, corrects=corrected, text=cleaned, at=author.at, person=author.person)


@transaction.atomic
def withdraw(entry: LogEntry, author: Author, *, why: str = "") -> LogEntry:
    """Take an entry back: a new entry that names it. Fitted parts are taken out instead."""
    if entry.kind in (EntryKind.FITTED, EntryKind.TAKEN_OUT):
        raise Refused("A fitted part isn't withdrawn; take it out again, so that the drawer agrees with the log.")
    job = log_job(entry.job)
    if entry.withdrawn or LogEntry.objects.filter(corrects=entry).exists():
        raise Stale("This entry was corrected or taken back already. Load the page again.")
    if entry.hold is not None and entry.hold.is_open:
        stock.release_hold(entry.hold, at=author.at)
    return append(
        job,
        position=entry.position,
        kind=entry.kind,
        corrects=entry,
        withdrawn=True,
        text=entry.text,
        decision=entry.decision,
        note=why[:300],
        at=author.at,
        person=author.person,
    )
