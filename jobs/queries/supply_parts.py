"""Which positions make up a set's power supply, and what each holds: as called for, as found, as fitted."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

from inventory.components.notation import NotationError, Spec, read_measured, read_notation
from inventory.components.roles import role as role_of
from inventory.components.valves import is_solid_state
from inventory.queries.specs import spec_of
from jobs.bench.supply_compare import rectifier_problem
from jobs.bench.worded import quantity_of, without_label
from jobs.models import CalledFor, LogEntry, Verdict
from jobs.queries.sheet import PositionState

_MADE = " making "
_DRY = "selenium"


class Place(NamedTuple):
    """One position, of a model's list or of a job's sheet; `state` is None where there is no log."""

    designator: str
    role: str
    called: str
    state: PositionState | None = None

    @classmethod
    def of_list(cls, row: CalledFor) -> "Place":
        return cls(row.designator, row.role, row.called)

    @classmethod
    def of_sheet(cls, row: PositionState) -> "Place":
        return cls(row.position.designator, row.role, row.called, row)


@dataclass(frozen=True, slots=True)
class Places:
    """The positions of a supply, None where there is none. `one_can`: both capacitors are sections of the reservoir's can."""

    reservoir: Place | None = None
    series: Place | None = None
    smoothing: Place | None = None
    one_can: bool = False
    rectifier: Place | None = None
    surge: Place | None = None


def places_in(rows: Sequence[Place]) -> Places:
    """The supply's positions by their roles, the first of each in circuit order."""
    reservoir = _first(rows, "reservoir") or _first(rows, "filter")
    filters = [row for row in rows if row.role == "filter" and row is not reservoir]
    smoothing = _first(rows, "smoothing") or next(iter(filters), None)
    one_can = smoothing is None and reservoir is not None and len(_sections(called(reservoir, "capacitance"))) > 1
    if one_can:
        smoothing = reservoir
    return Places(
        reservoir,
        _first(rows, "choke", "field_coil") or _between(rows, reservoir, smoothing),
        smoothing,
        one_can,
        _first(rows, "rectifier_valve", "metal_rectifier"),
        _first(rows, "surge_resistor"),
    )


def _first(rows: Sequence[Place], *roles: str) -> Place | None:
    return next((row for row in rows if row.role in roles), None)


def _between(rows: Sequence[Place], reservoir: Place | None, smoothing: Place | None) -> Place | None:
    """A dropper that stands between both capacitors in circuit order: the filter resistor."""
    if reservoir is None or smoothing is None:
        return None
    start, end = rows.index(reservoir), rows.index(smoothing)
    return _first(rows[start + 1 : end], "dropper")


@dataclass(frozen=True, slots=True)
class Known:
    """A value in SI base units and how it is known: `C3, fitted`. `volts` is the rating; `sections` those of a can."""

    value: float
    how: str
    volts: float | None = None
    sections: tuple[float, ...] = ()


# How a value is got at a place: a reading of its kind, or None.
Way = Callable[[Place, str], Known | None]


def _sections(known: Known | None) -> tuple[float, ...]:
    return () if known is None else known.sections or (known.value,)


def _known(spec: Spec | None, place: Place, how: str) -> Known | None:
    if spec is None:
        return None
    volts = None if spec.volts is None else float(spec.volts)
    return Known(float(spec.value), f"{place.designator}, {how}", volts, tuple(float(one) for one in spec.sections))


def read(text: str, kind: str, *, by_meter: bool = False) -> Spec | None:
    """A text as a value of a kind, or None where it is none."""
    try:
        return read_measured(text, kind) if by_meter or kind == "resistance" else read_notation(text, kind)
    except NotationError:
        return None


def called(place: Place, kind: str) -> Known | None:
    return _known(read(place.called, kind), place, "called for")


def fitted(place: Place, kind: str) -> Known | None:
    """The part that is in there now, or what a pair makes together."""
    entries = place.state.fitted if place.state is not None else []
    made = next((entry.note.partition(_MADE)[2] for entry in entries if _MADE in entry.note), "")
    if made:
        return _known(read(made.partition(";")[0], kind), place, "fitted")
    if len(entries) != 1 or entries[0].count != 1 or entries[0].part is None:
        return None
    spec = spec_of(entries[0].part)
    return _known(spec if spec is not None and spec.kind == kind else None, place, "fitted")


def measured(place: Place, kind: str) -> Known | None:
    """What the meter read of the part that is still in there."""
    state = place.state
    if state is None or state.fitted:
        return None
    for entry in reversed(state.readings):
        if quantity_of(entry.text, role_of(place.role).kind) == "value":
            return _known(read(without_label(entry.text), kind, by_meter=True), place, _measured_how(entry))
    return None


def _measured_how(entry: LogEntry) -> str:
    return "measured in circuit" if entry.in_circuit else "measured"


def gone(place: Place, kind: str) -> Known | None:
    """A part that reads open or shorted has no value to compute with: the one called for, and that it is so."""
    state = place.state
    if state is None or state.fitted or state.verdict not in (Verdict.OPEN, Verdict.SHORTED):
        return None
    known = called(place, kind)
    return None if known is None else replace(known, how=f"{place.designator}, called for: it reads {state.verdict_label}")


def found(place: Place, kind: str) -> Known | None:
    state = place.state
    if state is None or state.fitted or state.found is None:
        return None
    return _known(read(state.found.text, kind), place, "found")


CALLED: tuple[Way, ...] = (called,)
FOUND: tuple[Way, ...] = (fitted, measured, gone, found, called)
STANDING: tuple[Way, ...] = (fitted, called)
"""What a candidate starts from: a part that was fitted stays; everything else will be as called for."""


def value_of(place: Place | None, kind: str, ways: Sequence[Way]) -> Known | None:
    """The first way that tells. A meter shows no rating: that of the part it read is the one found on it."""
    if place is None:
        return None
    known = next((known for way in ways if (known := way(place, kind)) is not None), None)
    if known is None or known.volts is not None:
        return known
    marked = found(place, kind)
    return known if marked is None else replace(known, volts=marked.volts)


def type_at(place: Place | None, ways: Sequence[Way]) -> tuple[str, str]:
    """(rectifier type, how it is known); empty where the sheet has none."""
    if place is None:
        return "", ""
    for text, how in _types(place, ways):
        name = _type_in(text, place)
        if name:
            return name, f"{place.designator}, {how}"
    return place.called, f"{place.designator}, called for"


def _types(place: Place, ways: Sequence[Way]) -> Iterator[tuple[str, str]]:
    state = place.state
    if state is not None and fitted in ways and state.fitted and (part := state.fitted[-1].part) is not None:
        yield part.marking, "fitted"
    elif state is not None and found in ways and state.found is not None:
        yield state.found.text, "found"
    yield place.called, "called for"


def _type_in(text: str, place: Place) -> str:
    """The type that a text names, whole or as one of its words; a metal rectifier is a dry one whatever is printed on it."""
    words = [text, *text.replace(",", " ").split()][:20]
    known = next((word for word in words if word and not rectifier_problem(word)), "")
    if place.role == "metal_rectifier" and not is_solid_state(known):
        return _DRY
    return known


def microfarads(known: Known | None, section: int = 0) -> float:
    """Of one section of a can; the last one where it has fewer. 0 for nothing."""
    sections = _sections(known)
    return float(Decimal(repr(sections[min(section, len(sections) - 1)])) * 10**6) if sections else 0.0
