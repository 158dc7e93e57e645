"""The output stage of a job as its log knows it: valves, voltages, cathode resistor; nothing is typed twice."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.components.answers import Reason
from inventory.components.writing import write_value
from jobs.bench.heat import Heat, heat_in, said
from jobs.bench.output_stage import (
    Limit,
    Prediction,
    Span,
    StageCheck,
    after_bplus_change,
    check_grid,
    check_stage,
    output_valve,
)
from jobs.bench.problems import BenchError
from jobs.models import Point
from jobs.queries.sheet import PositionState
from jobs.queries.stage_readings import Gathered, Missing, gather, missing_of, resistor_of, type_of
from jobs.queries.voltages import voltages_of, volts_across

# Where B+ is read, the surest place first.
_BPLUS_ROLES = ("smoothing", "filter", "reservoir")


@dataclass(frozen=True, slots=True)
class Asked:
    """What the person on the page chose. All optional: keys are those of positions, watts and volts plain."""

    valve: int | None = None
    resistor: int | None = None
    plate_watts: Decimal | None = None
    screen_watts: Decimal | None = None
    bplus: Decimal | None = None


PLATE, SCREEN = "(Vp − Vk) × plate current", "(Vg2 − Vk) × screen current"


@dataclass(frozen=True, slots=True)
class StageLine:
    what: str
    now: str
    limit: str
    after: str
    how: str


def _line(
    what: str, now: Decimal | None, kind: str, how: str, limit: Limit | None = None, after: Span | None = None
) -> StageLine | None:
    if now is None:
        return None
    most = "" if limit is None else write_value(limit.watts, kind)
    return StageLine(what, said(now, kind, 3), most, after.said(kind) if after else "", how)


@dataclass(frozen=True, slots=True)
class Stage:
    """One output valve. `check` is None where too little is known; `problem` says why readings were not believed."""

    state: PositionState
    type: str
    resistor: PositionState | None
    shared_by: int
    missing: tuple[Missing, ...]
    check: StageCheck | None = None
    heat: Heat | None = None
    grid: Reason | None = None
    problem: str = ""
    prediction: Prediction | None = None

    def is_older_than(self, seq: int) -> bool:
        """Whether one of its voltages was written before that entry of the log."""
        used = [self.state, *([self.resistor] if self.resistor is not None else [])]
        return any(entry.seq < seq for place in used for entry in place.voltages.values())

    @property
    def lines(self) -> list[StageLine]:
        """The table: what, now, the limit, after the change, and how it is known."""
        check, after = self.check, self.prediction
        if check is None:
            return []
        currents = check.currents
        plate, screen = check.plate_limit, check.screen_limit
        volts = check.readings.cathode_volts if check.is_cathode_biased else None
        rows = [
            _line("cathode voltage", volts, "voltage", "measured", after=after.cathode_volts if after else None),
            _line("cathode current", currents.cathode, "current", "Ik = Vk / Rk", after=after.cathode_amps if after else None),
            _line("screen current", currents.screen or None, "current", currents.screen_how),
            _line("plate current", currents.plate, "current", currents.plate_how),
            _line("heat of the plate", check.plate_watts, "power", PLATE, plate, after.plate_watts if after else None),
            _line(
                "heat of the screen", check.screen_watts or None, "power", SCREEN, screen, after.screen_watts if after else None
            ),
        ]
        return [row for row in rows if row is not None]


@dataclass(frozen=True, slots=True)
class OutputStages:
    """`others` are the valves that are in no table, `resistors` all that may be chosen, `bplus_at` where B+ was read."""

    stages: tuple[Stage, ...]
    others: tuple[PositionState, ...]
    resistors: tuple[PositionState, ...]
    heats: tuple[PositionState, ...]
    bplus: Decimal | None
    bplus_at: str


def output_stages(rows: Sequence[PositionState], asked: Asked) -> OutputStages:
    """Every output valve of a job. A valve without a table row is taken in where the person chose it."""
    valves = [row for row in rows if row.role == "valve"]
    chosen = [row for row in valves if row.position.pk == asked.valve or output_valve(type_of(row)) is not None]
    resistors = tuple(row for row in rows if row.role == "cathode_resistor")
    cathodes = [resistor_of(row, resistors, asked.resistor) for row in chosen]
    bplus, bplus_at = bplus_of(rows, chosen)
    return OutputStages(
        tuple(
            _stage(row, gather(row, resistor, cathodes.count(resistor) if resistor else 1, rows), asked, bplus)
            for row, resistor in zip(chosen, cathodes, strict=True)
        ),
        tuple(row for row in valves if row not in chosen),
        resistors,
        tuple(row for row in rows if row.heat is not None),
        bplus,
        bplus_at,
    )


def bplus_of(rows: Sequence[PositionState], valves: Sequence[PositionState]) -> tuple[Decimal | None, str]:
    """B+ as it was measured and where: behind the smoothing, else at the reservoir, else at an output valve's screen."""
    for role in _BPLUS_ROLES:
        for row in rows:
            volts = volts_across(row) if row.role == role else None
            if volts:
                return volts, row.position.designator
    for row in valves:
        screen = voltages_of(row).get(Point.SCREEN)
        if screen is not None and screen > 0:
            return screen, f"screen of {row.position.designator}"
    return None, ""


def _stage(valve: PositionState, gathered: Gathered, asked: Asked, bplus: Decimal | None) -> Stage:
    found = Stage(
        valve,
        type_of(valve) or "no type",
        gathered.resistor,
        gathered.shared_by,
        tuple(missing_of(valve, gathered)),
        grid=_grid(gathered),
        heat=_heat(gathered),
    )
    if gathered.readings is None or not gathered.readings.has_current:
        return found
    is_meant = asked.valve in (None, valve.position.pk)
    limits = (asked.plate_watts, asked.screen_watts) if is_meant else (None, None)
    try:
        check = check_stage(found.type, gathered.readings, plate_watts_limit=limits[0], screen_watts_limit=limits[1])
    except BenchError as error:
        return replace(found, problem=error.message)
    return _after(replace(found, check=check), check, asked.bplus, bplus)


def _after(found: Stage, check: StageCheck, new: Decimal | None, old: Decimal | None) -> Stage:
    """With what another B+ would do, where it was asked and there is something to start from."""
    if new is None or old is None:
        return found
    try:
        return replace(found, prediction=after_bplus_change(check, new, old))
    except BenchError as error:
        return replace(found, problem=error.message)


def _grid(gathered: Gathered) -> Reason | None:
    grid = gathered.volts.get(Point.GRID)
    return None if grid is None else check_grid(grid, gathered.cathode_volts or Decimal(0))


def _heat(gathered: Gathered) -> Heat | None:
    if gathered.cathode_volts is None or gathered.ohms is None:
        return None
    try:
        return heat_in(gathered.cathode_volts, gathered.ohms, gathered.rated_watts)
    except BenchError:
        return None
