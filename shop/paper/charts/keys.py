"""The key above a frame: a sample of each look with its name, in as many lines as the names take."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.paper.charts.shapes import LINE, Area, Bar, Dot, Stroke, Words, cut, room_for

SAMPLE = 24.0
GAP = 16.0


@dataclass(frozen=True, slots=True)
class Key:
    """`kind`: bar, line, level, median, dot or area."""

    label: str
    kind: str
    look: int = 0


@dataclass(frozen=True, slots=True)
class Placed:
    """The key's shapes by what they are; `height` is what it takes."""

    height: float
    areas: tuple[Area, ...]
    bars: tuple[Bar, ...]
    strokes: tuple[Stroke, ...]
    dots: tuple[Dot, ...]
    words: tuple[Words, ...]


def place(keys: Sequence[Key], left: float, right: float) -> Placed:
    """From the top of the drawing downwards; nothing for no keys."""
    x, y = left, LINE - 6
    areas, bars, strokes, dots, words = [], [], [], [], []
    for key in keys:
        text = cut(key.label, right - left - SAMPLE)
        wide = SAMPLE + room_for([text]) + GAP
        if x > left and x + wide - GAP > right:
            x, y = left, y + LINE
        if key.kind == "bar":
            bars.append(Bar(x, y - 10, SAMPLE - 6, 11, key.look))
        elif key.kind == "area":
            areas.append(Area(x, y - 10, SAMPLE - 6, 11))
        elif key.kind == "dot":
            dots.append(Dot(x + 9, y - 4, key.look))
        elif key.kind == "median":
            strokes.append(Stroke(((x + 9, y - 11), (x + 9, y + 2)), "median"))
        else:
            strokes.append(Stroke(((x, y - 4), (x + SAMPLE - 6, y - 4)), key.kind, key.look))
        words.append(Words(x + SAMPLE, y, text, kind="name"))
        x += wide
    height = y + 8 if keys else 0.0
    return Placed(height, tuple(areas), tuple(bars), tuple(strokes), tuple(dots), tuple(words))
