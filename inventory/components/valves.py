"""Valve types: rectifier limits and equivalents, from rectifiers.csv and valves.csv. Rows from memory caution, never refuse."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from inventory.components.tables import csv_table

_ENVELOPES = ("GTY", "GTX", "GTG", "GTB", "GTA", "GB", "GA", "GT", "G", "M")
SOLID_STATE = frozenset({"SILICON", "SELENIUM", "1N4007", "1N4006", "DIODE", "BRIDGE", "SEMICONDUCTOR"})


@dataclass(frozen=True, slots=True)
class Figure:
    """One data sheet figure. `from_memory` figures may only caution."""

    value: Decimal
    note: str
    source: str
    from_memory: bool


@dataclass(frozen=True, slots=True)
class Equivalent:
    """How one type stands to another: same, near, or base (same data, other base or pins)."""

    how: str
    note: str
    source: str
    from_memory: bool


def plain_type(name: str) -> str:
    """A type as compared: capitals, no dashes, dots or spaces."""
    return "".join(one for one in name.upper() if one.isalnum())[:20]


def family(name: str) -> str:
    """A type without its envelope letters: 6V6-GT and 6V6-G are both 6V6. European types end in figures and keep all of it."""
    plain = plain_type(name)
    if not plain[:1].isdigit():
        return plain
    ending = next((letters for letters in _ENVELOPES if plain.endswith(letters) and plain[: -len(letters)][-1:].isdigit()), "")
    return plain[: len(plain) - len(ending)] if ending else plain


@cache
def _rectifier_rows() -> dict[tuple[str, str], tuple[Figure, ...]]:
    table: dict[tuple[str, str], tuple[Figure, ...]] = {}
    for row in csv_table("inventory.components", "rectifiers.csv"):
        if row["quantity"] != "same_as":
            key = plain_type(row["type"]), row["quantity"]
            figure = Figure(Decimal(row["value"]), row["note"], row["source"], row["origin"] == "memory")
            table[key] = (*table.get(key, ()), figure)
    return table


@cache
def _same_as() -> dict[str, str]:
    rows = csv_table("inventory.components", "rectifiers.csv")
    return {plain_type(row["type"]): plain_type(row["value"]) for row in rows if row["quantity"] == "same_as"}


def _names(type_name: str) -> tuple[str, ...]:
    """The type, the type whose data it shares, and the one listed type of its family: in that order of trust."""
    plain = plain_type(type_name)
    listed = sorted({name for name, _ in _rectifier_rows() if family(name) == family(plain)})
    return tuple(name for name in (plain, _same_as().get(plain, ""), *listed) if name)


def rectifier_figure(type_name: str, quantity: str) -> Figure | None:
    """A figure such as "max_reservoir_uf" for a rectifier type, read rows before remembered ones; None when no row has it."""
    figures = [figure for name in _names(type_name) for figure in _rectifier_rows().get((name, quantity), ())]
    return min(figures, key=lambda figure: figure.from_memory, default=None)


def is_solid_state(type_name: str) -> bool:
    """Whether the rectifier named is no valve, so that no valve data sheet limits the reservoir."""
    return plain_type(type_name) in SOLID_STATE


def equivalent(called: str, offered: str) -> Equivalent | None:
    """How `offered` may stand in for `called`; None when no table row says that it may."""
    wanted, given = plain_type(called), plain_type(offered)
    for row in csv_table("inventory.components", "valves.csv"):
        if {wanted, given} == {plain_type(row["type"]), plain_type(row["equivalent"])}:
            return Equivalent(row["how"], row["note"], row["source"], row["origin"] == "memory")
    if family(wanted) == family(given):
        return Equivalent("near", "another envelope of the same type", "common practice, no source", True)
    return None
