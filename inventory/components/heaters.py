"""Heaters in series across the line: what they drop, what the dropper must take, and which valve doesn't belong in the chain.

Figures are in heaters.csv. Rows from memory caution, never refuse.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

from inventory.components.answers import Reason, number_of, rounded_text, source_of
from inventory.components.problems import SubstitutionError
from inventory.components.tables import csv_table
from inventory.components.valves import family, names_in_common, plain_type

LONGEST_CHAIN = 60
_LARGEST, _SMALLEST = Decimal("1e6"), Decimal("1e-6")


@dataclass(frozen=True, slots=True)
class Heater:
    """One valve's heater, or a pilot lamp's filament."""

    type_name: str
    volts: Decimal
    amps: Decimal
    source: str
    from_memory: bool = False


@dataclass(frozen=True, slots=True)
class ChainResult:
    """A series chain on a line. `dropper_volts` is what the heaters leave over, below zero where they want more.

    `misfits` draw another current than the chain, `unknown` are types without figures, `surge_amps` flows at switch-on.
    """

    heaters: tuple[Heater, ...]
    unknown: tuple[str, ...]
    line_volts: Decimal
    amps: Decimal
    volts: Decimal
    dropper_volts: Decimal
    dropper_ohms: Decimal
    dropper_watts: Decimal
    misfits: tuple[Heater, ...]
    surge_amps: Decimal
    reasons: tuple[Reason, ...]

    @property
    def from_memory(self) -> bool:
        return any(one.from_memory for one in self.heaters)

    @property
    def sum_text(self) -> str:
        """As a sentence says it: 12.6 + 12.6 + 50 = 75.2 V at 150 mA."""
        drops = " + ".join(rounded_text(one.volts, "voltage").removesuffix(" V") for one in self.heaters)
        return f"{drops} = {rounded_text(self.volts, 'voltage')} at {rounded_text(self.amps, 'current')}"


@cache
def _rows() -> Mapping[str, Heater]:
    rows = csv_table("inventory.components", "heaters.csv")
    return {
        plain_type(row["type"]): Heater(
            row["type"], Decimal(row["volts"]), Decimal(row["amps"]), row["source"], row["origin"] == "memory"
        )
        for row in rows
    }


@cache
def _by_family() -> Mapping[str, str]:
    names: dict[str, str] = {}
    for name in _rows():
        names.setdefault(family(name), name)
    return names


@lru_cache(maxsize=512)
def _heater(plain: str) -> Heater | None:
    named = (plain, *names_in_common().get(plain, ()), _by_family().get(family(plain), ""))
    return next((_rows()[name] for name in named if name in _rows()), None)


def heater_of(type_name: str) -> Heater | None:
    """The heater of a type, of the type whose data it shares, or of its family; None when no row has it."""
    return _heater(plain_type(type_name))


def chain(valves: Sequence[str | Heater], line_volts: Decimal) -> ChainResult:
    """The series chain of these types (or heaters, such as a lamp's) on `line_volts`.

    SubstitutionError: "unknown" when no heater is on file, "out_of_range" for an absurd line, heater or number of valves.
    """
    if not (line_volts.is_finite() and 0 < line_volts <= _LARGEST):
        raise SubstitutionError("out_of_range", "Give the line volts as a number above 0, like 117.")
    if len(valves) > LONGEST_CHAIN:
        raise SubstitutionError("out_of_range", f"A chain has at most {LONGEST_CHAIN} heaters. Give those in series only.")
    named = [(one if isinstance(one, str) else one.type_name, heater_of(one) if isinstance(one, str) else one) for one in valves]
    heaters = tuple(heater for _, heater in named if heater is not None)
    if not heaters:
        raise SubstitutionError("unknown", "No heater of these types is on file. Give types like 12BE6, or their volts and amps.")
    for one in heaters:
        _check(one)
    return _chained(heaters, tuple(name[:20] for name, heater in named if heater is None), line_volts)


def _check(heater: Heater) -> None:
    if not all(amount.is_finite() and _SMALLEST <= amount <= _LARGEST for amount in (heater.volts, heater.amps)):
        raise SubstitutionError("out_of_range", "Give a heater's volts and amps as numbers above 0, like 12.6 and 0.15.")


def common_amps(heaters: Sequence[Heater]) -> Decimal:
    """The current that most of the heaters share; of two equally common the larger."""
    counted = Counter(one.amps for one in heaters)
    return max(counted, key=lambda amps: (counted[amps], amps))


def _chained(heaters: tuple[Heater, ...], unknown: tuple[str, ...], line_volts: Decimal) -> ChainResult:
    amps = common_amps(heaters)
    volts = sum((one.volts for one in heaters), Decimal(0))
    left = line_volts - volts
    ohms = max(left, Decimal(0)) / amps
    misfits = tuple(one for one in heaters if not fits(one.amps, amps))
    surge = line_volts / (ohms + volts / amps * number_of("heater", "cold_share"))
    reasons = tuple(_reasons(heaters, unknown, misfits, line_volts, left))
    return ChainResult(heaters, unknown, line_volts, amps, volts, left, ohms, ohms * amps * amps, misfits, surge, reasons)


def fits(amps: Decimal, chain_amps: Decimal) -> bool:
    """Whether a heater's rated current is the chain's, within what heaters themselves vary."""
    return abs(amps - chain_amps) * 100 <= chain_amps * number_of("heater", "tolerance_percent")


def _reasons(
    heaters: tuple[Heater, ...], unknown: tuple[str, ...], misfits: tuple[Heater, ...], line_volts: Decimal, left: Decimal
) -> Iterator[Reason]:
    amps = common_amps(heaters)
    for one in misfits:
        text = f"{one.type_name[:20]} draws {rounded_text(one.amps, 'current')} in a chain of {rounded_text(amps, 'current')}: "
        text += "it would " + ("starve." if one.amps > amps else "burn out.")
        yield Reason("chain_current", "warn" if one.from_memory else "no", text, one.source)
    if unknown:
        yield Reason(
            "heater_unknown", "warn", f"No heater is on file for {', '.join(unknown[:5])}: the sum lacks it.", source_of("heater")
        )
    if -left * 100 > line_volts * number_of("heater", "chain_percent"):
        text = f"The heaters want {rounded_text(-left, 'voltage')} more than the line gives: they will not get hot enough."
        yield Reason("chain_volts", "warn", text, source_of("heater"))
    text = (
        "Cold heaters draw seven to ten times their current, and the quickest of them flares up at switch-on: a thermistor helps."
    )
    yield Reason("chain_surge", "yes", text, source_of("heater", "surge_source"))


def shunt_ohms(volts: Decimal, branch_amps: Decimal, chain_amps: Decimal) -> Decimal:
    """The resistor across a heater or pilot lamp that draws less than the chain: V / (chain - branch). Source: textbook.

    SubstitutionError (out_of_range) where the branch draws as much as the chain or more.
    """
    numbers = (volts, branch_amps, chain_amps)
    if not all(one.is_finite() and _SMALLEST <= one <= _LARGEST for one in numbers) or branch_amps >= chain_amps:
        raise SubstitutionError(
            "out_of_range", "A shunt takes what the chain draws above the lamp or heater: give less for that than for the chain."
        )
    return volts / (chain_amps - branch_amps)
