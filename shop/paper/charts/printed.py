"""A placed chart as a drawing of the PDF library, in inks that stay apart in black and white."""

from reportlab.graphics.shapes import Circle, Drawing, Path, Polygon, PolyLine, Rect, Shape, String
from reportlab.lib.colors import HexColor

from shop.paper.charts.base import Charted
from shop.paper.charts.hatching import hatches
from shop.paper.charts.shapes import LOOKS, WIDE, Bar, Dot, Plot, Stroke, Words
from shop.paper.charts.svg import corners
from shop.paper.styles import BODY, register_fonts

INKS = ("#1b4a79", "#97211a", "#1d6334", "#744800", "#473b8b", "#48555f")
INK, SOFT, RULE, EDGE, BAND, LEVEL = "#17212a", "#48555f", "#c5d1bd", "#6f8169", "#e6ecdf", "#744800"
SIZE = 12


def drawing(chart: Charted, width: float = 480.0) -> Drawing:
    """The chart for a document, `width` points wide."""
    register_fonts()
    plot = chart.placed(WIDE)
    factor = width / plot.width
    sheet = Drawing(width, plot.height * factor)
    sheet.scale(factor, factor)
    for shape in _shapes(plot):
        sheet.add(shape)
    return sheet


def _shapes(plot: Plot) -> list[Shape]:
    up = plot.height
    areas = [
        Rect(one.x, up - one.y - one.height, one.width, one.height, fillColor=HexColor(BAND), strokeColor=None)
        for one in plot.areas
    ]
    return [
        *areas,
        *(_stroke(one, up) for one in plot.rules),
        *(shape for bar in plot.bars for shape in _bar(bar, up)),
        *(_stroke(one, up) for one in plot.strokes),
        *(_dot(one, up) for one in plot.dots),
        *(_words(one, up) for one in plot.words),
    ]


_WIDTHS = {"rule": 0.5, "axis": 0.8, "line": 1.6, "level": 0.9, "median": 2.2}


def _stroke(stroke: Stroke, up: float) -> PolyLine:
    inks = {"rule": RULE, "axis": EDGE, "level": LEVEL, "median": INK}
    flat = [number for x, y in stroke.points for number in (x, up - y)]
    return PolyLine(
        flat,
        strokeColor=HexColor(inks.get(stroke.kind) or INKS[stroke.look % LOOKS]),
        strokeWidth=_WIDTHS[stroke.kind],
        strokeDashArray=list(stroke.dash) or None,
    )


def _bar(bar: Bar, up: float) -> list[Shape]:
    ink = HexColor(INKS[bar.look % LOOKS])
    fill = ink if bar.fill == "solid" else None
    shapes: list[Shape] = [
        Rect(bar.x, up - bar.y - bar.height, bar.width, bar.height, fillColor=fill, strokeColor=ink, strokeWidth=0.8)
    ]
    lines = hatches(bar)
    if lines:
        path = Path(strokeColor=ink, strokeWidth=0.9, fillColor=None)
        for x1, y1, x2, y2 in lines:
            path.moveTo(x1, up - y1)
            path.lineTo(x2, up - y2)
        shapes.append(path)
    return shapes


def _dot(dot: Dot, up: float) -> Shape:
    look = dot.look % LOOKS
    ink = HexColor(INKS[look])
    fill = HexColor("#ffffff") if look % 2 else ink
    if look in (0, 1):
        return Circle(dot.x, up - dot.y, 4.5, fillColor=fill, strokeColor=ink, strokeWidth=1.4)
    flat = [number for x, y in corners(dot) for number in (x, up - y)]
    return Polygon(flat, fillColor=fill, strokeColor=ink, strokeWidth=1.4)


def _words(words: Words, up: float) -> String:
    ink = SOFT if words.kind == "figure" else INK if words.look is None else INKS[words.look % LOOKS]
    return String(
        words.x, up - words.y, words.text, fontName=BODY, fontSize=SIZE, textAnchor=words.anchor, fillColor=HexColor(ink)
    )
