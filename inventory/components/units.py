"""What a unit word can mean. Most words have one meaning; the few that hang on a capital letter are settled here.

The doubtful ones, and why they are doubtful:

- `mF`, written exactly so, was microfarad on sheets up to the 1950s and is millifarad by the SI: 1000 times apart, so ask.
  `mf`, `MF`, `mfd` and `MFD` were never used for millifarad and are µF; `mmf`, `mmfd`, `µµF` are pF.
- `m` on a resistor is a careless M (million), an SI milliohm, or on old American sheets the Roman thousand.
- `M` on a resistor is million since the 1950s. Old American sheets wrote it for thousand and `meg` for million, and a few of
  their makers drew a lone ohm sign for megohm. Which figures may be meant so when nobody knows the sheet: old_sheets.py.
  `MΩ` with the capital sign is modern; with the small one (`Mω`) it is how those sheets wrote thousands.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

from inventory.components.tables import toml_table

PICO, NANO, MICRO, MILLI = Decimal("1e-12"), Decimal("1e-9"), Decimal("1e-6"), Decimal("1e-3")
ONE, KILO, MEGA = Decimal(1), Decimal("1e3"), Decimal("1e6")
# Words come from what people type: answers about them are kept, but never without a limit.
_WORDS_KEPT = 1024


@dataclass(frozen=True, slots=True)
class Meaning:
    """A unit word read one way: multiply by `factor` to get the SI base value of `kind`."""

    kind: str
    factor: Decimal
    why: str = ""


THOUSAND_OHMS = Meaning("resistance", KILO, "M as the Roman thousand, as on American sheets before the 1950s")
MILLION_OHMS = Meaning("resistance", MEGA, "M as mega, as on European and later sheets")
MILLIOHMS = Meaning("resistance", MILLI, "m as milli, as the SI writes it")
OHMS = Meaning("resistance", ONE, "the ohm sign as ohms")
LONE_OMEGA = Meaning("resistance", MEGA, "the ohm sign as megohms, as a few makers who write M for thousand drew it")
MICROFARADS = Meaning("capacitance", MICRO, "mF for microfarad, as old sheets write it")
MILLIFARADS = Meaning("capacitance", MILLI, "mF for millifarad, as the SI writes it")
_PREFIXES = {"p": PICO, "n": NANO, "u": MICRO, "m": MILLI}


@cache
def _words() -> dict[tuple[str, str | None], Meaning]:
    """Every unambiguous word, keyed by (word, kind); key kind None when the word needs no kind."""
    table: dict[tuple[str, str | None], Meaning] = {}
    for row in toml_table("inventory.components", "units.toml")["unit"]:
        meaning = Meaning(row["kind"], Decimal(row["factor"]), row.get("why", ""))
        for word in row["words"]:
            table[word, None] = table[word, meaning.kind] = meaning
        for word in row.get("with_kind", ()):
            table[word, meaning.kind] = meaning
    return table


@cache
def _known() -> frozenset[str]:
    return frozenset(word for word, _ in _words()) | {"m", "mohm", "mohms", "megohm"}


@cache
def fillers() -> frozenset[str]:
    """Words that may stand beside a value and change nothing about it."""
    return frozenset(toml_table("inventory.components", "units.toml")["filler"]["words"])


def spelled(word: str) -> str:
    """The word with the ohm sign written out, lower case."""
    return word.replace("Ω", "ohm").replace("ω", "ohm").lower()


@lru_cache(_WORDS_KEPT)
def is_unit(word: str) -> bool:
    """Whether the word can be a unit of anything."""
    return spelled(word) in _known()


@lru_cache(_WORDS_KEPT)
def meanings(word: str, kind: str | None, old_american: bool | None = None) -> tuple[Meaning, ...]:
    """All meanings of a unit word, likeliest first; empty when it is none, or none of `kind`.

    `old_american`: whether the sheet is one that may write M for thousand ohms; None when nobody knows.
    """
    doubtful = _doubtful(word, kind, old_american)
    if doubtful:
        return doubtful
    meaning = _words().get((spelled(word), kind))
    return (meaning,) if meaning else ()


def _doubtful(word: str, kind: str | None, old_american: bool | None) -> tuple[Meaning, ...]:
    if (kind == "capacitance" and word in ("mF", "m")) or (kind is None and word == "mF"):
        return MICROFARADS, MILLIFARADS
    if kind not in (None, "resistance"):
        return ()
    if word == "Ω" and old_american is not False:
        return OHMS, LONE_OMEGA
    if spelled(word) not in ("m", "mohm", "mohms"):
        return ()
    if word.startswith("M"):
        return _capital_m(word, old_american)
    return (MILLION_OHMS, MILLIOHMS) if old_american is False else (MILLION_OHMS, MILLIOHMS, THOUSAND_OHMS)


def _capital_m(word: str, old_american: bool | None) -> tuple[Meaning, ...]:
    if old_american:
        return THOUSAND_OHMS, MILLION_OHMS
    surely_modern = old_american is False or "Ω" in word
    return (MILLION_OHMS,) if surely_modern else (MILLION_OHMS, THOUSAND_OHMS)


@lru_cache(_WORDS_KEPT)
def point_letters(letter: str, kind: str | None) -> tuple[Meaning, ...]:
    """Meanings of a letter that stands for the decimal point (4K7, n47), after IEC 60062."""
    low = spelled(letter)
    if low in ("r", "ohm", "k", "g") and kind in (None, "resistance"):
        return meanings(letter, "resistance", False)
    if letter == "V" and kind in (None, "voltage"):
        return meanings(letter, "voltage")
    if low == "m" and kind == "resistance":
        return (MILLION_OHMS,) if letter == "M" else (MILLION_OHMS, MILLIOHMS)
    if letter == "M":
        return (MILLION_OHMS,) if kind is None else ()
    if low in _PREFIXES and kind in (None, "capacitance", "inductance"):
        return (Meaning(kind or "capacitance", _PREFIXES[low]),)
    return ()


@cache
def _bare() -> dict[str, tuple[Meaning, ...]]:
    rows = toml_table("inventory.components", "units.toml")["bare"]
    return {
        row["kind"]: tuple(
            Meaning(row["kind"], Decimal(factor), why) for factor, why in zip(row["factors"], row["why"], strict=True)
        )
        for row in rows
    }


def bare(kind: str) -> tuple[Meaning, ...]:
    """What a number without a unit may mean for a part of this kind."""
    return _bare().get(kind, ())


@cache
def _range() -> dict[str, tuple[Decimal, Decimal]]:
    rows = toml_table("inventory.components", "units.toml")["range"]
    return {kind: (Decimal(low), Decimal(high)) for kind, (low, high) in rows.items()}


def limits(kind: str) -> tuple[Decimal, Decimal]:
    """The smallest and largest value of this kind that can exist on a bench at all."""
    return _range()[kind]


def in_range(kind: str, value: Decimal) -> bool:
    """Whether a value of this kind can exist on a bench at all."""
    low, high = _range()[kind]
    return low <= value <= high
