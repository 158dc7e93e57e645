"""Valve types: rectifier limits and equivalents, from rectifiers.csv and valves.csv. Rows from memory caution, never refuse."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

from inventory.components.tables import csv_table

_ENVELOPES = ("GTY", "GTX", "GTG", "GTB", "GTA", "GB", "GA", "GT", "G", "M")
_SOLID_STARTS = (
    "SILICON",
    "SELENIUM",
    "1N",
    "BY1",
    "BYX",
    "BYW",
    "UF40",
    "DIODE",
    "BRIDGE",
    "SEMICONDUCTOR",
    "METALRECT",
    "COPPEROXIDE",
)
_LONGEST = 20


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


@lru_cache(maxsize=512)
def _plain(name: str) -> str:
    return "".join(one for one in name.upper() if one.isalnum())[:_LONGEST]


def plain_type(name: str) -> str:
    """A type as compared: capitals, no dashes, dots or spaces."""
    return _plain(name[:60])


@lru_cache(maxsize=512)
def _family(plain: str) -> str:
    if not plain[:1].isdigit():
        return plain
    ending = next((letters for letters in _ENVELOPES if plain.endswith(letters) and plain[: -len(letters)][-1:].isdigit()), "")
    return plain[: len(plain) - len(ending)] if ending else plain


def family(name: str) -> str:
    """A type without its envelope letters: 6V6-GT and 6V6-G are both 6V6. European types end in figures and keep all of it."""
    return _family(plain_type(name))


@cache
def _rectifier_rows() -> Mapping[tuple[str, str], tuple[Figure, ...]]:
    table: dict[tuple[str, str], tuple[Figure, ...]] = {}
    for row in csv_table("inventory.components", "rectifiers.csv"):
        if row["quantity"] != "same_as":
            key = plain_type(row["type"]), row["quantity"]
            figure = Figure(Decimal(row["value"]), row["note"], row["source"], row["origin"] == "memory")
            table[key] = (*table.get(key, ()), figure)
    return table


@cache
def _same_as() -> Mapping[str, str]:
    rows = csv_table("inventory.components", "rectifiers.csv")
    return {plain_type(row["type"]): plain_type(row["value"]) for row in rows if row["quantity"] == "same_as"}


@cache
def _listed_by_family() -> Mapping[str, tuple[str, ...]]:
    names: dict[str, set[str]] = {}
    for name, _ in _rectifier_rows():
        names.setdefault(family(name), set()).add(name)
    return {code: tuple(sorted(listed)) for code, listed in names.items()}


@cache
def _other_names() -> Mapping[str, tuple[str, ...]]:
    """Types that valves.csv gives as the same valve by another name."""
    names: dict[str, list[str]] = {}
    for row in csv_table("inventory.components", "valves.csv"):
        if row["how"] == "same":
            one, other = plain_type(row["type"]), plain_type(row["equivalent"])
            names.setdefault(one, []).append(other)
            names.setdefault(other, []).append(one)
    return {name: tuple(others) for name, others in names.items()}


def _tiers(plain: str) -> tuple[tuple[str, ...], ...]:
    """Names to look under, in order of trust: the valve itself under all its names, then its family (another envelope)."""
    shared = _same_as().get(plain, "")
    own = (plain, *((shared,) if shared else ()), *_other_names().get(plain, ()))
    return own, _listed_by_family().get(family(plain), ())


@lru_cache(maxsize=512)
def _figure(plain: str, quantity: str) -> Figure | None:
    """A family's figure counts only where the valve itself has none: a later envelope often bears more."""
    for names in _tiers(plain):
        figures = [figure for name in names for figure in _rectifier_rows().get((name, quantity), ())]
        if figures:
            return min(figures, key=lambda figure: figure.from_memory)
    return None


def rectifier_figure(type_name: str, quantity: str) -> Figure | None:
    """A figure such as "max_reservoir_uf" for a rectifier type, read rows before remembered ones; None when no row has it."""
    return _figure(plain_type(type_name), quantity)


def is_solid_state(type_name: str) -> bool:
    """Whether the rectifier named is no valve, so that no valve data sheet limits the reservoir."""
    return plain_type(type_name).startswith(_SOLID_STARTS)


@cache
def _equivalents() -> Mapping[frozenset[str], Equivalent]:
    found: dict[frozenset[str], Equivalent] = {}
    for row in csv_table("inventory.components", "valves.csv"):
        pair = frozenset((plain_type(row["type"]), plain_type(row["equivalent"])))
        found.setdefault(pair, Equivalent(row["how"], row["note"], row["source"], row["origin"] == "memory"))
    return found


def equivalent(called: str, offered: str) -> Equivalent | None:
    """How `offered` may stand in for `called`; None when no table row says that it may."""
    wanted, given = plain_type(called), plain_type(offered)
    found = _equivalents().get(frozenset((wanted, given)))
    if found is None and wanted and family(wanted) == family(given):
        return Equivalent("near", "another envelope of the same type", "common practice, no source", True)
    return found


@cache
def names_in_common() -> Mapping[str, tuple[str, ...]]:
    """For each type the others that have its data, in its own base or another ("same" and "base" rows)."""
    names: dict[str, list[str]] = {}
    for pair, found in _equivalents().items():
        if found.how in ("same", "base") and len(pair) == 2:
            one, other = sorted(pair)
            names.setdefault(one, []).append(other)
            names.setdefault(other, []).append(one)
    return {name: tuple(others) for name, others in names.items()}
