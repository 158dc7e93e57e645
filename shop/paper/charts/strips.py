"""Charts of strips: a row a place, a dot for each value there, with the band that is allowed and the middle value."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from shop.paper.charts import keys
from shop.paper.charts.axes import Axis, Write, is_number, percent, steps_for
from shop.paper.charts.bars import MOST_CATEGORIES, _anchor, _spaced
from shop.paper.charts.base import Drawings
from shop.paper.charts.keys import Key
from shop.paper.charts.shapes import WIDE, Area, Cell, Dot, Plot, Stroke, Table, Words, cut, room_for
from shop.paper.text import plain

ROW, NAME_LINE, HEAD, FOOT = 30.0, 17.0, 24.0, 44.0
MOST_DOTS = 200
BEYOND_RIGHT, BEYOND_LEFT = 4, 5
NEAR = 8.0
LIFT = 5.0


@dataclass(frozen=True, slots=True)
class Spot:
    """One value; `says` what it is, `href` where it leads, `look` 0 or 1."""

    value: float
    says: str = ""
    href: str = ""
    look: int = 0


@dataclass(frozen=True, slots=True)
class Strip:
    """One row. `band` is (lowest, highest) that is allowed, None where nobody says; `note` stands at its end."""

    label: str
    spots: Sequence[Spot]
    band: tuple[float, float] | None = None
    note: str = ""
    href: str = ""

    @property
    def values(self) -> list[float]:
        return [spot.value for spot in self.spots if is_number(spot.value)]

    @property
    def median(self) -> float | None:
        return median(self.values) if self.values else None


@dataclass(frozen=True, slots=True)
class StripChart(Drawings):
    """What to show. What lies beyond `span` stands as an arrow at its end; `looks` names what dots of look 0 and 1 are,
    `band_name` what the bands are.
    """

    title: str
    of_what: str
    value_label: str
    strips: Sequence[Strip]
    span: tuple[float, float] = (-100.0, 100.0)
    looks: Sequence[str] = ()
    write: Write = percent
    empty: str = ""
    band_name: str = "allowed"

    @property
    def is_empty(self) -> bool:
        return not any(strip.values for strip in self.strips)

    @property
    def table(self) -> Table:
        return Table(
            (self.of_what, "Readings", "Median", self.band_name.capitalize(), "From lowest to highest"),
            tuple(map(self._row, self.strips)),
        )

    def _row(self, strip: Strip) -> tuple[Cell, ...]:
        middle, values = strip.median, sorted(strip.values)
        allowed = f"{self.write(strip.band[0])} to {self.write(strip.band[1])}" if strip.band else "–"
        said = "; ".join(self.write(value) for value in values)
        return (
            Cell(plain(strip.label, 120), strip.href),
            Cell(str(len(values))),
            Cell("–" if middle is None else self.write(round(middle, 2))),
            Cell(allowed),
            Cell(said or "–"),
        )

    def placed(self, width: float = WIDE) -> Plot:
        return _placed(self, width)


def _placed(chart: StripChart, width: float) -> Plot:
    shown = chart.strips[:MOST_CATEGORIES]
    key = keys.place(_keys(chart), 4, width - 4)
    is_wide = width >= WIDE
    names, notes = [plain(one.label, 60) for one in shown], [plain(one.note, 20) for one in shown]
    left = min(0.34 * width, room_for(names) + 14) if is_wide else 14.0
    right = width - (max(room_for(notes), 8.0) + 12 if is_wide else 14.0)
    axis = Axis(steps_for(_values(chart)), left, right)
    top, each = key.height + HEAD, ROW + (0 if is_wide else NAME_LINE)
    bottom = top + each * max(len(shown), 1)
    areas, strokes, dots = [], [], []
    words = [Words(left if is_wide else 4, key.height + 14, plain(chart.value_label, 60), kind="name")]
    for number, strip in enumerate(shown):
        y = top + number * each + each - ROW / 2
        words += _row_words(names[number], notes[number], width, left, y, is_wide)
        if strip.band is not None:
            areas.append(_band(strip.band, axis, y))
        strokes.append(Stroke(((left, y), (right, y)), "rule"))
        dots += _dots(strip, axis, y)
        if (middle := strip.median) is not None:
            x = axis.at(_within(middle, axis))
            strokes.append(Stroke(((x, y - 11), (x, y + 11)), "median"))
    ticks = _spaced(axis.ticks(chart.write))
    rules = [Stroke(((tick.at, top), (tick.at, bottom)), "rule") for tick in ticks]
    words += [Words(tick.at, bottom + 16, tick.text, _anchor(tick, left, width)) for tick in ticks]
    more = len(chart.strips) - len(shown)
    words += [Words(left, bottom + 36, f"{more} more in the table", kind="name")] if more else []
    return Plot(
        title=plain(chart.title, 120),
        summary=f"{plain(chart.value_label, 60)} by {chart.of_what.lower()}, {len(chart.strips)} in all.",
        width=width,
        height=bottom + (FOOT if more else 24),
        left=left,
        top=top,
        right=right,
        bottom=bottom,
        areas=(*areas, *key.areas),
        rules=tuple(rules),
        strokes=(Stroke(((axis.at(0), top), (axis.at(0), bottom)), "axis"), *strokes, *key.strokes),
        dots=(*dots, *key.dots),
        words=(*words, *key.words),
    )


def _keys(chart: StripChart) -> list[Key]:
    has_band = any(strip.band for strip in chart.strips)
    arrows = any(not chart.span[0] <= value <= chart.span[1] for strip in chart.strips for value in strip.values)
    return [
        *(Key(label, "dot", look) for look, label in enumerate(chart.looks)),
        Key("median", "median"),
        *([Key(chart.band_name, "area")] if has_band else []),
        *([Key("further out", "dot", BEYOND_RIGHT)] if arrows else []),
    ]


def _values(chart: StripChart) -> list[float]:
    """What the axis must hold: nothing, all values within the span, and the bands."""
    low, high = chart.span
    values = [min(max(value, low), high) for strip in chart.strips for value in strip.values]
    bands = [min(max(end, low), high) for strip in chart.strips if strip.band for end in strip.band]
    return [0.0, *values, *bands]


def _within(value: float, axis: Axis) -> float:
    return min(max(value, axis.steps[0]), axis.steps[-1])


def _row_words(name: str, note: str, width: float, left: float, y: float, is_wide: bool) -> list[Words]:
    if not is_wide:
        end = [Words(width - 4, y - ROW / 2 - 4, note, "end")] if note else []
        return [Words(4, y - ROW / 2 - 4, cut(name, width - room_for([note]) - 16), kind="name"), *end]
    words = [Words(left - 10, y + 4.5, cut(name, left - 10), "end", "name")]
    return [*words, Words(width - 4, y + 4.5, note, "end")] if note else words


def _band(band: tuple[float, float], axis: Axis, y: float) -> Area:
    start, end = axis.at(_within(band[0], axis)), axis.at(_within(band[1], axis))
    return Area(start, y - 9, round(end - start, 2), 18)


def _dots(strip: Strip, axis: Axis, y: float) -> list[Dot]:
    """Dots that would hide each other stand one above the other, as far as the row is high."""
    placed: list[Dot] = []
    spots = [spot for spot in strip.spots if is_number(spot.value)][:MOST_DOTS]
    for spot in sorted(spots, key=lambda one: one.value):
        x = axis.at(_within(spot.value, axis))
        look = BEYOND_RIGHT if spot.value > axis.steps[-1] else BEYOND_LEFT if spot.value < axis.steps[0] else spot.look
        hidden = sum(x - before.x < NEAR for before in placed[-2:])
        placed.append(Dot(x, y + (0.0, -LIFT, LIFT)[hidden], look, spot.says, spot.href))
    return placed
