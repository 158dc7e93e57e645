"""How far the parts of many sets have drifted: what was read of the old part at a position, against the value called for.

Folds the same entries as a job's sheet, only those that count, for all sets at once.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from django.db.models import Exists, OuterRef, QuerySet

from inventory.components.roles import role as role_of
from inventory.components.writing import write_value
from jobs.bench.comparing import band_for
from jobs.bench.practice import Picked, pick_practice
from jobs.bench.worded import quantity_of
from jobs.models import EntryKind, Goal, LogEntry, Position, RadioModel, Verdict
from jobs.queries.practices import practice_rows
from jobs.queries.sheet import PositionState, standing
from shop.models import Profile

KINDS = (EntryKind.MEASURED, EntryKind.FITTED, EntryKind.CALLED_FOR)
GONE = (Verdict.OPEN, Verdict.SHORTED)
# A page of readings is as long after twenty years as after two: what was read lately says most.
MOST_PLACES = 500


@dataclass(frozen=True, slots=True)
class Reading:
    """The last value read of the old part at a position of one set. `percent` is what it is off the value called for."""

    position: Position
    called: str
    text: str
    percent: float
    verdict: str
    in_circuit: bool

    @property
    def verdict_label(self) -> str:
        return Verdict(self.verdict).label if self.verdict else ""


@dataclass(frozen=True, slots=True)
class Drift:
    """One place, or one value, in many sets. `gone` counts parts that read open or shorted, and so have no value to compare."""

    name: str
    role: str
    called: str
    readings: tuple[Reading, ...]
    gone: int
    allowed: Picked | None

    @property
    def median(self) -> float | None:
        return median(one.percent for one in self.readings) if self.readings else None

    @property
    def sets(self) -> int:
        return len(self.readings) + self.gone

    @property
    def role_label(self) -> str:
        return role_of(self.role).label

    @property
    def band(self) -> tuple[float, float] | None:
        return None if self.allowed is None else (float(self.allowed.band[0]), float(self.allowed.band[1]))


@dataclass(frozen=True, slots=True)
class _Found:
    """What the log of one position says of its old part: a reading, or that it is gone, or neither."""

    state: PositionState
    reading: Reading | None
    is_gone: bool


def drift_of_model(model: RadioModel) -> list[Drift]:
    """Every position that was measured in a set of this model, in circuit order. Four queries."""
    found = list(_found(Position.objects.filter(job__radio__model=model)))
    by_place: dict[str, list[_Found]] = {}
    for one in sorted(found, key=lambda one: (one.state.position.order, one.state.position.pk)):
        by_place.setdefault(one.state.position.designator, []).append(one)
    return _drifts(by_place)


def drift_of_role(role: str) -> list[Drift]:
    """Every value called for at positions of a role, across all models, the smallest first. Four queries."""
    by_value: dict[Decimal, list[_Found]] = {}
    for one in _found(Position.objects.filter(role=role)):
        if one.state.called_spec is not None:
            by_value.setdefault(one.state.called_spec.value, []).append(one)
    return _drifts({_value_name(by_value[value][0]): by_value[value] for value in sorted(by_value)})


def drift_of_place(position: Position) -> tuple[Drift | None, Drift | None]:
    """The same designator in all sets of this model; the same role and value in all sets. Nine queries."""
    designator, role = position.designator, position.role
    here = drift_of_model(position.job.radio.model)
    called = PositionState(position, list(position.entries.order_by("seq"))).called_spec  # type: ignore[attr-defined]
    name = "" if called is None else write_value(called.value, called.kind)
    everywhere = drift_of_role(role) if name else []
    return _named(here, designator), _named(everywhere, name)


def _named(drifts: Iterable[Drift], name: str) -> Drift | None:
    return next((one for one in drifts if one.name == name), None)


def _value_name(found: _Found) -> str:
    spec = found.state.called_spec
    return write_value(spec.value, spec.kind) if spec is not None else ""


def _drifts(grouped: dict[str, list[_Found]]) -> list[Drift]:
    rows, terms = practice_rows(), Profile.current()
    percent = Decimal(terms.tolerance_percent if terms else 20)
    return [
        _drift(name, found, pick_practice(rows, found[-1].state.role, Goal.WORKING, percent)) for name, found in grouped.items()
    ]


def _drift(name: str, found: list[_Found], practice: Picked) -> Drift:
    """The band is that of the newest set: what is called for there, else the shop's practice for sets that are to work."""
    newest = found[-1].state
    called = newest.called_spec
    return Drift(
        name=name,
        role=newest.role,
        called=newest.called,
        readings=tuple(one.reading for one in found if one.reading is not None),
        gone=sum(one.is_gone for one in found),
        allowed=None if called is None else band_for(called, None, practice),
    )


def _found(places: "QuerySet[Position]") -> Iterator[_Found]:
    """The newest positions that were measured, each with what its log says."""
    heads = ("position__job__radio__model", "position__job__customer")
    written = Exists(LogEntry.objects.filter(position=OuterRef("pk"), kind__in=KINDS))
    newest = list(places.filter(written).order_by("-pk").values_list("pk", flat=True)[:MOST_PLACES])
    rows = LogEntry.objects.filter(position__in=newest, kind__in=KINDS).select_related(*heads).order_by("job_id", "seq")
    by_position: dict[int | None, list[LogEntry]] = {}
    for entry in rows:
        by_position.setdefault(entry.position_id, []).append(entry)
    for listed in by_position.values():
        place = listed[0].position
        if place is None:
            continue
        one = _of_position(PositionState(place, listed))
        if one.reading is not None or one.is_gone:
            yield one


def _of_position(state: PositionState) -> _Found:
    kind, called = role_of(state.role).kind, state.called_spec
    first_fit = min((entry.seq for entry in state.entries if entry.kind == EntryKind.FITTED), default=10**9)
    taken = [one for one in standing(state.entries) if one.kind == EntryKind.MEASURED and one.seq < first_fit]
    values = [one for one in taken if quantity_of(one.text, kind) == "value"]
    last = values[-1] if values else None
    if last is None or called is None:
        return _Found(state, None, False)
    if last.deviation_bp is None:
        return _Found(state, None, last.verdict in GONE)
    percent = last.deviation_bp / 100
    if last.value_si is not None and called.value and not called.sections:
        # What is called for may have been amended since it was judged.
        percent = (last.value_si / float(called.value) - 1) * 100
    reading = Reading(state.position, state.called, last.text, percent, last.verdict, last.in_circuit)
    return _Found(state, reading, False)
