"""Typed quantities for code that calculates: one cached pint registry, fed with parsed specs and known units only."""

from decimal import Decimal
from functools import cache
from typing import Any

import pint

from inventory.components.specs import Spec

KNOWN_UNITS = frozenset(
    {
        *("ohm", "kiloohm", "megaohm", "gigaohm", "milliohm"),
        *("farad", "microfarad", "nanofarad", "picofarad"),
        *("henry", "millihenry", "microhenry"),
        *("volt", "millivolt", "kilovolt", "watt", "milliwatt", "ampere", "milliampere", "microampere"),
        *("hertz", "kilohertz", "megahertz", "second", "minute", "hour", "joule", "metre", "millimetre"),
    }
)
_UNIT_NAMES = {"ohm": "ohm", "F": "farad", "H": "henry", "V": "volt", "W": "watt", "A": "ampere", "Hz": "hertz"}


class UnknownUnit(ValueError):
    """A unit name that is not among KNOWN_UNITS."""


@cache
def registry() -> "pint.UnitRegistry[Any]":
    """The one registry: building another takes 0.1 s and its quantities would not mix with these."""
    return pint.UnitRegistry(non_int_type=Decimal)


def as_quantity(spec: Spec) -> Any:
    """The spec's value (of its first section) as a pint quantity in the SI base unit."""
    return registry().Quantity(spec.value, _UNIT_NAMES[spec.unit])


def convert(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """`value` of one known unit in another: names from KNOWN_UNITS, never text that a person typed."""
    for name in (from_unit, to_unit):
        if name not in KNOWN_UNITS:
            raise UnknownUnit(f"{name[:40]!r} is not a unit used here; use one of {', '.join(sorted(KNOWN_UNITS))}.")
    result = registry().Quantity(value, from_unit).to(to_unit).magnitude
    return result if isinstance(result, Decimal) else Decimal(str(result))
