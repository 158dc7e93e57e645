"""Charts of lines, on the page and on paper from one geometry: `plotted(chart)` places everything, two ways draw it.

A page draws the plot as SVG without style attributes (`templates/_chart.html`), a document as a drawing of the PDF library.
Lines are told apart by dash and by their name at their end, not by colour alone.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Line, PolyLine, String
from reportlab.lib.colors import HexColor

from shop.paper.styles import BODY, register_fonts
from shop.paper.text import plain

WIDTH, HEIGHT = 640.0, 300.0
LEFT, TOP, BOTTOM = 64.0, 16.0, 48.0
LEAST_RIGHT, MOST_RIGHT, LETTER = 72.0, 200.0, 11.0
"""Room for the names beside the frame, by their longest: a letter is so wide on a phone's screen."""
MOST_POINTS = 200
MOST_SERIES = 6
TICKS = 6
DASHES: tuple[tuple[float, ...], ...] = ((), (7, 4), (2, 3), (10, 3, 2, 3), (4, 2), (1, 2))
INKS = ("#1b4a79", "#97211a", "#1d6334", "#744800", "#473b8b", "#48555f")
LABEL_STEP = 20.0


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
class Chart:
    """What to show. Axis labels carry their unit: "time in ms"."""

    title: str
    x_label: str
    y_label: str
    series: Sequence[Series]
    levels: Sequence[Level] = ()

    @property
    def plot(self) -> "Plot":
        """For templates."""
        return plotted(self)


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """A placed line. `look` counts from 0; `path` for SVG; the name stands at `label_y` beside the frame."""

    label: str
    look: int
    points: tuple[tuple[float, float], ...]
    label_y: float

    @property
    def path(self) -> str:
        return " ".join(f"{x:.1f},{y:.1f}" for x, y in self.points)

    @property
    def dash(self) -> str:
        return " ".join(f"{length:g}" for length in DASHES[self.look % len(DASHES)])

    @property
    def is_dot(self) -> bool:
        return len(self.points) == 1


@dataclass(frozen=True, slots=True)
class Plot:
    """Everything placed, y downwards as a page counts; empty `lines` mean that there is nothing to show."""

    title: str
    x_label: str
    y_label: str
    lines: tuple[Drawn, ...]
    levels: tuple[Drawn, ...]
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    right: float

    width, height = WIDTH, HEIGHT
    left, top, bottom = LEFT, TOP, HEIGHT - BOTTOM

    @property
    def summary(self) -> str:
        """What a reader who can't see the lines is told."""
        return f"{self.y_label} over {self.x_label}: {', '.join(line.label for line in self.lines) or 'nothing to show yet'}."


def plotted(chart: Chart) -> Plot:
    """Place a chart. Never fails: what is no number is left out, and equal values get a span of their own."""
    series = [(plain(one.label, 60), _thinned(_numbers(one.points))) for one in chart.series[:MOST_SERIES]]
    series = [(label, points) for label, points in series if points]
    levels = [(plain(one.label, 60), one.y) for one in chart.levels[:MOST_SERIES] if math.isfinite(one.y)] if series else []
    xs = [x for _, points in series for x, _ in points]
    ys = [y for _, points in series for _, y in points] + [y for _, y in levels]
    x_steps, y_steps = _steps(xs, 0), _steps(ys, 1)
    right = _right([label for label, _ in (*series, *levels)])
    across, down = _scale(x_steps, LEFT, right), _scale(y_steps, HEIGHT - BOTTOM, TOP)
    placed = [tuple((across(x), down(y)) for x, y in points) for _, points in series]
    ends = _apart([*(points[-1][1] for points in placed), *(down(y) for _, y in levels)])
    return Plot(
        title=plain(chart.title, 120),
        x_label=plain(chart.x_label, 60),
        y_label=plain(chart.y_label, 60),
        lines=tuple(Drawn(label, at, placed[at], ends[at]) for at, (label, _) in enumerate(series)),
        levels=tuple(
            Drawn(label, at, ((LEFT, down(y)), (right, down(y))), ends[len(series) + at]) for at, (label, y) in enumerate(levels)
        ),
        x_ticks=tuple(Tick(across(x), _figure(x, x_steps)) for x in x_steps),
        y_ticks=tuple(Tick(down(y), _figure(y, y_steps)) for y in y_steps),
        rows=tuple((label, tuple(f"{x:.4g}: {y:.4g}" for x, y in _thinned(points, 24))) for label, points in series),
        right=right,
    )


def _right(labels: Sequence[str]) -> float:
    """Where the frame ends, so that the longest name has room beside it."""
    longest = max(map(len, labels), default=0)
    return WIDTH - min(MOST_RIGHT, max(LEAST_RIGHT, 12 + LETTER * longest))


def _numbers(points: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(x, y) for x, y in points if math.isfinite(x) and math.isfinite(y) and abs(x) < 1e12 and abs(y) < 1e12]


def _thinned(points: list[tuple[float, float]], most: int = MOST_POINTS) -> list[tuple[float, float]]:
    """At most `most` points; of each run the highest and the lowest stay, so that no peak is lost."""
    if len(points) <= most:
        return points
    run = math.ceil(len(points) / (most // 2 - 1))
    kept = [points[0]]
    for at in range(1, len(points) - 1, run):
        part = points[at : min(at + run, len(points) - 1)]
        ends = {min(range(len(part)), key=lambda one: part[one][1]), max(range(len(part)), key=lambda one: part[one][1])}
        kept += [part[one] for one in sorted(ends)]
    return [*kept, points[-1]]


def _steps(values: Sequence[float], from_zero: int) -> list[float]:
    """Round numbers that span the values: about TICKS of them. `from_zero`: the span may be stretched to zero if it is near."""
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    if from_zero and 0 < low < 0.5 * high:
        low = 0.0
    if high - low < 1e-9 * max(abs(low), abs(high), 1e-9):
        low, high = low - (abs(low) * 0.1 or 1.0), high + (abs(high) * 0.1 or 1.0)
    rough = (high - low) / (TICKS - 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= rough * 0.999)
    first = math.floor(low / step + 1e-9)
    last = math.ceil(high / step - 1e-9)
    return [number * step for number in range(first, max(last, first + 1) + 1)]


def _scale(steps: Sequence[float], start: float, end: float):  # type: ignore[no-untyped-def]
    low, high = steps[0], steps[-1]
    return lambda value: round(start + (value - low) / (high - low) * (end - start), 2)


def _figure(value: float, steps: Sequence[float]) -> str:
    step = steps[1] - steps[0]
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    decimals += round(step * 10**decimals, 6) != round(step * 10**decimals)
    return f"{value + 0.0:.{min(decimals, 9)}f}"


def _apart(heights: list[float]) -> list[float]:
    """The heights of names, moved so far apart that none hides another."""
    order = sorted(range(len(heights)), key=heights.__getitem__)
    placed = list(heights)
    for before, one in itertools.pairwise(order):
        placed[one] = max(placed[one], placed[before] + LABEL_STEP)
    spare = max(0.0, (placed[order[-1]] if order else 0.0) - (HEIGHT - BOTTOM))
    return [height - spare for height in placed]


def drawing(chart: Chart, width: float = 480.0) -> Drawing:
    """The chart for a document, `width` points wide."""
    register_fonts()
    plot, factor = plotted(chart), width / WIDTH
    sheet = Drawing(width, HEIGHT * factor)
    sheet.scale(factor, factor)
    for shape in [*_frame(plot), *_ticks(plot), *_lines(plot)]:
        sheet.add(shape)
    return sheet


def _up(y: float) -> float:
    return HEIGHT - y


def _text(x: float, y: float, text: str, anchor: str = "start", ink: str = "#17212a") -> String:
    return String(x, _up(y), text, fontName=BODY, fontSize=11, textAnchor=anchor, fillColor=HexColor(ink))


def _frame(plot: Plot) -> list[Line | String]:
    ink = HexColor("#6f8169")
    return [
        Line(plot.left, _up(plot.bottom), plot.right, _up(plot.bottom), strokeColor=ink, strokeWidth=0.8),
        Line(plot.left, _up(plot.bottom), plot.left, _up(plot.top), strokeColor=ink, strokeWidth=0.8),
        _text((plot.left + plot.right) / 2, HEIGHT - 8, plot.x_label, "middle"),
        _text(plot.left, plot.top - 4, plot.y_label),
    ]


def _ticks(plot: Plot) -> list[Line | String]:
    rule = HexColor("#c5d1bd")
    shapes: list[Line | String] = []
    for tick in plot.y_ticks:
        shapes.append(Line(plot.left, _up(tick.at), plot.right, _up(tick.at), strokeColor=rule, strokeWidth=0.5))
        shapes.append(_text(plot.left - 6, tick.at + 4, tick.text, "end"))
    return shapes + [_text(tick.at, plot.bottom + 16, tick.text, "middle") for tick in plot.x_ticks]


def _lines(plot: Plot) -> list[Line | PolyLine | String]:
    shapes: list[Line | PolyLine | String] = []
    for line in (*plot.lines, *plot.levels):
        is_level = line in plot.levels
        ink = "#744800" if is_level else INKS[line.look % len(INKS)]
        points = line.points if len(line.points) > 1 else (*line.points, (line.points[0][0] + 3, line.points[0][1]))
        flat = [number for x, y in points for number in (x, _up(y))]
        dash = [6, 3] if is_level else list(DASHES[line.look % len(DASHES)]) or None
        shapes.append(PolyLine(flat, strokeColor=HexColor(ink), strokeWidth=0.8 if is_level else 1.6, strokeDashArray=dash))
        shapes.append(_text(plot.right + 6, line.label_y + 4, line.label, ink=ink))
    return shapes
