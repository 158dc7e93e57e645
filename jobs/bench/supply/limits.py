"""What a computed supply asks of its rectifier, against the figures on file for the type."""

from dataclasses import dataclass

from inventory.components.rectifiers import rectifier_figures
from inventory.components.valves import Figure
from jobs.bench.supply.circuit import Supply
from jobs.bench.supply.results import Result

_ROUNDING = 1.005
"""Data sheets round: 117 V rms is 330.9 V of inverse voltage, and the types made for it are rated 330 V."""
_WORDS = {
    "max_reservoir_uf": ("First capacitor", "µF"),
    "max_dc_ma": ("DC output", "mA"),
    "max_peak_plate_ma": ("Peak plate current", "mA"),
    "max_peak_inverse_volts": ("Peak inverse voltage", "V"),
    "max_ac_volts_per_plate": ("AC voltage per plate", "V rms"),
    "min_supply_ohms": ("Supply impedance per plate", "Ω"),
    "max_transient_plate_amps": ("Current at switching on hot", "A"),
}


@dataclass(frozen=True, slots=True)
class Limit:
    """One figure of a type against what the circuit asks of it.

    `code` names it (max_reservoir_uf, max_dc_ma, ...), `value` and `limit` are in `unit`. `exceeded` holds where the circuit is
    beyond it: above a largest, below a least figure. A limit `from_memory` only cautions. `sentence` says it in words.
    """

    code: str
    value: float
    limit: float
    unit: str
    exceeded: bool
    from_memory: bool
    sentence: str
    source: str


def limits(supply: Supply, result: Result) -> tuple[Limit, ...]:
    """Every figure on file for `supply.rectifier_type` against the result; none for a type not on file or a solid-state one.

    The inverse voltage is that of full capacitors before the valves draw current, twice the AC peak.
    """
    figures = rectifier_figures(supply.rectifier_type, supply.volts_rms)
    values = _values(supply, result)
    return tuple(_limit(supply.rectifier_type, code, values[code], figure) for code, figure in figures.items())


def _values(supply: Supply, result: Result) -> dict[str, float]:
    return {
        "max_reservoir_uf": supply.first_capacitor_uf,
        "max_dc_ma": 1000 * result.load_mean_a,
        "max_peak_plate_ma": 1000 * result.rectifier_peak_a,
        "max_peak_inverse_volts": 2 * supply.peak_no_load_v,
        "max_ac_volts_per_plate": supply.volts_rms,
        "min_supply_ohms": supply.source_ohms,
        "max_transient_plate_amps": result.inrush_peak_a,
    }


def _limit(type_name: str, code: str, value: float, figure: Figure) -> Limit:
    least, bound = code.startswith("min_"), float(figure.value)
    exceeded = value * _ROUNDING < bound if least else value > bound * _ROUNDING
    what, unit = _WORDS[code]
    shown = f"{value:.4g} {unit}: {_stands(exceeded, least)} the {_shown(type_name)}'s {'least' if least else 'largest'}"
    sentence = f"{what} {shown}, {bound:g} {unit}."
    if figure.from_memory:
        sentence += " That figure is from memory: look it up in a data sheet."
    return Limit(code, value, bound, unit, exceeded, figure.from_memory, sentence, figure.source)


def _stands(exceeded: bool, least: bool) -> str:
    if least:
        return "less than" if exceeded else "not below"
    return "more than" if exceeded else "within"


def _shown(type_name: str) -> str:
    return "".join(one for one in type_name[:20] if one.isprintable()).strip()
