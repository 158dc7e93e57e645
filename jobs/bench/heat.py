"""What a resistor has to bear where the voltage across it was measured, and whether its rating is enough."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.components.answers import number_of
from inventory.components.watt_rules import standard_watts
from inventory.components.writing import write_value
from jobs.bench.dissipation import amps_from_volts, watts_from_volts
from jobs.bench.problems import between, resistance, voltage

_LITTLE = Decimal("0.001")
_MARKS = {
    "yes": ("yes", "bears it"),
    "warn": ("warn", "runs hot"),
    "no": ("no", "overloaded"),
    "open": ("note", "rating not known"),
}


def said(value: Decimal, kind: str, figures: int = 2) -> str:
    """A computed value as one would say it, to so many figures: "26 mA", "0.31 W"."""
    return write_value(value.quantize(Decimal(1).scaleb(value.adjusted() - figures + 1)) if value else value, kind)


@dataclass(frozen=True, slots=True)
class Heat:
    """A resistor under power, SI units. `volts` without sign; `rated_watts` None where nobody knows the rating."""

    volts: Decimal
    ohms: Decimal
    rated_watts: Decimal | None = None

    @property
    def amps(self) -> Decimal:
        return amps_from_volts(self.volts, self.ohms)

    @property
    def watts(self) -> Decimal:
        return watts_from_volts(self.volts, self.ohms)

    @property
    def fit_watts(self) -> Decimal:
        """The smallest standard rating of at least twice the dissipation."""
        return standard_watts(self.watts * number_of("power", "factor"))

    @property
    def level(self) -> str:
        """yes: enough; warn: runs hot; no: above its rating; open: rating unknown."""
        if self.rated_watts is None:
            return "open"
        if self.watts > self.rated_watts:
            return "no"
        return "yes" if self.watts * number_of("power", "factor") <= self.rated_watts else "warn"

    @property
    def mark(self) -> str:
        return _MARKS[self.level][0]

    @property
    def word(self) -> str:
        return _MARKS[self.level][1]

    @property
    def sentence(self) -> str:
        """`12 V across 470 Ω: 26 mA and 0.31 W; rated 0.5 W, at least twice is wanted: fit 1 W.`"""
        across = f"{said(self.volts, 'voltage', 4)} across {write_value(self.ohms, 'resistance')}"
        heat = "less than 1 mW" if self.watts < _LITTLE else said(self.watts, "power")
        return f"{across}: {said(self.amps, 'current')} and {heat}; {self._advice()}."

    def _advice(self) -> str:
        fit = write_value(self.fit_watts, "power")
        if self.rated_watts is None:
            return f"at least twice is wanted: {fit}"
        rated = f"rated {write_value(self.rated_watts, 'power')}"
        if self.level == "no":
            return f"{rated}, it burns: fit {fit}"
        return f"{rated}, at least twice is wanted: fit {fit}" if self.level == "warn" else f"{rated}, that is enough"


def heat_in(volts: Decimal, ohms: Decimal, rated_watts: Decimal | None = None) -> Heat:
    """The heat in a resistor with `volts` across it. Twice the dissipation is wanted: substitution.toml, [power].

    BenchError where a number is beyond anything a set has.
    """
    rated = None if rated_watts is None else between(rated_watts, "0.001", "10000", "The rating", "W")
    return Heat(abs(voltage(volts, "The voltage")), resistance(ohms, "The resistance"), rated)
