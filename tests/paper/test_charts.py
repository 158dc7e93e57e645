"""Charts: one geometry for pages and papers, which no set of numbers can upset."""

import itertools
import math
import statistics
import xml.etree.ElementTree as ElementTree
from typing import Any

import pytest
from django.template.loader import render_to_string
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics import renderPDF
from scipy import stats

from shop.paper.charts import (
    MOST_CATEGORIES,
    MOST_POINTS,
    BarChart,
    BarSeries,
    Case,
    Cell,
    Chart,
    Level,
    Ratio,
    ScatterChart,
    Series,
    Spot,
    Strip,
    StripChart,
    Table,
    drawing,
    plotted,
)
from shop.paper.charts.axes import steps_for
from shop.paper.charts.hatching import hatches
from shop.paper.charts.shapes import FILLS, NARROW, WIDE, Bar
from shop.paper.charts.sums import exact_sums, round_sums

WAVE = tuple((at / 10, 100 + 20 * math.sin(at / 30)) for at in range(1000))
TWO = Chart(
    "B+ & ripple <1>",
    "time in ms",
    "volts",
    (Series("reservoir", WAVE), Series("B+", ((0, 90), (100, 91)))),
    (Level("rated", 150),),
)
MONEY = BarChart(
    "Money",
    "Month",
    "sums in GBP",
    ("Jan", "Feb", "Mar"),
    (BarSeries("labour", (100, -40, 0), "billed"), BarSeries("parts", (50, -10, None), "billed"), BarSeries("paid", (0, 70, 0))),
    upright=True,
)
DRIFT = StripChart(
    "Readings",
    "Position",
    "off, in %",
    (
        Strip("C12", (Spot(5, "J-1", "/jobs/1/"), Spot(6), Spot(7, look=1), Spot(900)), (-20, 20), "4 sets", "/jobs/9/"),
        Strip("R1", ()),
    ),
    looks=("out of circuit", "in circuit"),
)
HOURS = ScatterChart(
    "Hours",
    "quoted",
    "worked",
    (Case(2, 3, "J-1", "/jobs/1/"),),
    Table(("Job",), ((Cell("J-1", "/jobs/1/"),),)),
    (Ratio("even", 1),),
)
KINDS: dict[str, Any] = {"lines": TWO, "bars": MONEY, "strips": DRIFT, "dots": HOURS}


def page(chart: Any) -> ElementTree.Element:
    html = render_to_string("_chart.html", {"chart": chart})
    assert "style=" not in html
    return ElementTree.fromstring(html)


def words_of(svg: ElementTree.Element) -> set[str]:
    return {text.text or "" for text in svg.iter("text")}


@pytest.mark.parametrize("name", KINDS)
def test_a_page_has_a_wide_and_a_narrow_drawing_and_the_figures(name: str) -> None:
    shown = page(KINDS[name])
    wide, narrow = shown.findall("svg")
    assert (wide.get("class"), narrow.get("class")) == ("chart-wide", "chart-narrow")
    for svg in (wide, narrow):
        _, _, width, height = map(float, (svg.get("viewBox") or "").split())
        assert width == (WIDE if svg is wide else NARROW)
        assert (svg.get("aria-label") or "").startswith(KINDS[name].title)
        for text in svg.iter("text"):
            assert -1 <= float(text.get("x") or "nan") <= width + 1
            assert 0 <= float(text.get("y") or "nan") <= height
    heads = [head.text for head in shown.findall("details/div/table/thead/tr/th")]
    assert heads == list(KINDS[name].table.heads)
    assert len(shown.findall("details/div/table/tbody/tr")) == len(KINDS[name].table.rows)


@pytest.mark.parametrize("name", KINDS)
def test_paper_draws_the_same_plot(name: str) -> None:
    assert renderPDF.drawToString(drawing(KINDS[name])).startswith(b"%PDF")


@pytest.mark.parametrize("name", ["strips", "dots"])
def test_dots_that_lead_somewhere_are_links_that_the_table_has_too(name: str) -> None:
    shown = page(KINDS[name])
    (wide, _) = shown.findall("svg")
    assert wide.get("role") == "group"
    assert [link.get("href") for link in wide.iter("a")] == ["/jobs/1/"]
    assert shown.find("details/div/table/tbody/tr/th/a") is not None


def test_lines_bear_their_names_and_texts_are_escaped() -> None:
    wide, narrow = page(TWO).findall("svg")
    for svg in (wide, narrow):
        assert {"reservoir", "B+", "rated", "volts", "time in ms"} <= words_of(svg)
    assert (wide.get("aria-label") or "").startswith("B+ & ripple <1>. volts over time in ms: reservoir, B+, rated.")


def test_lines_differ_by_more_than_colour() -> None:
    dashes = [line.dash for line in plotted(TWO).drawn("line")]
    assert len(set(dashes)) == len(dashes) == 2


def test_bars_differ_by_more_than_colour() -> None:
    drawn = {fill: tuple(hatches(Bar(0, 0, 30, 30, look))) for look, fill in enumerate(FILLS)}
    assert drawn.pop("solid") == drawn.pop("open") == ()
    assert len(set(drawn.values())) == len(drawn) == 4


@given(*(st.floats(0, 300) for _ in range(4)), st.integers(0, 5))
@settings(max_examples=30, deadline=None)
def test_a_hatching_stays_within_its_bar(x: float, y: float, width: float, height: float, look: int) -> None:
    for x1, y1, x2, y2 in hatches(Bar(x, y, width, height, look)):
        assert x - 0.01 <= min(x1, x2) <= max(x1, x2) <= x + width + 0.01
        assert y - 0.01 <= min(y1, y2) <= max(y1, y2) <= y + height + 0.01


def test_a_long_line_is_thinned_and_keeps_its_peaks() -> None:
    spike = [*WAVE[:500], (50.05, 400.0), *WAVE[500:]]
    plot = plotted(Chart("", "", "", (Series("x", spike),)))
    (line,) = plot.drawn("line")
    assert len(line.points) <= MOST_POINTS
    assert min(y for _, y in line.points) == pytest.approx(plot.top, abs=1)


@pytest.mark.parametrize(
    "points", [(), ((1, 1),), ((1, 5), (2, 5)), ((1, math.nan),), ((1, math.inf), (2, 3)), ((0, 0), (0, 0))], ids=str
)
def test_odd_lines_still_draw(points: Any) -> None:
    chart = Chart("odd", "x", "y", (Series("one", points),), (Level("far", 1e6), Level("none", math.nan)))
    html = render_to_string("_chart.html", {"chart": chart})
    assert ("<svg" in html) == bool(plotted(chart).drawn("line"))
    assert drawing(chart).height > 0


@given(st.lists(st.tuples(st.floats(width=32), st.floats(width=32)), max_size=30), st.lists(st.floats(width=32), max_size=3))
@settings(max_examples=40, deadline=None)
def test_no_numbers_upset_the_geometry(points: Any, levels: Any) -> None:
    plot = plotted(Chart("any", "x", "y", (Series("a", points),), tuple(Level("l", y) for y in levels)))
    for line in (*plot.drawn("line"), *plot.drawn("level")):
        for x, y in line.points:
            assert plot.left - 0.1 <= x <= plot.right + 0.1
            assert plot.top - 0.1 <= y <= plot.bottom + 0.1
    assert len(plot.rules) < 15


VALUES = st.lists(st.one_of(st.none(), st.floats(width=32)), max_size=8)


@given(st.lists(VALUES, max_size=4), st.booleans(), st.sampled_from([WIDE, NARROW]))
@settings(max_examples=40, deadline=None)
def test_no_values_upset_the_bars(values: Any, upright: bool, width: float) -> None:
    series = [BarSeries(f"s{at}", one, "ab"[at % 2]) for at, one in enumerate(values)]
    chart = BarChart("any", "Month", "sums", [f"c{at}" for at in range(8)], series, upright=upright)
    plot = chart.placed(width)
    for bar in plot.bars:
        if bar.says:
            assert plot.left - 0.1 <= bar.x <= bar.x + bar.width <= plot.right + 0.1
            assert plot.top - 0.1 <= bar.y <= bar.y + bar.height <= plot.bottom + 0.1
    assert len(chart.table.rows) == 8


@given(st.lists(st.floats(width=32), max_size=20), st.sampled_from([WIDE, NARROW]))
@settings(max_examples=30, deadline=None)
def test_no_readings_upset_the_strips(values: Any, width: float) -> None:
    plot = StripChart("any", "Position", "off", [Strip("C1", [Spot(value) for value in values], (-20, 80))]).placed(width)
    for dot in plot.dots:
        assert plot.top - 25 - plot.height <= dot.y <= plot.bottom + 0.1
        assert 0 <= dot.x <= plot.right + 0.1


class TestBars:
    def test_stack_up_and_what_is_below_nothing_goes_down(self) -> None:
        plot = MONEY.placed(WIDE)
        by_words = {bar.says: bar for bar in plot.bars if bar.says}
        assert set(by_words) == {"Jan, labour: 100", "Jan, parts: 50", "Feb, labour: -40", "Feb, parts: -10", "Feb, paid: 70"}
        (zero, _) = plot.drawn("axis")[0].points
        labour, parts = by_words["Jan, labour: 100"], by_words["Jan, parts: 50"]
        assert labour.y + labour.height == pytest.approx(zero[1], abs=0.1)
        assert parts.y + parts.height == pytest.approx(labour.y, abs=0.1)
        assert by_words["Feb, labour: -40"].y == pytest.approx(zero[1], abs=0.1)
        assert labour.height == pytest.approx(2 * parts.height, rel=0.02)
        assert by_words["Feb, paid: 70"].x > by_words["Feb, labour: -40"].x

    def test_a_month_without_anything_has_its_place_and_no_bar(self) -> None:
        plot = MONEY.placed(WIDE)
        assert "Mar" in {words.text for words in plot.words}
        assert not any(bar.says.startswith("Mar") for bar in plot.bars)

    def test_lie_on_a_narrow_screen_with_the_sum_at_their_end(self) -> None:
        words = [words.text for words in MONEY.placed(NARROW).words]
        assert {"Jan", "150", "-50", "70"} <= set(words)

    def test_sixty_categories_are_drawn_and_the_rest_is_in_the_table(self) -> None:
        names = [f"drawer {at} with a name that is much too long for any picture of a cabinet" for at in range(75)]
        chart = BarChart("Fill", "Drawer", "pieces", names, (BarSeries("pieces", range(1, 76)),))
        plot = chart.placed(WIDE)
        assert len([bar for bar in plot.bars if bar.says]) == MOST_CATEGORIES
        texts = {words.text for words in plot.words}
        assert "15 more in the table" in texts
        assert max(len(text) for text in texts) < 40
        assert len(chart.table.rows) == 75

    def test_nothing_to_show_is_said_in_words_that_teach(self) -> None:
        chart = BarChart("Fill", "Drawer", "pieces", ("A",), (BarSeries("pieces", (0,)),), empty="Receive parts into a drawer.")
        html = render_to_string("_chart.html", {"chart": chart})
        assert "<svg" not in html
        assert "Fill: Receive parts into a drawer." in html
        assert drawing(chart).height > 0

    def test_huge_sums_are_written_in_the_shops_money(self) -> None:
        sums = (9_999_999_999_00,)
        write = round_sums("GBP", "en_GB", sums)
        chart = BarChart(
            "Sums", "Month", "GBP", ("Jan",), (BarSeries("billed", sums),), write=write, tell=exact_sums("GBP", "en_GB")
        )
        assert "£9,999,999,999" in {words.text for words in chart.placed(NARROW).words}
        assert chart.table.rows[0][1].text == "£9,999,999,999.00"


class TestStrips:
    def test_show_the_median_the_band_and_what_lies_further_out(self) -> None:
        plot = DRIFT.placed(WIDE)
        (band,) = [area for area in plot.areas if area.width > 30]
        median = next(stroke for stroke in plot.drawn("median") if stroke.points[0][1] > plot.top)
        (far,) = [dot for dot in plot.dots if dot.look == 4 and dot.y > plot.top]
        assert band.x < median.points[0][0] < band.x + band.width < far.x
        assert {"C12", "R1", "4 sets", "median", "allowed", "further out", "in circuit"} <= {words.text for words in plot.words}

    def test_dots_of_one_value_do_not_hide_each_other(self) -> None:
        plot = StripChart("", "Position", "", (Strip("C1", (Spot(5), Spot(5), Spot(5))),)).placed(WIDE)
        assert len({(dot.x, dot.y) for dot in plot.dots}) == 3

    @given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
    @settings(max_examples=30, deadline=None)
    def test_the_median_is_that_of_the_reference_libraries(self, values: list[float]) -> None:
        """Outside: the standard library's `statistics.median` and the half quantile of `scipy.stats.mstats.mquantiles`."""
        middle = Strip("C1", [Spot(value) for value in values]).median
        assert middle == statistics.median(values)
        assert middle == pytest.approx(stats.scoreatpercentile(values, 50), rel=1e-9, abs=1e-9)


def test_dots_stand_on_one_scale_and_the_line_of_the_median_leaves_the_frame_in_it() -> None:
    plot = ScatterChart("", "x", "y", (Case(2, 8), Case(4, 4)), Table(), (Ratio("even", 1), Ratio("twice", 2))).placed(WIDE)
    even, twice = plot.drawn("line")[:2]
    assert even.points[1] == (plot.right, plot.top)
    assert twice.points[1] == (pytest.approx((plot.left + plot.right) / 2), plot.top)
    first, second = plot.dots
    assert (second.x - plot.left) == pytest.approx(2 * (first.x - plot.left), abs=0.1)
    assert (plot.bottom - first.y) == pytest.approx(2 * (plot.bottom - second.y), abs=0.1)


class TestSteps:
    @pytest.mark.parametrize(
        ("low", "high", "first", "last", "step"), [(105, 543, 100, 600, 100), (2.04, 2.16, 2.00, 2.20, 0.05)], ids=["105", "2.04"]
    )
    def test_are_those_of_the_published_examples(self, low: float, high: float, first: float, last: float, step: float) -> None:
        """Source: P. Heckbert, "Nice Numbers for Graph Labels", Graphics Gems (Academic Press, 1990), page 61: both examples."""
        steps = steps_for((low, high))
        assert (steps[0], steps[-1], steps[1] - steps[0]) == pytest.approx((first, last, step))

    @given(st.floats(-1e9, 1e9), st.floats(1e-3, 1e9))
    @settings(max_examples=100, deadline=None)
    def test_follow_the_published_rule(self, low: float, size: float) -> None:
        """Source: the same article's listing (Label.c): 1, 2 or 5 times a power of ten, bounds at 1.5, 3 and 7, loose labels."""
        high = low + max(size, 1e-6 * abs(low))
        steps = steps_for((low, high))
        wanted = _nice(_nice(high - low, nearest=False) / 4, nearest=True)
        for before, after in itertools.pairwise(steps):
            assert after - before == pytest.approx(wanted, rel=1e-6)
        slack = 1e-6 * max(abs(low), abs(high), wanted)
        assert steps[0] - slack <= low <= steps[0] + wanted + slack
        assert steps[-1] - wanted - slack <= high <= steps[-1] + slack
        assert 2 <= len(steps) <= 12

    def test_of_what_is_counted_are_whole(self) -> None:
        assert steps_for((1,), zero=True, whole=True) == (0, 1)
        assert steps_for((0, 3), whole=True) == (0, 1, 2, 3)

    def test_hold_zero_where_bars_begin_there(self) -> None:
        assert 0 in steps_for((-70, -30), zero=True)
        assert steps_for((0.0,), zero=True)[0] == 0


def _nice(value: float, *, nearest: bool) -> float:
    """The published rule, by bounds in a table of its own."""
    power = math.floor(math.log10(value))
    part = round(value / 10**power, 9)
    table = ((1.5, 1), (3, 2), (7, 5)) if nearest else ((1, 1), (2, 2), (5, 5))
    for bound, one in table:
        if part < bound or (part == bound and not nearest):
            return one * 10.0**power
    return 10.0 * 10.0**power


class TestSums:
    @pytest.mark.parametrize(
        ("currency", "locale", "value", "short", "exact"),
        [
            ("GBP", "en_GB", 123456, "£1,235", "£1,234.56"),
            ("EUR", "de_DE", -500000, "-€5.000", "-€5.000,00"),
            ("JPY", "en_US", 50000, "¥50,000", "¥50,000"),
            ("KWD", "en_GB", 1234567, "KWD1,235", "KWD1,234.567"),
            ("GBP", "nowhere", 100000, "£1,000", "£1,000.00"),
        ],
    )
    def test_are_short_at_an_axis_and_exact_beside(self, currency: str, locale: str, value: int, short: str, exact: str) -> None:
        said = round_sums(currency, locale, [value])(value), exact_sums(currency, locale)(value)
        assert tuple(text.replace("\xa0", "").replace("−", "-") for text in said) == (short, exact)

    def test_of_little_money_keep_their_coins(self) -> None:
        assert round_sums("GBP", "en_GB", [500, 1999])(500) == "£5.00"
        assert round_sums("GBP", "en_GB", [])(0) == "£0.00"
