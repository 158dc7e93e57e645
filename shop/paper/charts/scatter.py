"""Charts of dots: one quantity against another, each dot a case that can be opened, with straight lines to hold them against."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.paper.charts import keys
from shop.paper.charts.axes import Axis, Write, is_number, steps_for
from shop.paper.charts.base import Drawings
from shop.paper.charts.keys import Key
from shop.paper.charts.lines import FOOT, HEAD, LEFT
from shop.paper.charts.shapes import WIDE, Dot, Plot, Stroke, Table, Words
from shop.paper.text import plain

HEIGHTS = {True: 360.0, False: 320.0}
MOST_DOTS = 500


@dataclass(frozen=True, slots=True)
class Case:
    """One dot. `look` is 0 or 1."""

    x: float
    y: float
    says: str = ""
    href: str = ""
    look: int = 0


@dataclass(frozen=True, slots=True)
class Ratio:
    """A line of y = `times` x, from nothing."""

    label: str
    times: float


@dataclass(frozen=True, slots=True)
class ScatterChart(Drawings):
    """What to show. Both axes begin at nothing and have one scale; `looks` names what dots of look 0 and 1 are."""

    title: str
    x_label: str
    y_label: str
    cases: Sequence[Case]
    table: Table
    ratios: Sequence[Ratio] = ()
    looks: Sequence[str] = ()
    write: Write | None = None
    empty: str = ""

    @property
    def is_empty(self) -> bool:
        return not _cases(self)

    def placed(self, width: float = WIDE) -> Plot:
        return _placed(self, width)


def _cases(chart: ScatterChart) -> list[Case]:
    return [one for one in chart.cases if is_number(one.x) and is_number(one.y)][:MOST_DOTS]


def _placed(chart: ScatterChart, width: float) -> Plot:
    cases, is_wide = _cases(chart), width >= WIDE
    ratios = [one for one in chart.ratios if is_number(one.times)]
    key = keys.place(_keys(chart, ratios), 4, width - 4)
    top, right, height = key.height + HEAD, width - 16, key.height + HEIGHTS[is_wide]
    bottom = height - FOOT
    steps = steps_for([0.0, *(end for one in cases for end in (one.x, one.y))])
    across, down = Axis(steps, LEFT, right), Axis(steps, bottom, top)
    x_ticks, y_ticks = across.ticks(chart.write), down.ticks(chart.write)
    words = [Words(LEFT - 6, tick.at + 4, tick.text, "end") for tick in y_ticks]
    words += [Words(tick.at, bottom + 16, tick.text, "middle") for tick in x_ticks]
    words.append(Words(4, top - 9, plain(chart.y_label, 60), kind="name"))
    words.append(Words(LEFT, bottom + 36, plain(chart.x_label, 60), kind="name"))
    return Plot(
        title=plain(chart.title, 120),
        summary=f"{plain(chart.y_label, 60)} against {plain(chart.x_label, 60)}, {len(cases)} dots.",
        width=width,
        height=height,
        left=LEFT,
        top=top,
        right=right,
        bottom=bottom,
        rules=tuple(Stroke(((LEFT, tick.at), (right, tick.at)), "rule") for tick in y_ticks),
        strokes=(
            Stroke(((LEFT, top), (LEFT, bottom), (right, bottom)), "axis"),
            *(_line(one, look, across, down) for look, one in enumerate(ratios)),
            *key.strokes,
        ),
        dots=(*(Dot(across.at(one.x), down.at(one.y), one.look, one.says, one.href) for one in cases), *key.dots),
        words=(*words, *key.words),
    )


def _keys(chart: ScatterChart, ratios: Sequence[Ratio]) -> list[Key]:
    return [
        *(Key(label, "dot", look) for look, label in enumerate(chart.looks)),
        *(Key(one.label, "line", look) for look, one in enumerate(ratios)),
    ]


def _line(ratio: Ratio, look: int, across: Axis, down: Axis) -> Stroke:
    """From nothing to where it leaves the frame."""
    most = across.steps[-1]
    x = most if ratio.times <= 1 else most / ratio.times
    return Stroke(((across.at(0), down.at(0)), (across.at(x), down.at(x * ratio.times))), "line", look, ratio.label)
