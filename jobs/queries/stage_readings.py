"""What the log has for one output valve, gathered from its own position and from those around it."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.output_stage import StageReadings, output_valve
from jobs.models import Point
from jobs.queries.sheet import PositionState
from jobs.queries.voltages import ohms_and_watts, voltages_of, volts_across

_CLOSE = Decimal("0.05")


@dataclass(frozen=True, slots=True)
class Missing:
    """A reading that is lacking, and the position and point where it is written."""

    text: str
    place: PositionState | None = None
    point: str = ""


def type_of(state: PositionState) -> str:
    """The valve that is in there: fitted, else called for, else found."""
    if state.fitted and state.fitted[-1].part is not None:
        return state.fitted[-1].part.marking
    return state.called or (state.found.text if state.found else "")


def resistor_of(valve: PositionState, resistors: Sequence[PositionState], wanted: int | None) -> PositionState | None:
    """The chosen one, the only one, the one whose note names the valve, or the one that shows the cathode's voltage."""
    chosen = [row for row in resistors if row.position.pk == wanted]
    if chosen or len(resistors) == 1:
        return (chosen or list(resistors))[0]
    named = [row for row in resistors if valve.position.designator in re.findall(r"\w+", row.position.note)]
    if len(named) == 1:
        return named[0]
    cathode = voltages_of(valve).get(Point.CATHODE)
    if not cathode:
        return None
    close = [row for row in resistors if (volts := volts_across(row)) and abs(volts - cathode) <= cathode * _CLOSE]
    return close[0] if len(close) == 1 else None


@dataclass(frozen=True, slots=True)
class Gathered:
    """What the log has for one valve. `readings` is None while its plate voltage isn't known."""

    volts: Mapping[str, Decimal]
    resistor: PositionState | None
    choices: int
    ohms: Decimal | None
    rated_watts: Decimal | None
    cathode_volts: Decimal | None
    shared_by: int
    readings: StageReadings | None


def gather(valve: PositionState, resistor: PositionState | None, shared_by: int, rows: Sequence[PositionState]) -> Gathered:
    volts = voltages_of(valve)
    ohms, rated = ohms_and_watts(resistor) if resistor is not None else (None, None)
    across = volts_across(resistor) if resistor is not None else None
    cathode = volts.get(Point.CATHODE, across)
    winding = _winding(rows) if ohms is None else (None, None)
    plate = volts.get(Point.PLATE)
    readings = None
    if plate is not None:
        readings = StageReadings(
            plate,
            cathode_volts=cathode,
            cathode_ohms=ohms,
            screen_volts=volts.get(Point.SCREEN),
            winding_volts=winding[0],
            winding_ohms=winding[1],
            count=shared_by,
        )
    choices = sum(row.role == "cathode_resistor" for row in rows)
    return Gathered(volts, resistor, choices, ohms, rated, cathode, shared_by, readings)


def _winding(rows: Sequence[PositionState]) -> tuple[Decimal | None, Decimal | None]:
    """The drop over the output transformer's winding and its resistance, where there is one of each kind only."""
    valves = sum(output_valve(type_of(row)) is not None for row in rows if row.role == "valve")
    found = [row for row in rows if row.role == "output_transformer" and volts_across(row) is not None]
    if valves != 1 or len(found) != 1:
        return None, None
    read, called = found[0].measured, found[0].called_spec
    ohms = Decimal(repr(read.value_si)) if read is not None and read.value_si else called.value if called else None
    return (volts_across(found[0]), ohms) if ohms else (None, None)


def missing_of(valve: PositionState, gathered: Gathered) -> Iterator[Missing]:
    name, known = valve.position.designator, output_valve(type_of(valve))
    if Point.PLATE not in gathered.volts:
        yield Missing(f"plate voltage of {name}", valve, Point.PLATE)
    if gathered.cathode_volts is None:
        yield Missing(f"cathode voltage of {name}", valve, Point.CATHODE)
    if gathered.resistor is None and gathered.choices:
        yield Missing("which cathode resistor it is: choose below")
    elif gathered.resistor is None and not (gathered.readings and gathered.readings.has_current):
        yield Missing("a position with the role cathode resistor, or the drop over the output transformer's winding")
    elif gathered.resistor is not None and gathered.ohms is None:
        yield Missing(f"value of {gathered.resistor.position.designator}", gathered.resistor)
    has_screen = known is None or not known.usual or any(point.screen_amps for point in known.usual)
    if has_screen and Point.SCREEN not in gathered.volts:
        yield Missing(f"screen voltage of {name}", valve, Point.SCREEN)
