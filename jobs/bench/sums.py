"""The sums a repairer does on a scrap of paper, each with what it asks for and how the answer is said."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from inventory.components.writing import write_value
from jobs.bench import dissipation, handbook
from jobs.bench.heat import said
from jobs.bench.problems import BenchError, between

FIGURES = 4


@dataclass(frozen=True, slots=True)
class Ask:
    """One figure that a sum needs. `kind` as notation has them, or "number" with its `unit`."""

    name: str
    label: str
    kind: str
    example: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Sum:
    """`kind` of the answer as notation has them, or "" with a `unit` of its own. `work` takes the asked figures in order."""

    code: str
    title: str
    asks: tuple[Ask, ...]
    work: Callable[..., Decimal]
    kind: str = ""
    unit: str = ""
    note: str = ""

    def answer(self, figures: tuple[Decimal, ...]) -> str:
        """The answer in words. BenchError where a figure is not above zero or the sum can't be done."""
        for ask, figure in zip(self.asks, figures, strict=True):
            if not figure.is_finite() or figure <= 0:
                raise BenchError("out_of_range", f"{ask.label} must be above zero, like {ask.example}.")
        value = between(self.work(*figures), "-1e30", "1e30", "The answer", self.unit)
        if self.kind:
            return said(value, self.kind, FIGURES)
        rounded = value.quantize(Decimal(1).scaleb(value.adjusted() - FIGURES + 1)) if value else value
        return f"{rounded.normalize():f} {self.unit}".strip()


_VOLTS = Ask("volts", "Voltage across it", "voltage", "12 V")
_OHMS = Ask("ohms", "Resistance", "resistance", "470 Ω")
_FARADS = Ask("farads", "Capacitance", "capacitance", "0.022 µF")
_HERTZ = Ask("hertz", "Frequency", "frequency", "1 MHz")

_ALL = (
    Sum("amps", "Current from the drop over a resistor", (_VOLTS, _OHMS), dissipation.amps_from_volts, "current"),
    Sum(
        "heat",
        "Heat in a resistor by its voltage",
        (_VOLTS, _OHMS),
        dissipation.watts_from_volts,
        "power",
        note="Fit twice that.",
    ),
    Sum(
        "heat_by_current",
        "Heat in a resistor by its current",
        (Ask("amps", "Current through it", "current", "70 mA"), _OHMS),
        dissipation.watts_from_amps,
        "power",
        note="Fit twice that.",
    ),
    Sum(
        "dropper",
        "Dropping resistor",
        (
            Ask("supply", "Supply", "voltage", "250 V"),
            Ask("wanted", "Voltage wanted", "voltage", "100 V"),
            Ask("amps", "Current drawn", "current", "2 mA"),
        ),
        dissipation.dropper_ohms,
        "resistance",
    ),
    Sum(
        "divider",
        "Voltage at the tap of a divider",
        (
            Ask("supply", "Supply", "voltage", "250 V"),
            Ask("upper", "Upper resistor", "resistance", "220 kΩ"),
            Ask("lower", "Lower resistor", "resistance", "47 kΩ"),
        ),
        dissipation.divided_volts,
        "voltage",
        note="Nothing drawn from the tap.",
    ),
    Sum("reactance", "Reactance of a capacitor", (_FARADS, _HERTZ), dissipation.reactance_ohms, "resistance"),
    Sum("corner", "Where a coupling or bypass capacitor is 3 dB down", (_OHMS, _FARADS), dissipation.corner_hertz, "frequency"),
    Sum(
        "resonance",
        "Frequency of a tuned circuit",
        (Ask("henries", "Inductance", "inductance", "240 µH"), Ask("farads", "Capacitance", "capacitance", "365 pF")),
        dissipation.resonance_hertz,
        "frequency",
    ),
    Sum(
        "reflected",
        "Load that an output transformer shows the valve",
        (Ask("turns", "Turns ratio", "number", "28"), Ask("ohms", "Loudspeaker", "resistance", "3.2 Ω")),
        dissipation.reflected_ohms,
        "resistance",
    ),
    Sum("metres", "Wavelength of a frequency", (_HERTZ,), handbook.wave_metres, unit="m"),
    Sum(
        "hertz",
        "Frequency of a wavelength",
        (Ask("metres", "Wavelength", "number", "49", "m"),),
        handbook.wave_hertz,
        "frequency",
    ),
    Sum(
        "charge",
        "Energy in a charged capacitor",
        (_FARADS, Ask("volts", "Voltage on it", "voltage", "300 V")),
        dissipation.stored_joules,
        unit="J",
        note="Discharge it through a resistor, and measure before you touch.",
    ),
    Sum(
        "fuse",
        "Where to begin with a fuse",
        (Ask("watts", "The set draws", "power", "45 W"), Ask("line", "Line voltage", "voltage", "117 V")),
        handbook.fuse_amps,
        "current",
        note="Half as much again as it draws warm: common practice, no source. The service data and local codes come first.",
    ),
    Sum(
        "meter",
        "What a meter puts across the circuit",
        (
            Ask("sensitivity", "Ohms for each volt", "number", "20000", "Ω/V"),
            Ask("range", "Range", "voltage", "50 V"),
        ),
        handbook.meter_ohms,
        "resistance",
    ),
    Sum(
        "decibels", "Decibels of a voltage ratio", (Ask("ratio", "Ratio", "number", "20"),), handbook.decibels_of_volts, unit="dB"
    ),
    Sum(
        "line",
        "A voltage at another line voltage",
        (
            Ask("volts", "Voltage now", "voltage", "120 V"),
            Ask("line", "at a line of", "voltage", "117 V"),
            Ask("other", "Line becomes", "voltage", "125 V"),
        ),
        handbook.in_step_with_line,
        "voltage",
        note="Taken in proportion: no regulation, no change of load.",
    ),
    Sum(
        "battery",
        "Hours out of a battery",
        (Ask("charge", "Charge", "number", "5", "Ah"), Ask("amps", "Current", "current", "20 mA")),
        handbook.battery_hours,
        unit="h",
    ),
)
SUMS: Mapping[str, Sum] = MappingProxyType({one.code: one for one in _ALL})


def figure_text(figure: Decimal, ask: Ask) -> str:
    """A figure as it is said again beside the answer."""
    return f"{figure.normalize():f} {ask.unit}".strip() if ask.kind == "number" else write_value(figure, ask.kind)
