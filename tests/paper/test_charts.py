"""Charts: one geometry for pages and papers, which no set of numbers can upset."""

import itertools
import math
import xml.etree.ElementTree as ElementTree

import pytest
from django.template.loader import render_to_string
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics import renderPDF

from shop.paper.charts import MOST_POINTS, Chart, Level, Series, drawing, plotted

WAVE = tuple((at / 10, 100 + 20 * math.sin(at / 30)) for at in range(1000))
TWO = Chart(
    "B+ & ripple <1>",
    "time in ms",
    "volts",
    (Series("reservoir", WAVE), Series("B+", ((0, 90), (100, 91)))),
    (Level("rated", 150),),
)


def svg(chart: Chart) -> ElementTree.Element | None:
    html = render_to_string("_chart.html", {"chart": chart})
    assert "style=" not in html
    return ElementTree.fromstring(html).find("svg")


def test_a_page_shows_every_line_with_its_name():
    found = svg(TWO)
    assert found is not None
    assert len(found.findall("polyline")) == 3
    words = [text.text for text in found.findall("text")]
    assert {"reservoir", "B+", "rated", "volts", "time in ms"} <= set(words)
    assert "B+ & ripple <1>" in (found.findtext("title") or "")


def test_lines_differ_by_more_than_colour():
    dashes = [line.dash for line in plotted(TWO).lines]
    assert len(set(dashes)) == len(dashes)


def test_a_long_line_is_thinned_and_keeps_its_peaks():
    spike = [*WAVE[:500], (50.05, 400.0), *WAVE[500:]]
    (line,) = plotted(Chart("", "", "", (Series("x", spike),))).lines
    assert len(line.points) <= MOST_POINTS
    assert min(y for _, y in line.points) == pytest.approx(
        plotted(Chart("", "", "", (Series("x", [(50.05, 400.0), *WAVE]),))).lines[0].points[0][1], abs=1
    )


def test_ticks_are_round_numbers_that_hold_all_values():
    plot = plotted(Chart("", "", "", (Series("x", ((0, 93.2), (100, 97.9))),)))
    figures = [float(tick.text) for tick in plot.y_ticks]
    assert figures[0] <= 93.2
    assert figures[-1] >= 97.9
    assert len({round(after - before, 9) for before, after in itertools.pairwise(figures)}) == 1


@pytest.mark.parametrize(
    "points", [(), ((1, 1),), ((1, 5), (2, 5)), ((1, math.nan),), ((1, math.inf), (2, 3)), ((0, 0), (0, 0))], ids=str
)
def test_odd_lines_still_draw(points):
    chart = Chart("odd", "x", "y", (Series("one", points),), (Level("far", 1e6), Level("none", math.nan)))
    html = render_to_string("_chart.html", {"chart": chart})
    assert ("<svg" in html) == bool(plotted(chart).lines)
    assert drawing(chart).height > 0


@given(st.lists(st.tuples(st.floats(width=32), st.floats(width=32)), max_size=30), st.lists(st.floats(width=32), max_size=3))
@settings(max_examples=80, deadline=None)
def test_no_numbers_upset_the_geometry(points, levels):
    plot = plotted(Chart("any", "x", "y", (Series("a", points),), tuple(Level("l", y) for y in levels)))
    for line in (*plot.lines, *plot.levels):
        for x, y in line.points:
            assert plot.left - 0.1 <= x <= plot.right + 0.1
            assert plot.top - 0.1 <= y <= plot.bottom + 0.1
    assert len(plot.x_ticks) < 15
    assert len(plot.y_ticks) < 15


def test_paper_draws_the_same_plot():
    assert renderPDF.drawToString(drawing(TWO)).startswith(b"%PDF")
