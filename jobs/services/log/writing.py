"""What every entry of the change log is written with: its author, the lock, the number, the checks."""

from dataclasses import dataclass
from datetime import datetime

from inventory.components.notation import NotationError
from inventory.queries.doubts import ways_to_read
from jobs.models import Job, LogEntry, Position
from jobs.queries.sheet import COUNTED, PositionState, in_words, position_state
from jobs.services.stages import log_job
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.prepared import change, insert


@dataclass(frozen=True, slots=True)
class Author:
    """Who writes an entry and when; `seen` is the last entry of the position that they saw on their page."""

    person: Staff
    at: datetime
    seen: int | None = None


def profile() -> Profile:
    found = Profile.current()
    if found is None:
        raise Refused("The shop isn't set up yet. Fill in the shop profile first.", code="no_profile")
    return found


def locked(position: Position, author: Author) -> tuple[Job, PositionState]:
    """Lock the job, then look at the position: nobody can write to it in between."""
    job = log_job(position.job)
    state = position_state(position, COUNTED)
    _check_seen(state, author)
    return job, state


def _check_seen(state: PositionState, author: Author) -> None:
    """What others wrote since this person's page was drawn is told, so that nobody answers an entry they haven't read."""
    if author.seen is None:
        return
    others = [entry for entry in state.entries if entry.seq > author.seen and entry.person_id != author.person.pk]
    if others:
        written = "; ".join(f"{entry.person} wrote “{in_words(entry)}”" for entry in others)
        raise Stale(
            f"Since you opened {state.position.designator}, {written}. "
            "What you typed is still here: look at the new entry, then send yours again."
        )


def append(job: Job, **values: object) -> LogEntry:
    """Write one entry under the next number of the job's log. The job's row must be locked."""
    job.log_seq += 1
    job.version += 1
    change(Job, job.pk, log_seq=job.log_seq, version=job.version)
    return insert(LogEntry(job=job, seq=job.log_seq, **values))


def check_text(text: str, field: str, what: str, longest: int = 300) -> str:
    cleaned = " ".join(text.split())
    if not cleaned:
        raise Refused(f"Say {what}.", field=field)
    if len(cleaned) > longest:
        raise Refused(f"Keep it under {longest} characters; a longer story goes into a note or a photo.", field=field)
    return cleaned


def correcting(state: PositionState, corrects: LogEntry | None, kinds: tuple[str, ...]) -> LogEntry | None:
    if corrects is None:
        return None
    if corrects.position_id != state.position.pk or corrects.kind not in kinds:
        raise Refused("The entry to correct isn't one of this position's. Open the position's history and choose it there.")
    if corrects.withdrawn or any(entry.corrects_id == corrects.pk for entry in state.entries):
        raise Stale("This entry was corrected or taken back already. The position's history shows by what.")
    return corrects


class Ambiguous(Refused):
    """A value that can be read in more than one way; `readings` are what the page offers to choose from."""

    def __init__(self, message: str, field: str, readings: tuple[tuple[str, str], ...]) -> None:
        super().__init__(message, field=field, code="ambiguous")
        self.readings = readings


def ambiguous(error: NotationError, field: str) -> Ambiguous:
    message, readings = ways_to_read(error)
    return Ambiguous(message, field, tuple(readings))
