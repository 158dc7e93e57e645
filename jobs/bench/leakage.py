"""How much a capacitor may leak: electrolytics by published formulas, paper and film by insulation. Data in limits.toml."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.components.specs import Spec
from inventory.components.tables import toml_table
from jobs.bench.problems import BenchError, ProblemCode

_MICRO, _MILLI = Decimal("1e-6"), Decimal("1e-3")
USUAL_RULE = "jan_c_62"


class NoLimit(BenchError):
    """No published formula covers such a capacitor."""

    def __init__(self, message: str, code: ProblemCode = "out_of_range") -> None:
        super().__init__(code, message)


@dataclass(frozen=True, slots=True)
class LeakLimit:
    """The most a capacitor may leak, `amps`, with the rule's words and source."""

    amps: Decimal
    label: str
    source: str


def _limits() -> dict[str, Any]:
    return toml_table("jobs.bench", "limits.toml")


def allowed_leakage(farads: Decimal, volts: Decimal, rule: str = USUAL_RULE) -> LeakLimit:
    """Largest leakage in amps of an electrolytic of `farads` at its rated `volts`. Rules: jan_c_62, radiospares_1968, today."""
    if not farads.is_finite() or not volts.is_finite() or farads <= 0 or volts <= 0:
        raise NoLimit("Give the capacitor's value and its rated voltage; both must be above zero.")
    row = next((row for row in _rules() if row["code"] == rule), None)
    if row is None:
        known = ", ".join(row["code"] for row in _rules())
        raise NoLimit(f"{rule[:40]!r} is not a leakage rule; use one of {known}.", "unknown")
    return LeakLimit(_amps(row, farads / _MICRO, volts), row["label"], row["source"])


def _rules() -> list[dict[str, Any]]:
    return _limits()["electrolytic"] + _limits()["volt_microfarad"]  # type: ignore[no-any-return]


def leakage_rules() -> list[tuple[str, str]]:
    """(code, label) of each rule an electrolytic's leakage may be judged by, the usual one first."""
    return [(row["code"], row["label"]) for row in _rules()]


def _amps(row: dict[str, Any], microfarads: Decimal, volts: Decimal) -> Decimal:
    band = next((one for one in row["bands"] if volts <= one["upto_volts"]), None)
    if band is None:
        raise NoLimit(f"No leakage figure is published for {volts:f} V; look at the part's data sheet.")
    if "ma_per_uf" in band:
        return (Decimal(band["ma_per_uf"]) * microfarads + Decimal(row["fixed_ma"])) * _MILLI
    return (Decimal(band["ua_per_uf_volt"]) * microfarads * volts + Decimal(band["fixed_ua"])) * _MICRO


def is_electrolytic_size(spec: Spec) -> bool:
    """Whether a capacitor is so large (1 µF and up) that in these sets it is an electrolytic."""
    return spec.kind == "capacitance" and spec.value >= Decimal(_limits()["insulation"]["electrolytic_from_farads"])


def least_insulation_ohms(called: Spec) -> tuple[Decimal, str]:
    """The least resistance, in ohms, a sound capacitor shows on DC, and by which rule."""
    insulation = _limits()["insulation"]
    if is_electrolytic_size(called) and called.volts:
        limit = allowed_leakage(called.value, called.volts)
        return called.volts / limit.amps, limit.label.partition(":")[0]
    if is_electrolytic_size(called):
        return Decimal(insulation["electrolytic_least_ohms"]), "shop practice"
    return Decimal(insulation["least_ohms"]), "shop practice"


def grid_shift_volts(volts_across: Decimal, leak_ohms: Decimal, grid_leak_ohms: Decimal) -> Decimal:
    """Volts that a leaking coupling capacitor puts on the grid leak it feeds."""
    return volts_across * grid_leak_ohms / (leak_ohms + grid_leak_ohms)


def coupling_leaks_too_much(shift_volts: Decimal, bias_volts: Decimal) -> bool:
    """Whether the leaked voltage reaches the part of the bias at which the capacitor is replaced."""
    return abs(shift_volts) >= abs(bias_volts) * Decimal(_limits()["coupling"]["bias_fraction"])


def coupling_source() -> str:
    return str(_limits()["coupling"]["source"])
