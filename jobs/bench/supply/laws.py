"""How a rectifier conducts: a resistance (silicon, selenium) or the three-halves-power law of a vacuum diode.

Child and Langmuir: the current between two electrodes in a vacuum that the space charge limits is i = P·v^1.5, with the
perveance P set by the geometry alone. A data sheet's drop at one current therefore fixes the whole curve: P = i / v^1.5.
"""

from dataclasses import dataclass

from inventory.components.valves import Figure, is_solid_state, rectifier_figure
from jobs.bench.supply.errors import SupplyError

SILICON_OHMS = 1.0
"""A silicon diode: its slope, without its junction's 0.6 V, which no radio's B+ notices. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Linear:
    """Conducts like a resistor of `ohms`, one way. `source` says where the figure is from, where it is a type's."""

    ohms: float
    source: str = ""
    from_memory: bool = False


@dataclass(frozen=True, slots=True)
class ThreeHalves:
    """Conducts i = perveance·v^1.5, one way; `perveance` in A/V^1.5. `source` says where it is from, where it is a type's."""

    perveance: float
    source: str = ""
    from_memory: bool = False


Law = Linear | ThreeHalves


def rectifier_law(type_name: str) -> Law:
    """The law of a rectifier type: from its drop per plate on file, or a small resistance for a solid-state one.

    SupplyError `unknown` where neither the type nor its drop is on file.
    """
    if is_solid_state(type_name):
        return Linear(SILICON_OHMS, "common practice, no source", True)
    volts, amps = (rectifier_figure(type_name, quantity) for quantity in ("law_drop_volts", "law_drop_amps"))
    if volts is None or amps is None:
        raise SupplyError(
            "unknown",
            f"No voltage drop is on file for a rectifier {_short(type_name)}. Give a type on file such as 5Y3-GT, 6X4, 35W4 or "
            "GZ34, silicon, or the law itself: linear with its ohms, or three halves with its perveance in A/V^1.5.",
        )
    return _fitted(volts, amps)


def _fitted(volts: Figure, amps: Figure) -> ThreeHalves:
    return ThreeHalves(float(amps.value) / float(volts.value) ** 1.5, volts.source, volts.from_memory or amps.from_memory)


def _short(name: str) -> str:
    shown = "".join(one for one in name[:40] if one.isprintable()).strip()
    return f"“{shown[:20]}”" if shown else "without a name"
