"""Checks the readings of a stage and works out its currents."""

from decimal import Decimal

from jobs.bench.dissipation import amps_from_volts
from jobs.bench.output_stage.shapes import Currents, StageReadings
from jobs.bench.output_stage.valves import OutputValve
from jobs.bench.problems import BenchError, between, resistance, voltage

_TOO_FEW = (
    "Give the cathode voltage with its resistor, or the plate current: "
    "measured, or by the drop over the winding and its resistance."
)


def check_readings(readings: StageReadings) -> None:
    voltage(readings.plate_volts, "The plate voltage")
    for value, what in (
        (readings.cathode_volts, "The cathode voltage"),
        (readings.screen_volts, "The screen voltage"),
        (readings.grid_volts, "The grid voltage"),
        (readings.winding_volts, "The drop over the winding"),
    ):
        if value is not None:
            voltage(value, what)
    if readings.plate_volts <= (readings.cathode_volts or 0):
        raise BenchError("out_of_range", "The plate must be above the cathode. Measure both against the chassis or B-.")
    if readings.screen_volts is not None and readings.screen_volts < (readings.cathode_volts or 0):
        raise BenchError("out_of_range", "The screen must be above the cathode. Measure both against the chassis or B-.")
    if readings.cathode_volts is not None and readings.cathode_volts < 0:
        raise BenchError("out_of_range", "The cathode must not be below the chassis or B-. Check how the meter was connected.")
    for amps, what in ((readings.plate_amps, "The plate current"), (readings.screen_amps, "The screen current")):
        if amps is not None:
            between(amps, "0", "10", what, "A")
    if readings.screen_fraction is not None:
        between(readings.screen_fraction, "0", "0.9", "The screen's share of the current", "")
    if not 1 <= readings.count <= 8:
        raise BenchError("out_of_range", "From 1 to 8 valves share a cathode resistor.")


def currents_of(readings: StageReadings, known: OutputValve) -> Currents:
    plate, how = _plate_amps(readings)
    if readings.cathode_volts is None or readings.cathode_ohms is None:
        if plate is None:
            text = (
                "Give the cathode voltage with its resistor, or the plate current: the drop over the winding and its resistance."
            )
            raise BenchError("out_of_range", text)
        screen, screen_how = _screen_beside(plate, readings, known)
        return Currents(None, plate, screen, how, screen_how)
    cathode = amps_from_volts(readings.cathode_volts, resistance(readings.cathode_ohms, "The cathode resistor")) / readings.count
    if plate is not None:
        left = max(cathode - plate, Decimal(0))
        return Currents(cathode, plate, left, how, "what the plate leaves of the cathode current")
    screen, screen_how = _screen_within(cathode, readings, known)
    return Currents(cathode, max(cathode - (screen or 0), Decimal(0)), screen, "cathode current less the screen's", screen_how)


def _plate_amps(readings: StageReadings) -> tuple[Decimal | None, str]:
    if readings.plate_amps is not None:
        return readings.plate_amps, "measured"
    if readings.winding_volts is None or readings.winding_ohms is None:
        return None, ""
    amps = amps_from_volts(abs(readings.winding_volts), resistance(readings.winding_ohms, "The winding"))
    return amps, "drop over the transformer's winding"


def _fraction(readings: StageReadings, known: OutputValve) -> tuple[Decimal | None, str]:
    if readings.screen_fraction is not None:
        return readings.screen_fraction, "the share given"
    usual = known.nearest(readings.plate_volts)
    if usual is None:
        return None, "not known"
    return usual.screen_fraction, "the share that the valve's sheet gives" if usual.screen_amps else "a triode has no screen"


def _screen_within(cathode: Decimal, readings: StageReadings, known: OutputValve) -> tuple[Decimal | None, str]:
    if readings.screen_amps is not None:
        return min(readings.screen_amps, cathode), "measured"
    fraction, how = _fraction(readings, known)
    return (None if fraction is None else cathode * fraction), how


def _screen_beside(plate: Decimal, readings: StageReadings, known: OutputValve) -> tuple[Decimal | None, str]:
    if readings.screen_amps is not None:
        return readings.screen_amps, "measured"
    fraction, how = _fraction(readings, known)
    return (None if fraction is None else plate * fraction / (1 - fraction)), how
