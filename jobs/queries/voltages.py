"""What the log's voltages tell: the last one at each point, what a part has to bear, the heat in a resistor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple, Protocol

from inventory.components.notation import Spec
from inventory.components.roles import role as role_of
from jobs.bench.heat import Heat, heat_in
from jobs.bench.problems import BenchError
from jobs.models import EntryKind, LogEntry, Point

# One end of such a part stands on the chassis or B- (common practice, no source), so the voltage to chassis is the one across it.
STAND_ON_CHASSIS = frozenset(
    {"reservoir", "smoothing", "filter", "bypass", "cathode_bypass", "avc", "cathode_resistor", "bleeder"}
)

_AT_A_VALVE = (Point.PLATE, Point.SCREEN, Point.CATHODE, Point.GRID, Point.HEATER)
_AT_A_PART = (Point.ACROSS, Point.CHASSIS)


def points_of(role: str) -> tuple[Point, ...]:
    """Where a voltage can be measured at a position of this role."""
    return _AT_A_VALVE if role_of(role).kind == "valve" else _AT_A_PART


class Powered(Protocol):
    """What is looked at of a position's state."""

    @property
    def role(self) -> str: ...
    @property
    def voltages(self) -> Mapping[str, LogEntry]: ...
    @property
    def called_spec(self) -> Spec | None: ...
    @property
    def fitted(self) -> Sequence[LogEntry]: ...
    @property
    def measured(self) -> LogEntry | None: ...


class Working(NamedTuple):
    """What a position bears in this set: volts across the part, watts in a resistor. None where no reading tells."""

    volts: Decimal | None = None
    watts: Decimal | None = None


def last_voltages(standing: Sequence[LogEntry]) -> dict[str, LogEntry]:
    """The last voltage that counts at each point, in the order of the points."""
    last = {entry.point: entry for entry in standing if entry.kind == EntryKind.VOLTAGE and entry.value_si is not None}
    return {point: last[point] for point in Point.values if point in last}


@dataclass(frozen=True, slots=True)
class VoltageLine:
    """One voltage as a page shows it: `words` as typed, with its unit."""

    point: str
    words: str
    note: str


def volts_said(entry: LogEntry) -> str:
    """As typed; a bare number gets its unit."""
    return entry.text if any(one.isalpha() for one in entry.text) else f"{entry.text} V"


def voltage_lines(voltages: Mapping[str, LogEntry]) -> list[VoltageLine]:
    return [VoltageLine(entry.get_point_display(), volts_said(entry), entry.note) for entry in voltages.values()]


def voltages_of(state: Powered) -> dict[str, Decimal]:
    """Volts by point, signed."""
    return {point: Decimal(repr(entry.value_si)) for point, entry in state.voltages.items()}


def volts_across(state: Powered) -> Decimal | None:
    """Volts across the part, without sign."""
    at = voltages_of(state)
    chassis = at.get(Point.CHASSIS) if state.role in STAND_ON_CHASSIS else None
    volts = at.get(Point.ACROSS, chassis)
    return None if volts is None else abs(volts)


def ohms_and_watts(state: Powered) -> tuple[Decimal | None, Decimal | None]:
    """A resistor's value and rating: the fitted part's, else what is called for, else what the meter read out of circuit."""
    if role_of(state.role).kind != "resistance":
        return None, None
    if len(state.fitted) == 1 and state.fitted[0].count == 1 and (part := state.fitted[0].part) and part.value_si:
        return Decimal(repr(part.value_si)), None if part.watts is None else Decimal(repr(part.watts))
    called = state.called_spec
    if called is not None and called.kind == "resistance" and called.value:
        # Several fitted parts share the heat; what they are rated together isn't known here.
        return called.value, None if state.fitted else called.watts
    read = state.measured
    usable = read is not None and not read.in_circuit and read.value_si
    return (Decimal(repr(read.value_si)), None) if read is not None and usable else (None, None)


def heat_of(state: Powered) -> Heat | None:
    """The heat in a resistor across which a voltage was measured; None for anything else, and where a number is absurd."""
    volts = volts_across(state)
    ohms, rated = ohms_and_watts(state)
    if volts is None or ohms is None:
        return None
    try:
        return heat_in(volts, ohms, rated)
    except BenchError:
        return None


def working(state: Powered) -> Working:
    """What a substitute has to bear at this position, as far as the log's voltages tell."""
    heat = heat_of(state)
    return Working(volts_across(state), heat.watts if heat else None)
