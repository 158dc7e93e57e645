"""A job's power supply at its moments: as called for, as the set came, with what was fitted, with a candidate."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from jobs.bench.supply_compare import Case
from jobs.models import EntryKind, Job
from jobs.queries.sheet import PositionState
from jobs.queries.supply import Column, Comparison, Tried, compared


class Moment(NamedTuple):
    """One computed supply, and what it is: "as it came". Moments with the same parts are one."""

    name: str
    case: Case


CALLED, CAME, FITTED, TRIED = "called for", "as it came", "as fitted", "candidate"


def moments_of(job: Job, rows: Sequence[PositionState], found: Comparison) -> list[Moment]:
    """The moments that can be computed, oldest first. One query more where something was fitted."""
    was_fitted = any(row.fitted for row in rows)
    before = compared(job, list(before_fitting(rows)), Tried()) if was_fitted else found
    listed = [(CALLED, found.called), (CAME, before.found if before else None)]
    listed += [(FITTED, found.found)] if was_fitted else []
    listed += [(TRIED, found.candidate)]
    return _joined((name, column) for name, column in listed if column is not None)


def before_fitting(rows: Iterable[PositionState]) -> Iterable[PositionState]:
    """Each position as its log stood before the first part went in there."""
    for row in rows:
        first = min((entry.seq for entry in row.entries if entry.kind == EntryKind.FITTED), default=None)
        kept = row.entries if first is None else [entry for entry in row.entries if entry.seq < first]
        yield PositionState(row.position, kept)


def _joined(columns: Iterable[tuple[str, Column]]) -> list[Moment]:
    """Two moments with equal parts would be one line over the other: they share a line and both names."""
    cases: dict[object, Case] = {}
    names: dict[object, list[str]] = {}
    for name, column in columns:
        if column.case is not None:
            cases.setdefault(column.case.parts, column.case)
            names.setdefault(column.case.parts, []).append(name)
    return [Moment(", ".join(names[parts]), case) for parts, case in cases.items()]
