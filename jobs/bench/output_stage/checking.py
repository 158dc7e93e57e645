"""Judges one output valve by the voltages around it.

Ik = Vk / Rk, plate watts = (Vp - Vk) (Ik - Ig2), screen watts = (Vg2 - Vk) Ig2: textbook relations. Decimal, SI units.
"""

from dataclasses import replace
from decimal import Decimal

from jobs.bench.output_stage.currents import check_readings, currents_of
from jobs.bench.output_stage.judging import reasons_of
from jobs.bench.output_stage.shapes import StageCheck, StageReadings
from jobs.bench.output_stage.valves import Limit, OutputValve, output_valve
from jobs.bench.problems import BenchError, between


def check_stage(
    valve: str, readings: StageReadings, *, plate_watts_limit: Decimal | None = None, screen_watts_limit: Decimal | None = None
) -> StageCheck:
    """Judge one output valve by its voltages. Limits given by hand count before those of output_valves.csv.

    BenchError: `out_of_range` for readings that no stage has, or too few of them; `unknown` for a type without a plate limit.
    """
    check_readings(readings)
    known = _known(valve, plate_watts_limit, screen_watts_limit)
    currents = currents_of(readings, known)
    cathode_volts = readings.cathode_volts or Decimal(0)
    plate_watts = (readings.plate_volts - cathode_volts) * currents.plate
    screen_watts = None
    if currents.screen is not None and readings.screen_volts is not None:
        screen_watts = (readings.screen_volts - cathode_volts) * currents.screen
    found = StageCheck(
        known.type, readings, currents, plate_watts, screen_watts, known.plate_limit, known.screen_limit, reasons=()
    )
    return replace(found, reasons=tuple(reasons_of(found, known)))


def _known(valve: str, plate_watts: Decimal | None, screen_watts: Decimal | None) -> OutputValve:
    """What is known of the type, limits given by hand first."""
    known = output_valve(valve) or OutputValve(valve[:40])
    by_hand = "limit given by hand"
    if plate_watts is not None:
        known = replace(known, plate_limit=Limit(between(plate_watts, "0.01", "1000", "The plate limit", "W"), by_hand))
    if screen_watts is not None:
        known = replace(known, screen_limit=Limit(between(screen_watts, "0.01", "1000", "The screen limit", "W"), by_hand))
    if known.plate_limit is None and not known.usual:
        raise BenchError("unknown", f"No limits are listed for {valve[:40]!r}. Give the watts its plate may get rid of.")
    return known
