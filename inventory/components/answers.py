"""The shapes a substitution is asked and answered in, and what every rule needs."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

from inventory.components.roles import Role
from inventory.components.specs import Spec
from inventory.components.tables import toml_table
from inventory.components.writing import write_value

LEVELS = {"yes": 0, "warn": 1, "no": 2}
MICRO = Decimal("1e-6")
NOUNS = {"resistance": "resistor", "capacitance": "capacitor"}
Pairs = tuple[tuple[Decimal, Decimal], ...]
_PLENTY = Decimal(1000)
_HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part offered for a position. `kind` as in roles; `technology` film, electrolytic, mica, paper, carbon_film, ... or "".

    What it is made of is read from the marking where `technology` doesn't say it. `max_celsius` is an electrolytic's 85 or 105.
    """

    spec: Spec | None
    kind: str
    technology: str = ""
    polarised: bool = False
    valve_type: str = ""
    label: str = ""
    max_celsius: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule's word. `level` is yes, warn or no."""

    code: str
    level: str
    message: str
    source: str


@dataclass(frozen=True, slots=True)
class Answer:
    """yes, warn or no with its reasons, worst first. `deviation_percent` is from the value called for, None if unknown.

    `headroom` is the part's rated volts or watts over those needed, None if unknown or where it says nothing.
    """

    answer: str
    reasons: tuple[Reason, ...]
    deviation_percent: Decimal | None = None
    headroom: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """All that the rules look at. `pairs` is (called, offered) for each section that both have, in called-for order."""

    role: Role
    called: Spec | None
    candidate: Candidate
    offered: Spec | None
    technology: str
    polarised: bool
    pairs: Pairs
    deviation: Decimal | None
    called_type: str = ""
    rectifier: str = ""
    volts_working: Decimal | None = None
    watts_dissipated: Decimal | None = None
    supply: str = ""
    line_volts: Decimal | None = None
    line_hertz: Decimal | None = None
    chain: Sequence[str] = ()
    ambient_celsius: Decimal | None = None


@cache
def source_of(section: str, key: str = "source") -> str:
    return str(toml_table("inventory.components", "substitution.toml")[section][key])


@cache
def number_of(section: str, key: str) -> Decimal:
    return Decimal(toml_table("inventory.components", "substitution.toml")[section][key])


@lru_cache(maxsize=2048)
def value_text(value: Decimal, kind: str) -> str:
    """write_value, remembered: a drawer holds the same few values and ratings over and over."""
    return write_value(value, kind)


@lru_cache(maxsize=512)
def rounded_text(value: Decimal, kind: str) -> str:
    """A computed value as it is said: "2.21 mA", "424.3 V"."""
    figures = 4 if kind == "voltage" else 3
    return write_value(value.quantize(Decimal(1).scaleb(value.adjusted() - figures + 1)) if value else value, kind)


def milliamps_text(amps: Decimal) -> str:
    """A leakage current as it is said: "0.34 mA", never in microamps."""
    thousandfold = amps * 1000
    if not thousandfold:
        return "0 mA"
    return f"{thousandfold.quantize(Decimal(1).scaleb(max(thousandfold.adjusted() - 2, -4))).normalize():f} mA"


def volts_text(volts: Decimal) -> str:
    return value_text(volts, "voltage")


def percent_text(size: Decimal) -> str:
    """As a sentence says it: 17.5 %; "less than 0.1 %" and "more than 1000 %" where a figure would say no more."""
    size = abs(size)
    if size > _PLENTY:
        return "more than 1000 %"
    return f"{size:.1f}".removesuffix(".0") + " %" if size >= Decimal("0.05") else "less than 0.1 %"


def nothing_against(ask: Question) -> Reason:
    return Reason("suits", "yes", f"It suits: value and ratings meet what the {ask.role.place} calls for.", ask.role.source)


def sections_of(spec: Spec) -> tuple[Decimal, ...]:
    return spec.sections or (spec.value,)


def section_pairs(called: Spec | None, offered: Spec | None) -> Pairs:
    """Each section called for beside the one offered for it. A can's sections may be wired in any order, so sizes decide."""
    if called is None or offered is None or called.kind != offered.kind:
        return ()
    if not called.sections and not offered.sections:
        return ((called.value, offered.value),) if called.value and offered.value else ()
    wanted = sorted((one for one in sections_of(called) if one), reverse=True)
    given = sorted((one for one in sections_of(offered) if one), reverse=True)
    if len(wanted) <= len(given):
        return tuple(_nearest(wanted, given))
    return tuple((one, other) for other, one in _nearest(given, wanted))


def _nearest(few: list[Decimal], many: list[Decimal]) -> list[tuple[Decimal, Decimal]]:
    if len(few) == len(many):
        return list(zip(few, many, strict=True))
    free, found = list(many), []
    for one in few:
        other = min(free, key=lambda size: max(size / one, one / size))
        free.remove(other)
        found.append((one, other))
    return found


def deviation_of(pairs: Pairs) -> Decimal | None:
    """The largest deviation of the pairs in percent, signed, to a hundredth; None without pairs."""
    if not pairs:
        return None
    called, offered = pairs[0] if len(pairs) == 1 else max(pairs, key=lambda pair: abs(pair[1] / pair[0] - 1))
    worst = (offered - called) / called * 100
    return worst.quantize(_HUNDREDTH) if abs(worst) < 10**20 else worst
