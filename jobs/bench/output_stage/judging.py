"""The sentences a repairer would say of a stage: heat against limits, currents against the sheet, a grid that leaks."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import Reason
from inventory.components.writing import write_value
from jobs.bench.heat import said
from jobs.bench.leakage import coupling_leaks_too_much, coupling_source
from jobs.bench.output_stage.shapes import StageCheck
from jobs.bench.output_stage.valves import Limit, OutputValve
from jobs.bench.problems import voltage

PRACTICE = "common practice, no source"
# Beyond these shares of the sheet's current the stage wants a look (common practice, no source).
_MUCH, _LITTLE = Decimal("1.25"), Decimal("0.7")
# The sheet's working point says something only near its own plate voltage.
_NEAR = Decimal("0.15")
# A good meter on a good grid leak reads less (common practice, no source).
_GRID_NOTHING = Decimal("0.1")


def check_grid(grid_volts: Decimal, bias_volts: Decimal) -> Reason | None:
    """What a control grid above its place says of the capacitor that feeds it; None where it says nothing.

    `grid_volts` is what the grid leak's grid end shows against its other end, `bias_volts` the stage's bias.
    """
    voltage(grid_volts, "The grid voltage")
    voltage(bias_volts, "The bias")
    if grid_volts < _GRID_NOTHING:
        return None
    stands = f"The control grid stands {said(grid_volts, 'voltage')} positive"
    look = "pull the valve: if the voltage stays it is the capacitor, if it goes the valve passes grid current"
    if not bias_volts or coupling_leaks_too_much(grid_volts, bias_volts):
        text = f"{stands}, a tenth of the bias or more: the coupling capacitor leaks and is replaced. To be sure, {look}."
        return Reason("grid", "no", text, coupling_source())
    return Reason("grid", "warn", f"{stands}: the coupling capacitor begins to leak. To be sure, {look}.", coupling_source())


def reasons_of(found: StageCheck, known: OutputValve) -> Iterator[Reason]:
    yield _against("plate", found.plate_watts, found.plate_limit, found.valve)
    if found.currents.screen is None and found.is_cathode_biased:
        text = "What its screen takes isn't known, so all the cathode current is counted to the plate: it gets less than that."
        yield Reason("screen_unknown", "warn", text, PRACTICE)
    elif found.screen_watts is not None and found.currents.screen:
        yield _against("screen", found.screen_watts, found.screen_limit, found.valve)
    yield from _disagreement(found)
    yield from _beside_the_sheet(found, known)
    if found.readings.grid_volts is not None:
        bias = found.readings.cathode_volts or -min(found.readings.grid_volts, Decimal(0))
        leak = check_grid(found.readings.grid_volts, bias)
        if leak is not None:
            yield leak


def _against(electrode: str, watts: Decimal, limit: Limit | None, valve: str) -> Reason:
    heat = f"The {electrode} gets rid of {said(watts, 'power', 4)}"
    if limit is None:
        return Reason(f"{electrode}_limit_unknown", "warn", f"{heat}; how much it may isn't listed. Look at its sheet.", PRACTICE)
    most, share = write_value(limit.watts, "power"), watts / limit.watts * 100
    if watts <= limit.watts:
        return Reason(electrode, "yes", f"{heat} of the {most} it may: {share:.0f} %.", limit.source)
    text = f"{heat}, above the {most} that {valve} may: {share:.0f} %."
    return Reason(f"{electrode}_over", "warn" if limit.only_remembered else "no", text, limit.source)


def _disagreement(found: StageCheck) -> Iterator[Reason]:
    currents = found.currents
    if currents.cathode is not None and currents.plate > currents.cathode:
        text = "The plate takes more than the cathode resistor passes: measure both again, and look for a leaking cathode bypass."
        yield Reason("currents_disagree", "warn", text, PRACTICE)


def _beside_the_sheet(found: StageCheck, known: OutputValve) -> Iterator[Reason]:
    """More or less current than the sheet gives at about this voltage has causes that can be named."""
    usual, volts = known.nearest(found.readings.plate_volts), found.readings.plate_volts - (found.readings.cathode_volts or 0)
    if usual is None or abs(volts - usual.plate_volts) > usual.plate_volts * _NEAR:
        return
    sheet = f"the sheet's {said(usual.plate_amps, 'current')} at {write_value(usual.plate_volts, 'voltage')}"
    takes = f"The plate takes {said(found.currents.plate, 'current', 3)}"
    if found.currents.plate > usual.plate_amps * _MUCH:
        causes = "a coupling capacitor that leaks, a cathode resistor gone low, or a gassy valve"
        yield Reason("much_current", "warn", f"{takes}, well above {sheet}: look for {causes}.", usual.source)
    elif found.currents.plate < usual.plate_amps * _LITTLE:
        causes = "a tired valve, a cathode resistor gone high, or a low screen voltage"
        yield Reason("little_current", "warn", f"{takes}, well below {sheet}: look for {causes}.", usual.source)
