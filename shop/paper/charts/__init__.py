"""Charts, on the page and on paper from one geometry: `chart.placed(width)` places everything, two ways draw it.

A page includes `_chart.html` (SVG without style attributes), a document takes `drawing(chart)`. Every chart has its `table`.
Series are told apart by dash, fill, shape and name; colour only helps.
"""

from shop.paper.charts.axes import Write, count, hours, percent
from shop.paper.charts.bars import MOST_CATEGORIES, BarChart, BarSeries
from shop.paper.charts.base import Charted
from shop.paper.charts.lines import MOST_POINTS, Chart, Level, Series, plotted
from shop.paper.charts.printed import drawing
from shop.paper.charts.scatter import Case, Ratio, ScatterChart
from shop.paper.charts.shapes import Cell, Plot, Table
from shop.paper.charts.strips import Spot, Strip, StripChart

__all__ = [
    "MOST_CATEGORIES",
    "MOST_POINTS",
    "BarChart",
    "BarSeries",
    "Case",
    "Cell",
    "Chart",
    "Charted",
    "Level",
    "Plot",
    "Ratio",
    "ScatterChart",
    "Series",
    "Spot",
    "Strip",
    "StripChart",
    "Table",
    "Write",
    "count",
    "drawing",
    "hours",
    "percent",
    "plotted",
]
