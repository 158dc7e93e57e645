"""What a supplier's description says of a part: `MKP 0.047uF 630VDC 10% axial` is a capacitor of 47 nF for 630 V.

It is only ever a suggestion which of our cards is meant; a person says yes.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from inventory.components.answers import Candidate
from inventory.components.materials import technology_of
from inventory.components.notation import NotationError, Spec, read_notation
from inventory.components.valves import plain_type

_NUMBER = r"(?<![\w.,/])(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_END = r"(?![A-Za-zµμΩ0-9])"
# Units as catalogues write them; what stands between value and rating is of no matter.
_VALUES = (
    ("capacitance", re.compile(rf"{_NUMBER}\s*(?:[pnuµμ]F|mmfd|mfd|[pnuµμ]){_END}|(?<!\w)\d+[pnuµμ]\d+{_END}", re.I)),
    ("inductance", re.compile(rf"{_NUMBER}\s*(?:[muµμ]?H){_END}")),
    ("resistance", re.compile(rf"{_NUMBER}\s*(?:[kM]?\s?ohms?|[kM]?Ω|meg|[kKMR]){_END}|(?<!\w)\d+[kKMR]\d+{_END}")),
)
_VOLTS = re.compile(rf"({_NUMBER})\s*(k?)V(?:dc|ac|olts?)?{_END}", re.I)
_WATTS = re.compile(r"(?<![\w.,/])(\d+/\d+|\d*[.,]?\d+)\s*W(?:atts?)?(?![A-Za-z0-9])", re.I)
_PERCENT = re.compile(r"(\d+(?:[.,]\d+)?)\s*%")
_TYPE = re.compile(r"[A-Za-z0-9][A-Za-z0-9/.-]{1,18}[A-Za-z0-9]")
_KINDS = (
    ("capacitance", re.compile(r"\b(?:capacitors?|caps?|kondensator\w*|condensateur\w*|electrolytics?)\b", re.I)),
    ("resistance", re.compile(r"\b(?:resistors?|widerst\w+|résistances?)\b", re.I)),
    ("inductance", re.compile(r"\b(?:chokes?|coils?|inductors?|drossel\w*)\b", re.I)),
)
_MOST_TYPES = 8


@dataclass(frozen=True, slots=True)
class Said:
    """`spec` of a part with a value, None for others; `made_of` a material or ""; `types` words that could be a type, plain."""

    spec: Spec | None
    made_of: str
    types: tuple[str, ...]


def read_description(text: str) -> Said:
    spec = _spec(text)
    made_of = technology_of(Candidate(Spec("capacitance", Decimal(0), text=text), "capacitor")) if spec is not None else ""
    return Said(spec, made_of, () if spec is not None else _types(text))


def _spec(text: str) -> Spec | None:
    named = next((kind for kind, words in _KINDS if words.search(text)), "")
    for kind, shape in _VALUES:
        if named in ("", kind) and (found := shape.search(text)):
            try:
                return read_notation(" ".join([found[0], *_ratings(text)]), kind, old_american=False)
            except NotationError:
                return None
    return None


def _ratings(text: str) -> list[str]:
    volts, watts, percent = (shape.search(text) for shape in (_VOLTS, _WATTS, _PERCENT))
    found = [f"{volts[1]} {volts[2].lower()}V"] if volts else []
    found += [f"{watts[1]} W"] if watts else []
    return [*found, f"{percent[1]} %"] if percent else found


def _types(text: str) -> tuple[str, ...]:
    """`EL84`, `6V6-GT`: words with a letter and a figure, as types are compared."""
    words = (word for word in _TYPE.findall(text) if any(c.isdigit() for c in word) and any(c.isalpha() for c in word))
    return tuple(dict.fromkeys(plain_type(word) for word in words))[:_MOST_TYPES]
