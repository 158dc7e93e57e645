"""Where the colours of a marking stand on a picture of the part: plain numbers for a drawing 240 wide and 96 high."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.components.colours.names import NONE
from inventory.components.colours.schemes import Scheme

_FIRST_BAND, _BAND_STEP = 58, 22
_COLUMNS, _ONE_ROW, _TWO_ROWS = (72, 120, 168), (46,), (30, 66)
_ON_BODY = ((104, 50), (46, 50), (130, 50), (194, 50))  # body, end, dot, other end


@dataclass(frozen=True, slots=True)
class Mark:
    """One coloured place: its number from 1, its name, its colour ("none" while bare), and its middle."""

    number: int
    name: str
    colour: str
    x: int
    y: int


def marks(scheme: Scheme, colours: Sequence[str]) -> tuple[Mark, ...]:
    """A mark for every position of the scheme, bare where fewer colours are given."""
    bare = (NONE,) * len(scheme.positions)
    shown = (*colours, *bare)[: len(scheme.positions)]
    middles = _middles(scheme)
    return tuple(
        Mark(number, name, colour, *middle)
        for number, (name, colour, middle) in enumerate(zip(scheme.positions, shown, middles, strict=True), 1)
    )


def _middles(scheme: Scheme) -> tuple[tuple[int, int], ...]:
    count = len(scheme.positions)
    if scheme.drawn == "body":
        return _ON_BODY
    if scheme.drawn == "bands":
        return tuple((_FIRST_BAND + _BAND_STEP * at, 46) for at in range(count))
    rows = _ONE_ROW if count <= len(_COLUMNS) else _TWO_ROWS
    return tuple((x, y) for y in rows for x in _COLUMNS)[:count]
