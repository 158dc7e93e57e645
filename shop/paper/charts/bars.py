"""Charts of bars, one group a category: bars of one stack lie on each other, those of another stand beside.

`upright` ones stand as columns where there is width for it; on a narrow screen, and for everything with long names, bars lie.
What is below nothing, such as a month with more credited than billed, goes to the other side of the line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shop.paper.charts import keys
from shop.paper.charts.axes import Axis, Tick, Write, count, is_number, steps_for
from shop.paper.charts.base import Drawings
from shop.paper.charts.keys import Key, Placed
from shop.paper.charts.shapes import LETTER, WIDE, Bar, Cell, Plot, Stroke, Table, Words, cut, room_for
from shop.paper.text import plain

MOST_CATEGORIES = 60
THICK, THIN, BETWEEN, APART = 14.0, 9.0, 2.0, 12.0
NAME_LINE = 17.0
FOOT = 42.0
COLUMN_HEIGHT = 230.0
MOST_NAME = 0.34
"""Share of the width that names of categories may take."""
LEAST_NAME = 40.0


@dataclass(frozen=True, slots=True)
class BarSeries:
    """One value a category; None and what is no number is nothing. `look` is its place in the order where none is given."""

    label: str
    values: Sequence[float | None]
    stack: str = ""
    look: int | None = None


@dataclass(frozen=True, slots=True)
class BarChart(Drawings):
    """What to show. `write` says a value at an axis or a bar's end, `tell` exactly; `hrefs` lead from the table's categories."""

    title: str
    of_what: str
    value_label: str
    categories: Sequence[str]
    series: Sequence[BarSeries]
    write: Write = count
    tell: Write | None = None
    upright: bool = False
    whole: bool = False
    hrefs: Sequence[str] = ()
    empty: str = ""

    @property
    def is_empty(self) -> bool:
        return not any(_value(one, number) for one in self.series for number in range(len(self.categories)))

    @property
    def table(self) -> Table:
        tell, hrefs = self.tell or self.write, [*self.hrefs, *[""] * len(self.categories)]
        rows = [
            (Cell(plain(name, 120), hrefs[number]), *(Cell(tell(_value(one, number))) for one in self.series))
            for number, name in enumerate(self.categories)
        ]
        return Table((self.of_what, *(one.label for one in self.series)), tuple(rows))

    def placed(self, width: float = WIDE) -> Plot:
        return _upright(self, width) if self.upright and width >= WIDE else _lying(self, width)


@dataclass(frozen=True, slots=True)
class _Piece:
    """One value on its stack, from `low` to `high`; `slot` is the stack's place beside the others."""

    slot: int
    look: int
    low: float
    high: float
    says: str


def _value(series: BarSeries, number: int) -> float:
    value = series.values[number] if number < len(series.values) else None
    return value if value is not None and is_number(value) else 0.0


def _pieces(chart: BarChart, number: int) -> Iterator[_Piece]:
    """The stacks of one category: what is above nothing upwards, what is below downwards."""
    tell, slots = chart.tell or chart.write, _slots(chart)
    ends: dict[tuple[int, bool], float] = {}
    for order, one in enumerate(chart.series):
        value = _value(one, number)
        if not value:
            continue
        slot = slots.index(one.stack)
        start = ends.get((slot, value > 0), 0.0)
        ends[slot, value > 0] = start + value
        says = f"{plain(chart.categories[number], 60)}, {one.label}: {tell(value)}"
        look = order if one.look is None else one.look
        yield _Piece(slot, look, min(start, start + value), max(start, start + value), says)


def _slots(chart: BarChart) -> list[str]:
    return list(dict.fromkeys(one.stack for one in chart.series))


def _shown(chart: BarChart) -> list[list[_Piece]]:
    return [list(_pieces(chart, number)) for number in range(min(len(chart.categories), MOST_CATEGORIES))]


def _steps(chart: BarChart, shown: Sequence[Sequence[_Piece]]) -> tuple[float, ...]:
    ends = [end for pieces in shown for one in pieces for end in (one.low, one.high)]
    return steps_for(ends or [0.0], zero=True, whole=chart.whole)


def _key(chart: BarChart, width: float) -> Placed:
    looks = [(one.label, order if one.look is None else one.look) for order, one in enumerate(chart.series)]
    return keys.place([Key(label, "bar", look) for label, look in looks] if len(looks) > 1 else [], 4, width - 4)


def _summary(chart: BarChart) -> str:
    of = ", ".join(one.label for one in chart.series)
    return f"{plain(chart.value_label, 60)} by {chart.of_what.lower()}: {of}. {len(chart.categories)} in all."


def _left_off(chart: BarChart) -> str:
    more = len(chart.categories) - MOST_CATEGORIES
    return f"{more} more in the table" if more > 0 else ""


def _lying(chart: BarChart, width: float) -> Plot:
    shown, key, slots = _shown(chart), _key(chart, width), max(1, len(_slots(chart)))
    is_wide, thick = width >= WIDE, THICK if slots == 1 else THIN
    names = [plain(name, 60) for name in chart.categories[: len(shown)]]
    left = min(MOST_NAME * width, max(LEAST_NAME, room_for(names) + 14)) if is_wide else 6.0
    sums = [_sums(pieces) for pieces in shown]
    said = [chart.write(value) for of_category in sums for value, _ in of_category.values()]
    steps = _steps(chart, shown)
    right = width - max(room_for(said), 24.0) - 8
    axis = Axis(steps, left, right)
    top, each = key.height + 22, slots * thick + (slots - 1) * BETWEEN + APART + (0 if is_wide else NAME_LINE)
    bottom = top + each * max(len(shown), 1)
    bars, words = [], [Words(left, key.height + 14, plain(chart.value_label, 60), kind="name")]
    for number, pieces in enumerate(shown):
        y = top + number * each + APART / 2
        words.append(
            _row_name(names[number], left, y, each - APART) if is_wide else Words(left, y + 12, cut(names[number], width))
        )
        y += 0 if is_wide else NAME_LINE
        bars += [_lying_bar(one, axis, y + one.slot * (thick + BETWEEN), thick) for one in pieces]
        for slot, (value, end) in sums[number].items():
            words.append(Words(axis.at(end) + 5, y + slot * (thick + BETWEEN) + thick / 2 + 4.5, chart.write(value)))
    ticks = _spaced(axis.ticks(chart.write))
    rules = [Stroke(((tick.at, top), (tick.at, bottom)), "rule") for tick in ticks]
    words += [Words(tick.at, bottom + 16, tick.text, _anchor(tick, left, width)) for tick in ticks]
    words += [Words(left, bottom + 36, text, kind="name") for text in [_left_off(chart)] if text]
    return Plot(
        title=plain(chart.title, 120),
        summary=_summary(chart),
        width=width,
        height=bottom + (FOOT if _left_off(chart) else 24),
        left=left,
        top=top,
        right=right,
        bottom=bottom,
        rules=tuple(rules),
        bars=(*bars, *key.bars),
        strokes=(Stroke(((axis.at(0), top), (axis.at(0), bottom)), "axis"),),
        words=(*words, *key.words),
    )


def _row_name(name: str, left: float, y: float, height: float) -> Words:
    return Words(left - 8, y + height / 2 + 4.5, cut(name, left - 8), "end")


def _lying_bar(piece: _Piece, axis: Axis, y: float, thick: float) -> Bar:
    start, end = axis.at(piece.low), axis.at(piece.high)
    return Bar(start, y, round(end - start, 2), thick, piece.look, piece.says)


def _sums(pieces: Sequence[_Piece]) -> dict[int, tuple[float, float]]:
    """Of each stack that holds something: its sum, and where it ends above nothing."""
    found: dict[int, tuple[float, float]] = {}
    for one in pieces:
        value, end = found.get(one.slot, (0.0, 0.0))
        size = one.high - one.low
        found[one.slot] = value + (size if one.high > 0 else -size), max(end, one.high)
    return found


def _anchor(tick: Tick, left: float, width: float) -> str:
    half = room_for([tick.text]) / 2
    return "start" if tick.at - half < 0 and left < half else "end" if tick.at + half > width else "middle"


def _spaced(ticks: Sequence[Tick]) -> list[Tick]:
    """Every tick where their texts have room, else every other, and so on."""
    between = abs(ticks[1].at - ticks[0].at) if len(ticks) > 1 else 1e9
    wanted = room_for([tick.text for tick in ticks]) + LETTER
    step = max(1, -int(-wanted // max(between, 0.1)))
    return list(ticks[::step])


def _upright(chart: BarChart, width: float) -> Plot:
    shown, key, slots = _shown(chart), _key(chart, width), max(1, len(_slots(chart)))
    steps = _steps(chart, shown)
    left = max(58.0, room_for([chart.write(step) for step in steps]) + 10)
    top, right = key.height + 26, width - 10
    bottom = top + COLUMN_HEIGHT
    axis = Axis(steps, bottom, top)
    room = (right - left) / max(len(shown), 1)
    thick = min(26.0, (room * 0.78) / slots)
    bars = []
    for number, pieces in enumerate(shown):
        start = left + room * number + (room - thick * slots) / 2
        bars += [_column(one, axis, start + one.slot * thick, thick) for one in pieces]
    rules = [Stroke(((left, tick.at), (right, tick.at)), "rule") for tick in axis.ticks()]
    ticks = axis.ticks(chart.write)
    words = [Words(left - 6, tick.at + 4, tick.text, "end") for tick in ticks]
    words.append(Words(4, key.height + 14, plain(chart.value_label, 60), kind="name"))
    names = [Tick(left + room * (number + 0.5), plain(name, 24)) for number, name in enumerate(chart.categories[: len(shown)])]
    words += [Words(tick.at, bottom + 17, tick.text, "middle") for tick in _spaced(names)]
    words += [Words(left, bottom + 36, text, kind="name") for text in [_left_off(chart)] if text]
    return Plot(
        title=plain(chart.title, 120),
        summary=_summary(chart),
        width=width,
        height=bottom + (FOOT if _left_off(chart) else 26),
        left=left,
        top=top,
        right=right,
        bottom=bottom,
        rules=tuple(rules),
        bars=(*bars, *key.bars),
        strokes=(Stroke(((left, axis.at(0)), (right, axis.at(0))), "axis"),),
        words=(*words, *key.words),
    )


def _column(piece: _Piece, axis: Axis, x: float, thick: float) -> Bar:
    high, low = axis.at(piece.high), axis.at(piece.low)
    return Bar(round(x, 2), high, round(thick - 1, 2), round(low - high, 2), piece.look, piece.says)
