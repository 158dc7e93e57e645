"""Invented meter readings for a safety check."""

from decimal import Decimal
from random import Random

from jobs.bench.safety import RequiredReading, required_readings
from jobs.services.proving import TakenReading

# One through a bleed resistor, one of a set whose metal goes nowhere.
RETURN_PATH_MEGOHMS, COLD_MEGOHMS = Decimal("2.2"), Decimal("8.5")


def safety_readings(practice: str, worst: Decimal, rng: Random, *, earthed: bool = False) -> list[TakenReading]:
    """Every reading a practice asks for: the worst is with the plug reversed and the switch on."""
    return [
        TakenReading(one.test.code, _value(one, worst, rng), one.polarity, one.switch)
        for one in required_readings(practice, earthed=earthed)
    ]


def _value(one: RequiredReading, worst: Decimal, rng: Random) -> Decimal:
    if one.test.op == ">=":
        return RETURN_PATH_MEGOHMS if one.test.most is not None else COLD_MEGOHMS
    if one.polarity == "reversed" and one.switch in ("on", ""):
        return worst
    return Decimal(f"{min(float(worst), 0.3) * rng.uniform(0.2, 0.8):.2f}")
