"""A placed chart as SVG: classes for the style sheets, no style attribute, so that a page may forbid styles within it."""

from xml.etree.ElementTree import Element, SubElement, tostring

from django.utils.safestring import SafeString, mark_safe

from shop.paper.charts.hatching import hatches
from shop.paper.charts.shapes import LOOKS, Bar, Dot, Plot, Stroke, Words

REACH = 12.0
"""Half the size of what can be pressed around a dot that leads somewhere."""


def svg_of(plot: Plot) -> SafeString:
    said = f"{plot.title}. {plot.summary}"
    root = Element("svg", {"class": f"chart-{'wide' if plot.is_wide else 'narrow'}"})
    root.set("viewBox", f"0 0 {plot.width:g} {plot.height:g}")
    # Links within what is announced as one image could not be reached.
    root.set("role", "group" if plot.has_links else "img")
    root.set("aria-label", said)
    SubElement(root, "desc").text = plot.summary
    for area in plot.areas:
        _rect(root, "chart-area", area.x, area.y, area.width, area.height)
    for stroke in plot.rules:
        _stroke(root, stroke)
    _bars(root, plot.bars)
    for stroke in plot.strokes:
        _stroke(root, stroke)
    for dot in plot.dots:
        _dot(root, dot)
    for words in plot.words:
        _words(root, words)
    # Everything in it went through an XML writer, which escapes texts and attributes.
    return mark_safe(tostring(root, encoding="unicode"))


def _rect(root: Element, look: str, x: float, y: float, width: float, height: float) -> Element:
    places = {"x": x, "y": y, "width": width, "height": height}
    return SubElement(root, "rect", {"class": look, **{name: f"{value:g}" for name, value in places.items()}})


def _stroke(root: Element, stroke: Stroke) -> None:
    look = f"chart-{stroke.kind} chart-ink-{stroke.look % LOOKS}" if stroke.kind == "line" else f"chart-{stroke.kind}"
    shape = SubElement(root, "path", {"class": look, "d": stroke.path})
    if stroke.dash:
        shape.set("stroke-dasharray", " ".join(f"{length:g}" for length in stroke.dash))


def _bars(root: Element, bars: tuple[Bar, ...]) -> None:
    """The hatching of all bars of a look is one path: a shape for each line would make a page of nothing else."""
    lines: dict[int, list[str]] = {}
    for bar in bars:
        look = bar.look % LOOKS
        solid = " chart-solid" if bar.fill == "solid" else ""
        shape = _rect(root, f"chart-bar chart-ink-{look}{solid}", bar.x, bar.y, bar.width, bar.height)
        if bar.says:
            SubElement(shape, "title").text = bar.says
        lines.setdefault(look, []).extend(f"M{a:.4g} {b:.4g}L{c:.4g} {d:.4g}" for a, b, c, d in hatches(bar))
    for look, drawn in lines.items():
        if drawn:
            SubElement(root, "path", {"class": f"chart-hatch chart-ink-{look}", "d": "".join(drawn)})


def _dot(root: Element, dot: Dot) -> None:
    """A link can be reached in the table beside the chart, so it is no stop of the tab key here as well."""
    around = SubElement(root, "a", {"href": dot.href, "tabindex": "-1", "aria-label": dot.says}) if dot.href else root
    if dot.href:
        SubElement(around, "circle", {"class": "chart-reach", "cx": f"{dot.x:g}", "cy": f"{dot.y:g}", "r": f"{REACH:g}"})
    look = dot.look % LOOKS
    classes = f"chart-dot chart-ink-{look}{'' if look % 2 else ' chart-solid'}"
    if look in (0, 1):
        shape = SubElement(around, "circle", {"class": classes, "cx": f"{dot.x:g}", "cy": f"{dot.y:g}", "r": "4.5"})
    else:
        shape = SubElement(around, "path", {"class": classes, "d": corners_path(dot)})
    if dot.says:
        SubElement(shape, "title").text = dot.says


def corners_path(dot: Dot) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in corners(dot)) + "Z"


def corners(dot: Dot) -> list[tuple[float, float]]:
    """A square of looks 2 and 3, an arrow to the right of 4, to the left of 5."""
    x, y, size = dot.x, dot.y, 4.5
    if dot.look % LOOKS in (2, 3):
        return [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)]
    towards = size + 1 if dot.look % LOOKS == 4 else -size - 1
    return [(x - towards, y - size), (x + towards, y), (x - towards, y + size)]


def _words(root: Element, words: Words) -> None:
    ink = f" chart-ink-{words.look % LOOKS}" if words.look is not None else ""
    shape = SubElement(root, "text", {"class": f"chart-{words.kind}{ink}", "x": f"{words.x:g}", "y": f"{words.y:g}"})
    if words.anchor != "start":
        shape.set("text-anchor", words.anchor)
    shape.text = words.text
