"""The sheets of many jobs at once, for what is learned from them: the same fold as one job's sheet, over bare rows.

A row here is a tuple with the fields that the fold reads, so that some thousand entries take a moment and no instance is made.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import Any, NamedTuple, cast

from django.db.models import Q, QuerySet

from inventory.components.roles import ROLES
from jobs.models import Decision, EntryKind, LogEntry
from jobs.queries.sheet import PositionState

READ = (EntryKind.FOUND, EntryKind.MEASURED, EntryKind.DECIDED, EntryKind.FITTED, EntryKind.TAKEN_OUT, EntryKind.CALLED_FOR)
LOOKED_AT = (EntryKind.FOUND, EntryKind.MEASURED)
DECIDED_OR_FITTED = (EntryKind.DECIDED, EntryKind.FITTED, EntryKind.TAKEN_OUT)
# A set whose places were mostly never decided on was looked at for one fault; it says nothing of what such a set needs.
INSPECTED_SHARE = 0.8


class Place(NamedTuple):
    """A position, without its instance."""

    pk: int
    job_id: int
    radio_id: int
    designator: str
    role: str
    called: str
    order: int


@dataclass(slots=True)
class Entry:
    """A log entry, without its instance. Reads like one, for `PositionState`."""

    pk: int
    seq: int
    kind: str
    text: str
    verdict: str
    deviation_bp: int | None
    value_si: float | None
    decision: str
    point: str
    count: int
    unit_price_minor: int | None
    usual_price_minor: int | None
    charged: bool
    corrects_id: int | None
    withdrawn: bool
    takes_out_id: int | None

    @property
    def part(self) -> None:
        return None

    @property
    def price_minor(self) -> int:
        return (self.unit_price_minor or 0) * self.count if self.charged else 0


_PLACE = ("position_id", "job_id", "job__radio_id", *(f"position__{name}" for name in ("designator", "role", "called", "order")))
_FIELDS = (*_PLACE, *(one.name for one in fields(Entry)))


def states_of(jobs: QuerySet[Any] | Q, kinds: Iterable[str] = READ) -> dict[int, list[PositionState]]:
    """By the job's key, every position that has an entry of these kinds, in circuit order. One query.

    `jobs` is a query of jobs, or conditions on log entries.
    """
    rows = LogEntry.objects.filter(jobs if isinstance(jobs, Q) else Q(job__in=jobs.order_by()))
    rows = rows.filter(kind__in=kinds, position__isnull=False, position__role__in=ROLES)
    cut, found = len(_PLACE), dict[int, tuple[Place, list[Entry]]]()
    for values in rows.order_by("job_id", "seq").values_list(*_FIELDS):
        place = Place(*values[:cut])
        found.setdefault(place.pk, (place, []))[1].append(Entry(*values[cut:]))
    states: dict[int, list[PositionState]] = {}
    for place, entries in sorted(found.values(), key=lambda one: (one[0].order, one[0].pk)):
        states.setdefault(place.job_id, []).append(PositionState(cast(Any, place), cast(Any, entries)))
    return states


def counts_of_places(entries: Q) -> dict[str, tuple[int, int]]:
    """By designator, in how many sets a place was decided on, and in how many of them a part of ours went in. One query.

    The database leaves out what doesn't count any more, so thousands of places take no fold; a test holds it to the fold.
    """
    # Sorted here: asked for an order of places, a database walks all entries that it has.
    rows = LogEntry.objects.filter(entries, corrected_by=None, taken_out_by=None, withdrawn=False).order_by()
    rows = rows.filter(kind__in=(EntryKind.DECIDED, EntryKind.FITTED))
    decided: dict[int, str] = {}
    fitted: set[int] = set()
    places: dict[int, tuple[str, int]] = {}
    told = rows.values_list("seq", "position_id", "position__designator", "job__radio_id", "kind", "decision")
    for _, place, designator, radio, kind, decision in sorted(told, key=lambda row: row[0]):
        places[place] = designator, radio
        if kind == EntryKind.FITTED:
            fitted.add(place)
        else:
            decided[place] = decision
    sets: dict[str, dict[int, bool]] = {}
    for place, (designator, radio) in places.items():
        here = sets.setdefault(designator, {})
        here[radio] = here.get(radio, False) or place in fitted or decided.get(place) == Decision.REPLACE
    return {designator: (len(here), sum(here.values())) for designator, here in sets.items()}


def was_replaced(state: PositionState) -> bool:
    """A part of ours is in there, or was decided on."""
    return bool(state.fitted) or state.decision == "replace"


def was_decided(state: PositionState) -> bool:
    return bool(state.decision or state.fitted)


def is_inspected(states: Sequence[PositionState], positions: int) -> bool:
    """Whether a job's log says of nearly all its positions what became of them, and something of what they were."""
    looked = any(state.found or state.readings for state in states)
    return looked and positions > 0 and sum(map(was_decided, states)) >= INSPECTED_SHARE * positions
