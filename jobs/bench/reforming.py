"""Reforming an electrolytic: what to connect, where to begin, when to stop, and what the readings come to.

Data in reforming.toml. Decimal in SI units. A charged capacitor kills: every page that shows this shows CAUTION too.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.components.answers import milliamps_text
from inventory.components.tables import toml_table
from inventory.components.watt_rules import standard_watts
from inventory.components.writing import write_value
from jobs.bench.dissipation import stored_joules, watts_from_volts
from jobs.bench.heat import said
from jobs.bench.leakage import LeakLimit, allowed_leakage
from jobs.bench.problems import between, resistance

CAUTION = (
    "a charged capacitor",
    "Reforming voltage kills, and the charge stays when it is switched off: discharge through a resistor and measure before you "
    "touch. An electrolytic can burst: cover it, wear glasses, never leave it alone while it forms. Isolate the supply from the "
    "line, and mind the polarity. Local codes and licensed practice come first.",
)
# Charging through the series resistor takes this many time constants.
_CHARGED = 5
_MARKS = {"sound": "yes", "settling": "yes", "no_readings": "open", "forming": "wait", "too_much": "warn"}


@dataclass(frozen=True, slots=True)
class Advice:
    """How to set it up. `series_ohms` is the resistor used, `wanted_ohms` the one advised."""

    limit: LeakLimit
    wanted_ohms: Decimal
    series_ohms: Decimal
    fault_amps: Decimal
    resistor_watts: Decimal
    charge_seconds: Decimal
    joules: Decimal
    rated_volts: Decimal
    steps: tuple[Decimal, ...]

    @property
    def sentences(self) -> tuple[tuple[str, str], ...]:
        """What a repairer would say, each with its source."""
        return _sentences(self)


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading: minutes since the start, volts across the capacitor, its leakage in amps."""

    minutes: Decimal
    volts: Decimal
    amps: Decimal


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a run stands. `code`: no_readings, rising, hot, over_rated, forming, too_much, settling or sound."""

    code: str
    sentence: str
    source: str

    @property
    def is_sound(self) -> bool:
        """Within the limit at rated voltage."""
        return self.code in ("sound", "settling")

    @property
    def must_stop(self) -> bool:
        return self.code in ("rising", "hot", "over_rated")

    @property
    def mark(self) -> str:
        return {"sound": "yes", "settling": "yes", "no_readings": "open", "forming": "wait", "too_much": "warn"}.get(
            self.code, "no"
        )


def _table(section: str) -> dict[str, Any]:
    return toml_table("jobs.bench", "reforming.toml")[section]  # type: ignore[no-any-return]


def check_capacitor(farads: Decimal, rated_volts: Decimal) -> None:
    """BenchError for what is no electrolytic of a radio."""
    between(farads, "0.0000001", "1", "The capacitance", "F")
    between(rated_volts, "1", "1000", "The rated voltage", "V")


def series_ohms_for(rated_volts: Decimal) -> Decimal:
    """The series resistor for an old part: a few mA at the rated voltage if the part were shorted."""
    return rated_volts / (Decimal(_table("series")["milliamps"]) / 1000)


def advise(farads: Decimal, rated_volts: Decimal, rule: str, series_ohms: Decimal | None = None) -> Advice:
    """What to connect and where to begin, for one capacitor or one section of a can. BenchError where numbers are absurd."""
    check_capacitor(farads, rated_volts)
    limit, wanted = allowed_leakage(farads, rated_volts, rule), series_ohms_for(rated_volts)
    ohms = wanted if series_ohms is None else resistance(series_ohms, "The series resistor")
    steps = tuple((rated_volts * Decimal(share)).quantize(Decimal(1)) or Decimal(1) for share in _table("steps")["shares"])
    return Advice(
        limit,
        wanted,
        ohms,
        rated_volts / ohms,
        watts_from_volts(rated_volts, ohms),
        _CHARGED * ohms * farads,
        stored_joules(farads, rated_volts),
        rated_volts,
        steps,
    )


def _sentences(found: Advice) -> tuple[tuple[str, str], ...]:
    volts, stored, steps = write_value(found.rated_volts, "voltage"), _table("stored"), _table("steps")
    largest, heat = said(found.fault_amps, "current"), said(found.resistor_watts, "power", 3)
    resistor = (
        f"Feed it through {said(found.series_ohms, 'resistance', 3)}: at {volts} no more than {largest} can flow. If the part "
        f"shorts the resistor gets rid of {heat}: take one of {write_value(standard_watts(found.resistor_watts * 2), 'power')}."
    )
    begin = (
        f"Begin at {found.steps[0]} V and go on to {', '.join(str(step) for step in found.steps[1:])} V. Stay at each step until "
        f"the leakage has fallen below {milliamps_text(found.limit.amps)} and falls no more."
    )
    stop = "Stop when the leakage rises at the same voltage, or when the part gets warm, bulges or smells."
    lain = (
        f"A sound part that only lay more than {stored['years_without']} years takes its rated voltage through about "
        f"{stored['series_ohms']} Ω for about {stored['minutes']} min."
    )
    charge = (
        f"After each step wait {_seconds(found.charge_seconds)} for the charge before the reading counts. At {volts} it holds "
        f"{said(found.joules, 'power').removesuffix('W')}J."
    )
    return (
        (resistor, _table("series")["source"]),
        (begin, steps["source"]),
        (charge, "textbook relation, five time constants"),
        (stop, _table("stop")["source"]),
        (lain, stored["source"]),
    )


def _seconds(seconds: Decimal) -> str:
    if seconds < 1:
        return "a moment"
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def standing_of(readings: Sequence[Taken], rated_volts: Decimal, limit_amps: Decimal) -> Standing:
    """What the readings, oldest first, come to by now. BenchError for a reading that no meter shows."""
    between(rated_volts, "1", "1000", "The rated voltage", "V")
    between(limit_amps, "0", "1000000", "The leakage limit", "A")
    for one in readings:
        between(one.volts, "0", "10000", "The voltage", "V")
        between(one.amps, "0", "100", "The leakage", "A")
    if not readings:
        return Standing("no_readings", "No reading yet. Begin with the lowest step.", _table("steps")["source"])
    last, stop, settled = readings[-1], _table("stop"), _table("settled")
    reads, allowed = f"{milliamps_text(last.amps)} at {said(last.volts, 'voltage', 3)}", milliamps_text(limit_amps)
    if last.volts > rated_volts * Decimal(settled["over_rated"]):
        text = f"{said(last.volts, 'voltage', 3)} is above its {write_value(rated_volts, 'voltage')}. Turn it down at once."
        return Standing("over_rated", text, "marking of the part")
    before = _same_volts_before(readings)
    if before is not None and last.amps > limit_amps and last.amps > before.amps * Decimal(stop["rising"]):
        text = f"The leakage rose from {milliamps_text(before.amps)} to {reads}. Stop: it gets worse instead of forming."
        return Standing("rising", text, stop["source"])
    if last.amps * last.volts > Decimal(stop["watts"]):
        heat = said(last.amps * last.volts, "power")
        return Standing("hot", f"{reads} is {heat} inside the part. Turn it down and let it cool.", stop["source"])
    if last.volts < rated_volts * Decimal(settled["at_rated"]):
        return _forming(last, reads, limit_amps)
    if last.amps > limit_amps:
        text = (
            f"{reads}: at its rated voltage {allowed} is allowed. Stay there while it falls; if it falls no more, the part leaks."
        )
        return Standing("too_much", text, settled["source"])
    if last.minutes - _came_to_rated(readings, rated_volts) < settled["minutes"]:
        text = f"{reads}, within the {allowed} allowed. Take another reading after {settled['minutes']} to 5 min there."
        return Standing("settling", text, settled["source"])
    return Standing("sound", f"{reads}, within the {allowed} allowed, and it has settled.", settled["source"])


def _forming(last: Taken, reads: str, limit_amps: Decimal) -> Standing:
    todo = "Stay here until it falls." if last.amps > limit_amps else "Go on to the next step."
    return Standing("forming", f"{reads}, not yet at its rated voltage. {todo}", _table("steps")["source"])


def _same_volts_before(readings: Sequence[Taken]) -> Taken | None:
    """The reading just before the last one, if it was taken at the same voltage."""
    if len(readings) < 2:
        return None
    before, last = readings[-2], readings[-1]
    is_same = abs(before.volts - last.volts) <= last.volts * Decimal(_table("stop")["same_volts"])
    return before if is_same else None


def _came_to_rated(readings: Sequence[Taken], rated_volts: Decimal) -> Decimal:
    """When the last stretch at rated voltage began, in minutes."""
    least, began = rated_volts * Decimal(_table("settled")["at_rated"]), readings[-1].minutes
    for reading in reversed(readings):
        if reading.volts < least:
            break
        began = reading.minutes
    return began
