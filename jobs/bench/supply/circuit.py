"""The power supply of a valve set as a circuit: transformer or line, rectifier, reservoir, choke, smoothing, load.

AC source ── source ohms ── rectifier ──┬── choke (henries + ohms) ──┬── B+
                                    reservoir                    smoothing, load
"""

import math
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from jobs.bench.supply.errors import SupplyError
from jobs.bench.supply.laws import Law, Linear, ThreeHalves

TOPOLOGIES = ("half-wave", "full-wave")


@dataclass(frozen=True, slots=True)
class _Range:
    least: float
    most: float
    unit: str
    what: str
    may_be_zero: bool = False

    def holds(self, value: float) -> bool:
        return self.least <= value <= self.most or (self.may_be_zero and value == 0)

    @property
    def text(self) -> str:
        zero = "0, or " if self.may_be_zero else ""
        return f"{zero}{self.least:.12g} to {self.most:.12g} {self.unit}"


RANGES = {
    "volts_rms": _Range(1, 5000, "V rms per half", "AC voltage"),
    "frequency_hz": _Range(10, 1000, "Hz", "frequency"),
    "source_ohms": _Range(0.01, 100_000, "Ω", "source resistance", may_be_zero=True),
    "reservoir_uf": _Range(0.5, 10_000, "µF", "reservoir"),
    "choke_h": _Range(0.001, 1000, "H", "choke's inductance", may_be_zero=True),
    "choke_ohms": _Range(0.01, 100_000, "Ω", "resistance of choke or resistor", may_be_zero=True),
    "smoothing_uf": _Range(0.1, 10_000, "µF", "smoothing capacitor", may_be_zero=True),
    "load_amps": _Range(1e-6, 10, "A", "load current"),
    "load_ohms": _Range(1, 1e8, "Ω", "load resistance"),
}
"""What is computed: every set's supply, vibrator sets at 100 Hz and more, and a good margin. Common practice, no source."""
_OHMS = _Range(0.01, 100_000, "Ω", "resistance of source and rectifier together")
_PERVEANCE = _Range(1e-7, 1, "A/V^1.5", "rectifier's perveance")


@dataclass(frozen=True, slots=True)
class Supply:
    """One circuit to compute, in the units of the names; exactly one of `load_amps` and `load_ohms`.

    `volts_rms` is the unloaded voltage per half of the winding (or of the line), `source_ohms` what lies before each anode:
    winding, surge resistor, reflected primary. `choke_h` 0 is a resistor of `choke_ohms`; both 0 put smoothing and load
    straight on the reservoir, and then `smoothing_uf` may be 0 too. `load_amps` is drawn whatever the voltage, falling linearly
    to nothing below 10 V of B+. `rectifier_type` is only looked at by `limits`. Raises SupplyError out of range.
    """

    topology: str
    volts_rms: float
    frequency_hz: float
    source_ohms: float
    rectifier: Law
    reservoir_uf: float
    choke_h: float
    choke_ohms: float
    smoothing_uf: float
    load_amps: float | None = None
    load_ohms: float | None = None
    rectifier_type: str = ""

    def __post_init__(self) -> None:
        if self.topology not in TOPOLOGIES:
            raise SupplyError("unknown", "The topology is not on file. It is half-wave or full-wave.")
        if (self.load_amps is None) == (self.load_ohms is None):
            raise SupplyError("out_of_range", "Give the load once: as load_amps or as load_ohms, not both and not neither.")
        for field in fields(self):
            if field.name in RANGES and (value := getattr(self, field.name)) is not None:
                object.__setattr__(self, field.name, _checked(field.name, value, RANGES[field.name]))
        self._check_rectifier()
        if self.smoothing_uf == 0 and (self.choke_h or self.choke_ohms):
            raise SupplyError(
                "out_of_range", f"smoothing_uf is 0 behind a choke or resistor. Accepted: {RANGES['smoothing_uf'].text[6:]}."
            )

    def _check_rectifier(self) -> None:
        if isinstance(self.rectifier, Linear):
            ohms = _number("rectifier", self.rectifier.ohms)
            if ohms < 0:
                raise _refused("rectifier", ohms, _OHMS)
            _checked("rectifier", ohms + self.source_ohms, _OHMS)
        elif isinstance(self.rectifier, ThreeHalves):
            _checked("rectifier", self.rectifier.perveance, _PERVEANCE)
        else:
            raise SupplyError(
                "unknown", "The rectifier's law is not on file. It is linear with its ohms, or three halves with its perveance."
            )

    @property
    def first_capacitor_uf(self) -> float:
        """What the rectifier charges: the reservoir, and the smoothing capacitor too where nothing lies between them."""
        return self.reservoir_uf + (0.0 if self.choke_h or self.choke_ohms else self.smoothing_uf)

    @property
    def peak_no_load_v(self) -> float:
        """The voltage before the valves draw current, √2 times the AC voltage: all capacitors of the supply must stand it."""
        return math.sqrt(2) * self.volts_rms


def _number(name: str, value: Any) -> float:
    """The value as a float; what is no number, not finite or too large for one is out of range."""
    try:
        number = float(value) if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool) else math.nan
    except (OverflowError, ValueError):
        number = math.nan
    if not math.isfinite(number):
        raise SupplyError("out_of_range", f"{name} must be a finite number. Accepted: {_accepted(name)}.")
    return number


def _accepted(name: str) -> str:
    return RANGES[name].text if name in RANGES else f"a resistance ({_OHMS.text}) or a perveance ({_PERVEANCE.text})"


def _checked(name: str, value: Any, accepted: _Range) -> float:
    number = _number(name, value)
    if not accepted.holds(number):
        raise _refused(name, number, accepted)
    return number


def _refused(name: str, value: float, accepted: _Range) -> SupplyError:
    return SupplyError(
        "out_of_range", f"{name} is {value:g}: {accepted.what} outside what is computed. Accepted: {accepted.text}."
    )
