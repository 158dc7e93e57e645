"""What a unit word can mean. Most words have one meaning; the few that hang on a capital letter are settled here.

The doubtful ones, and why they are doubtful:

- `mF`, written exactly so, was microfarad on sheets up to the 1950s and is millifarad by the SI: 1000 times apart, so ask.
  `mf`, `MF`, `mfd` and `MFD` were never used for millifarad and are µF; `mmf`, `mmfd`, `µµF` are pF.
- `m` on a resistor is a careless M (million), an SI milliohm, or on old American sheets the Roman thousand.
- `M` on a resistor is million. Old American sheets wrote it for thousand and `meg` for million; only a caller who knows the sheet
  is of that sort (`old_american=True`) is asked to choose. A few makers of such sheets drew a lone ohm sign for megohm.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from inventory.components.tables import toml_table

PICO, NANO, MICRO, MILLI = Decimal("1e-12"), Decimal("1e-9"), Decimal("1e-6"), Decimal("1e-3")
ONE, KILO, MEGA = Decimal(1), Decimal("1e3"), Decimal("1e6")


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
    return word.replace("Ω", "ohm").lower()


def is_unit(word: str) -> bool:
    """Whether the word can be a unit of anything."""
    return spelled(word) in _known()


def meanings(word: str, kind: str | None, old_american: bool = False) -> tuple[Meaning, ...]:
    """All meanings of a unit word, likeliest first; empty when it is none, or none of `kind`."""
    doubtful = _doubtful(word, kind, old_american)
    if doubtful:
        return doubtful
    meaning = _words().get((spelled(word), kind))
    return (meaning,) if meaning else ()


def _doubtful(word: str, kind: str | None, old_american: bool) -> tuple[Meaning, ...]:
    if word == "mF" and kind in (None, "capacitance"):
        return MICROFARADS, MILLIFARADS
    if word == "m" and kind == "capacitance":
        return MICROFARADS, MILLIFARADS
    if kind not in (None, "resistance"):
        return ()
    if word == "Ω" and old_american:
        return OHMS, LONE_OMEGA
    if spelled(word) not in ("m", "mohm", "mohms"):
        return ()
    if word.startswith("M"):
        return (THOUSAND_OHMS, MILLION_OHMS) if old_american else (MILLION_OHMS,)
    return (MILLION_OHMS, MILLIOHMS, THOUSAND_OHMS) if old_american else (MILLION_OHMS, MILLIOHMS)


def point_letters(letter: str, kind: str | None) -> tuple[Meaning, ...]:
    """Meanings of a letter that stands for the decimal point (4K7, n47), after IEC 60062."""
    low = spelled(letter)
    if low in ("r", "ohm", "k", "g") and kind in (None, "resistance"):
        return meanings(letter, "resistance")
    if low == "m" and kind == "resistance":
        return (MILLION_OHMS,) if letter == "M" else (MILLION_OHMS, MILLIOHMS)
    if letter == "M":
        return (MILLION_OHMS,) if kind is None else ()
    if low in ("p", "n", "u", "m") and kind in (None, "capacitance", "inductance"):
        factor = {"p": PICO, "n": NANO, "u": MICRO, "m": MILLI}[low]
        return (Meaning(kind or "capacitance", factor),)
    return ()


def bare(kind: str) -> tuple[Meaning, ...]:
    """What a number without a unit may mean for a part of this kind."""
    for row in toml_table("inventory.components", "units.toml")["bare"]:
        if row["kind"] == kind:
            return tuple(Meaning(kind, Decimal(factor), why) for factor, why in zip(row["factors"], row["why"], strict=True))
    return ()


def in_range(kind: str, value: Decimal) -> bool:
    """Whether a value of this kind can exist on a bench at all."""
    low, high = toml_table("inventory.components", "units.toml")["range"][kind]
    return Decimal(low) <= value <= Decimal(high)
