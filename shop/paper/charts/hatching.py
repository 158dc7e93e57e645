"""Fills of bars that black ink can tell apart: lines clipped to the bar, in one pattern across the drawing."""

import math
from collections.abc import Iterator

from shop.paper.charts.shapes import Bar

SPACING = 6.0
Segment = tuple[float, float, float, float]


def hatches(bar: Bar) -> list[Segment]:
    """(x1, y1, x2, y2) of each line; none of a solid or an open bar."""
    if bar.fill in ("slash", "cross"):
        lines = list(_slash(bar))
        return lines + list(_back(bar)) if bar.fill == "cross" else lines
    if bar.fill == "back":
        return list(_back(bar))
    return list(_level(bar)) if bar.fill == "level" else []


def _multiples(low: float, high: float, spacing: float) -> Iterator[float]:
    for number in range(math.ceil(low / spacing), math.floor(high / spacing) + 1):
        yield number * spacing


def _slash(bar: Bar) -> Iterator[Segment]:
    right, bottom = bar.x + bar.width, bar.y + bar.height
    for total in _multiples(bar.x + bar.y, right + bottom, SPACING):
        start, end = max(bar.x, total - bottom), min(right, total - bar.y)
        if end - start > 0.1:
            yield start, total - start, end, total - end


def _back(bar: Bar) -> Iterator[Segment]:
    right, bottom = bar.x + bar.width, bar.y + bar.height
    for between in _multiples(bar.x - bottom, right - bar.y, SPACING):
        start, end = max(bar.x, between + bar.y), min(right, between + bottom)
        if end - start > 0.1:
            yield start, start - between, end, end - between


def _level(bar: Bar) -> Iterator[Segment]:
    for y in _multiples(bar.y + 0.5, bar.y + bar.height - 0.5, SPACING * 0.6):
        yield bar.x, y, bar.x + bar.width, y
