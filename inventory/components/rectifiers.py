"""Rectifier valves: which are on file, and which of their figures hold at an AC voltage. Rows: rectifiers.csv.

Some figures depend on the AC voltage per plate. They have rows of their own, `<figure>_at_<volts>_volts`; what holds between
two of them is the higher voltage's, which is the stricter one. `max_volts_times_ma` bounds the product of the AC volts of
both halves and the DC output, at any voltage.
"""

from collections.abc import Mapping
from decimal import Decimal
from functools import cache

from inventory.components.tables import csv_table
from inventory.components.valves import Figure, is_solid_state, rectifier_figure

FIGURES = (
    "max_reservoir_uf",
    "max_dc_ma",
    "max_peak_plate_ma",
    "max_peak_inverse_volts",
    "max_ac_volts_per_plate",
    "min_supply_ohms",
    "max_transient_plate_amps",
)


@cache
def rectifier_types() -> tuple[str, ...]:
    """All types on file as the trade writes them, by name."""
    return tuple(sorted({row["type"] for row in csv_table("inventory.components", "rectifiers.csv")}))


def rectifier_figures(type_name: str, plate_volts: float) -> Mapping[str, Figure]:
    """The figures of FIGURES on file for a type, as they hold at `plate_volts` V rms per plate; none for a solid-state one."""
    if is_solid_state(type_name):
        return {}
    found = {name: _figure(type_name, name, Decimal(str(plate_volts))) for name in FIGURES}
    return {name: figure for name, figure in found.items() if figure is not None}


def _figure(type_name: str, name: str, volts: Decimal) -> Figure | None:
    """The figure that holds at this voltage; where several do the strictest, but nothing remembered beside something read."""
    at_volts = _at_volts(type_name, name, volts)
    plain = rectifier_figure(type_name, name)
    if name != "max_dc_ma":
        return at_volts or plain
    known = [figure for figure in (plain, _by_product(type_name, volts) or at_volts) if figure is not None]
    return min(known, key=lambda figure: (figure.from_memory, figure.value), default=None)


def _at_volts(type_name: str, name: str, volts: Decimal) -> Figure | None:
    known = [(at, figure) for at in _voltages(name) if (figure := rectifier_figure(type_name, f"{name}_at_{at}_volts"))]
    return next((figure for at, figure in known if volts <= at), known[-1][1] if known else None)


@cache
def _voltages(name: str) -> tuple[int, ...]:
    """The voltages at which any type has a figure of this name, rising."""
    start, end = f"{name}_at_", "_volts"
    rows = csv_table("inventory.components", "rectifiers.csv")
    named = {row["quantity"] for row in rows if row["quantity"].startswith(start)}
    return tuple(sorted(int(one.removeprefix(start).removesuffix(end)) for one in named))


def _by_product(type_name: str, volts: Decimal) -> Figure | None:
    product = rectifier_figure(type_name, "max_volts_times_ma")
    if product is None or volts <= 0:
        return None
    return Figure(product.value / (2 * volts), product.note, product.source, product.from_memory)
