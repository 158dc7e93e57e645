"""Charts of lines: something over something, such as volts over time, with levels straight across."""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from shop.paper.charts import keys
from shop.paper.charts.axes import Axis, Write, is_number, steps_for
from shop.paper.charts.base import Drawings
from shop.paper.charts.keys import Key
from shop.paper.charts.shapes import LETTER, LOOKS, WIDE, Cell, Plot, Point, Stroke, Table, Words, cut, room_for
from shop.paper.text import plain

MOST_POINTS = 200
MOST_LINES = LOOKS
HEIGHTS = {True: 300.0, False: 250.0}
LEFT, FOOT, HEAD = 58.0, 44.0, 22.0
LEAST_RIGHT, MOST_RIGHT = 72.0, 200.0
LABEL_STEP = 18.0
SAMPLED = 24


@dataclass(frozen=True, slots=True)
class Series:
    """One line. `points` are (x, y) in the units of the axes; points that are no numbers are left out."""

    label: str
    points: Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Level:
    """A line straight across, such as a rated voltage."""

    label: str
    y: float


@dataclass(frozen=True, slots=True)
class Chart(Drawings):
    """What to show. Axis labels carry their unit: "time in ms"."""

    title: str
    x_label: str
    y_label: str
    series: Sequence[Series]
    levels: Sequence[Level] = ()
    write_x: Write | None = None
    write_y: Write | None = None
    empty: str = ""

    @property
    def is_empty(self) -> bool:
        return not _lines(self)

    @property
    def table(self) -> Table:
        heads = ("Line", f"{plain(self.x_label, 60)}: {plain(self.y_label, 60)}")
        rows = [
            (Cell(one.label), Cell("; ".join(_pair(point) for point in _thinned(one.points, SAMPLED)))) for one in _lines(self)
        ]
        return Table(heads, tuple(rows), names=2)

    def placed(self, width: float = WIDE) -> Plot:
        return plotted(self, width)


def _pair(point: Point) -> str:
    return f"{point[0]:.4g}: {point[1]:.4g}"


class _Line(NamedTuple):
    label: str
    points: list[Point]


def _lines(chart: Chart) -> list[_Line]:
    read = [_Line(plain(one.label, 60), _thinned(_numbers(one.points))) for one in chart.series[:MOST_LINES]]
    return [one for one in read if one.points]


def _levels(chart: Chart) -> list[Level]:
    return [Level(plain(one.label, 60), one.y) for one in chart.levels[:MOST_LINES] if is_number(one.y)]


def plotted(chart: Chart, width: float = WIDE) -> Plot:
    """Place a chart. Never fails: what is no number is left out, and equal values get a span of their own."""
    lines = _lines(chart)
    levels = _levels(chart) if lines else []
    labels = [*(one.label for one in lines), *(one.label for one in levels)]
    is_wide = width >= WIDE
    key = keys.place([] if is_wide else [*_keys(lines, levels)], 4, width - 4)
    right = width - min(MOST_RIGHT, max(LEAST_RIGHT, 12 + room_for(labels))) if is_wide else width - 12
    top, height = key.height + HEAD, key.height + HEIGHTS[is_wide]
    bottom = height - FOOT
    across, down = _axes(lines, levels, (LEFT, right), (bottom, top))
    strokes = [
        Stroke(tuple((across.at(x), down.at(y)) for x, y in one.points), "line", at, one.label) for at, one in enumerate(lines)
    ]
    flat = [Stroke(((LEFT, down.at(one.y)), (right, down.at(one.y))), "level", at, one.label) for at, one in enumerate(levels)]
    rules, words = _frame(chart, across, down, (LEFT, top, right, bottom))
    return Plot(
        title=plain(chart.title, 120),
        summary=f"{plain(chart.y_label, 60)} over {plain(chart.x_label, 60)}: {', '.join(labels) or 'nothing to show yet'}.",
        width=width,
        height=height,
        left=LEFT,
        top=top,
        right=right,
        bottom=bottom,
        rules=rules,
        strokes=(*flat, *strokes, *key.strokes),
        words=(*words, *key.words, *(_names(strokes, flat, right, bottom) if is_wide else ())),
    )


def _keys(lines: Sequence[_Line], levels: Sequence[Level]) -> Iterable[Key]:
    yield from (Key(one.label, "line", at) for at, one in enumerate(lines))
    yield from (Key(one.label, "level") for one in levels)


def _axes(lines: Sequence[_Line], levels: Sequence[Level], across: Point, down: Point) -> tuple[Axis, Axis]:
    xs = [x for one in lines for x, _ in one.points]
    ys = [y for one in lines for _, y in one.points] + [one.y for one in levels]
    near_zero = bool(ys) and 0 < min(ys) < 0.5 * max(ys)
    return Axis(steps_for(xs), *across), Axis(steps_for(ys, zero=near_zero), *down)


def _frame(
    chart: Chart, across: Axis, down: Axis, frame: tuple[float, float, float, float]
) -> tuple[tuple[Stroke, ...], tuple[Words, ...]]:
    left, top, right, bottom = frame
    x_ticks, y_ticks = across.ticks(chart.write_x), down.ticks(chart.write_y)
    rules = [Stroke(((left, tick.at), (right, tick.at)), "rule") for tick in y_ticks]
    rules.append(Stroke(((left, top), (left, bottom), (right, bottom)), "axis"))
    words = [Words(left - 6, tick.at + 4, tick.text, "end") for tick in y_ticks]
    words += [Words(tick.at, bottom + 16, tick.text, "middle") for tick in x_ticks]
    words.append(Words(4 if left < 80 else left, top - 9, plain(chart.y_label, 60), kind="name"))
    words.append(Words(left, bottom + 36, plain(chart.x_label, 60), kind="name"))
    return tuple(rules), tuple(words)


def _names(lines: Sequence[Stroke], levels: Sequence[Stroke], right: float, bottom: float) -> list[Words]:
    """Each line's name at its end, beside the frame."""
    named = [*lines, *levels]
    heights = _apart([one.points[-1][1] for one in named], bottom)
    looks = [one.look if one.kind == "line" else 3 for one in named]
    room = MOST_RIGHT - LETTER
    placed = zip(named, heights, looks, strict=True)
    return [Words(right + 6, height + 4, cut(one.label, room), kind="label", look=look) for one, height, look in placed]


def _apart(heights: list[float], bottom: float) -> list[float]:
    """The heights of names, moved so far apart that none hides another."""
    order = sorted(range(len(heights)), key=heights.__getitem__)
    placed = list(heights)
    for before, one in itertools.pairwise(order):
        placed[one] = max(placed[one], placed[before] + LABEL_STEP)
    spare = max(0.0, (placed[order[-1]] if order else 0.0) - bottom)
    return [height - spare for height in placed]


def _numbers(points: Iterable[tuple[float, float]]) -> list[Point]:
    return [(x, y) for x, y in points if is_number(x) and is_number(y)]


def _thinned(points: Sequence[Point], most: int = MOST_POINTS) -> list[Point]:
    """At most `most` points; of each run the highest and the lowest stay, so that no peak is lost."""
    listed = list(points)
    if len(listed) <= most:
        return listed
    run = math.ceil(len(listed) / (most // 2 - 1))
    kept = [listed[0]]
    for at in range(1, len(listed) - 1, run):
        part = listed[at : min(at + run, len(listed) - 1)]
        ends = {min(range(len(part)), key=lambda one: part[one][1]), max(range(len(part)), key=lambda one: part[one][1])}
        kept += [part[one] for one in sorted(ends)]
    return [*kept, listed[-1]]
