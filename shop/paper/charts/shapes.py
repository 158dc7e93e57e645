"""What a placed chart is made of. Lengths in the units of the drawing, y downwards as a page counts.

A `look` counts from 0 and is an ink, a dash, a fill and a shape of dot at once, so that nothing is told by colour alone.
"""

from dataclasses import dataclass, field

WIDE, NARROW = 640.0, 340.0
"""Drawn twice for a page: as wide as a page's column, and as a telephone is, each in letters that can be read there."""
LETTER = 7.0
"""Width of a letter at the size that charts are lettered in, with something to spare."""
LINE = 18.0
LOOKS = 6
DASHES: tuple[tuple[float, ...], ...] = ((), (7, 4), (2, 3), (10, 3, 2, 3), (4, 2), (1, 2))
FILLS = ("solid", "slash", "open", "level", "cross", "back")

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Words:
    """`kind`: figure, name or label; a label bears the ink of its `look`."""

    x: float
    y: float
    text: str
    anchor: str = "start"
    kind: str = "figure"
    look: int | None = None


@dataclass(frozen=True, slots=True)
class Stroke:
    """`kind`: rule, axis, line, level (a limit) or median."""

    points: tuple[Point, ...]
    kind: str = "line"
    look: int = 0
    label: str = ""

    @property
    def path(self) -> str:
        return "M" + "L".join(f"{x:g} {y:g}" for x, y in self.points)

    @property
    def dash(self) -> tuple[float, ...]:
        if self.kind == "level":
            return (6, 3)
        return DASHES[self.look % LOOKS] if self.kind == "line" else ()


@dataclass(frozen=True, slots=True)
class Bar:
    x: float
    y: float
    width: float
    height: float
    look: int = 0
    says: str = ""

    @property
    def fill(self) -> str:
        return FILLS[self.look % LOOKS]


@dataclass(frozen=True, slots=True)
class Area:
    """A band behind everything, such as what is allowed."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    look: int = 0
    says: str = ""
    href: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    text: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """The same in figures, for those who don't see the drawing or want to know exactly. `names` columns at the left are words."""

    heads: tuple[str, ...] = ()
    rows: tuple[tuple[Cell, ...], ...] = ()
    names: int = 1


@dataclass(frozen=True, slots=True)
class Plot:
    """Everything placed. `left` to `bottom` are the frame that values stand in."""

    title: str
    summary: str
    width: float
    height: float
    left: float
    top: float
    right: float
    bottom: float
    areas: tuple[Area, ...] = ()
    rules: tuple[Stroke, ...] = ()
    bars: tuple[Bar, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    dots: tuple[Dot, ...] = ()
    words: tuple[Words, ...] = field(default=())

    @property
    def is_wide(self) -> bool:
        return self.width >= WIDE

    @property
    def has_links(self) -> bool:
        return any(dot.href for dot in self.dots)

    def drawn(self, kind: str) -> tuple[Stroke, ...]:
        return tuple(stroke for stroke in self.strokes if stroke.kind == kind)


def room_for(texts: "list[str] | tuple[str, ...]", least: float = 0.0, most: float = 1e9) -> float:
    """Width that the longest text takes."""
    return min(most, max(least, LETTER * max(map(len, texts), default=0)))


def cut(text: str, room: float) -> str:
    """The text as far as it fits, with an ellipsis where something is left off."""
    most = max(4, int(room / LETTER))
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"
