"""What another B+ would do to an output stage: an estimate between two laws that bound it.

Space charge gives I ~ (Vs/µ - Vk)^1.5 with the screen Vs in step with B+. With the cathode resistor kept, Vk = I Rk, so
dlnI/dlnV = 1.5 x / (x + Vk/2) with x = Vs/µ > Vk: between 1 and 1.5 whatever µ is. Where a bias of its own rises in step with B+,
all voltages scale together and it is 1.5; where that bias stays put the current rises by more than that.
"""

from dataclasses import dataclass
from decimal import Decimal

from inventory.components.answers import Reason
from inventory.components.writing import write_value
from jobs.bench.heat import said
from jobs.bench.output_stage.shapes import StageCheck
from jobs.bench.output_stage.valves import Limit
from jobs.bench.problems import BenchError, between

LAW = "three-halves power law of space charge, textbook relation"
_CATHODE = (Decimal(1), Decimal("1.5"))
_FIXED = (Decimal("1.5"), Decimal("1.5"))
_MOST_CHANGE = Decimal(2)


@dataclass(frozen=True, slots=True)
class Span:
    """From the lower to the upper estimate, SI units."""

    low: Decimal
    high: Decimal

    def said(self, kind: str) -> str:
        low, high = said(self.low, kind, 3), said(self.high, kind, 3)
        return low if low == high else f"{low} to {high}"


@dataclass(frozen=True, slots=True)
class Prediction:
    """One valve of the stage after the change. An estimate: its answer is yes or warn, never no."""

    bplus_volts: Decimal
    cathode_amps: Span
    plate_watts: Span
    screen_watts: Span | None
    cathode_volts: Span | None
    assumption: str
    reasons: tuple[Reason, ...]

    @property
    def answer(self) -> str:
        return "warn" if any(reason.level == "warn" for reason in self.reasons) else "yes"


def after_bplus_change(check: StageCheck, new_bplus: Decimal, old_bplus: Decimal) -> Prediction:
    """Estimate the stage at `new_bplus` volts, where `old_bplus` stood when it was measured.

    BenchError `out_of_range` where either is no B+, or where the change is beyond half or double.
    """
    for volts in (old_bplus, new_bplus):
        between(volts, "1", "2000", "B+", "V")
    factor = new_bplus / old_bplus
    if not 1 / _MOST_CHANGE <= factor <= _MOST_CHANGE:
        raise BenchError(
            "out_of_range", "Give a B+ between half and double the one it was measured at; beyond it no estimate holds."
        )
    spans = _powers(factor, _CATHODE if check.is_cathode_biased else _FIXED)
    heat = Span(spans.low * factor, spans.high * factor)
    currents, readings = check.currents, check.readings
    plate = _grown(check.plate_watts, heat)
    screen = None if check.screen_watts is None else _grown(check.screen_watts, heat)
    kept = readings.cathode_volts if check.is_cathode_biased else None
    cathode = None if kept is None else _grown(kept, spans)
    limits = [_against("plate", plate, check.plate_limit, new_bplus)]
    if screen is not None and currents.screen:
        limits.append(_against("screen", screen, check.screen_limit, new_bplus))
    total = currents.cathode if currents.cathode is not None else currents.plate + (currents.screen or 0)
    return Prediction(
        new_bplus,
        _grown(total, spans),
        plate,
        screen,
        cathode,
        _assumption(check),
        tuple(one for one in limits if one is not None),
    )


def _powers(factor: Decimal, exponents: tuple[Decimal, Decimal]) -> Span:
    ends = sorted(factor**exponent for exponent in exponents)
    return Span(ends[0], ends[1])


def _grown(now: Decimal, by: Span) -> Span:
    return Span(now * by.low, now * by.high)


def _against(electrode: str, watts: Span, limit: Limit | None, bplus: Decimal) -> Reason | None:
    if limit is None:
        return None
    most = write_value(limit.watts, "power")
    would = f"At {write_value(bplus, 'voltage')} the {electrode} would get rid of about {watts.said('power')}"
    if watts.high <= limit.watts:
        return Reason(f"{electrode}_after", "yes", f"{would} of the {most} it may.", limit.source)
    return Reason(
        f"{electrode}_over_after", "warn", f"{would}; it may get rid of {most}. Measure as soon as it plays.", limit.source
    )


def _assumption(check: StageCheck) -> str:
    if check.is_cathode_biased:
        return (
            "An estimate: the cathode resistor stays, plate and screen rise or fall in step with B+, "
            "and the current by something between the first power of B+ and the power 3/2."
        )
    return (
        "An estimate: plate, screen and bias rise or fall in step with B+, and the current by the power 3/2. "
        "A bias that stays where it is lets the current change further."
    )
