"""Which entries of the log are findings: what can be the reason of a revised estimate."""

from jobs.models import EntryKind, LogEntry, Verdict

GRAVE = (Verdict.DRIFTED, Verdict.OPEN, Verdict.SHORTED, Verdict.LEAKY, Verdict.WRONG_PART)
TOLD = (EntryKind.NOTE, EntryKind.WIRING)


def is_finding(entry: LogEntry) -> bool:
    """A bad verdict, a wiring finding or a note, as long as it isn't taken back."""
    return not entry.withdrawn and (entry.verdict in GRAVE or entry.kind in TOLD)
