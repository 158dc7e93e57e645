"""What every kind of chart gives: its placing at a width, its table, and both drawings of a page."""

from typing import Protocol

from django.utils.safestring import SafeString

from shop.paper.charts.shapes import NARROW, WIDE, Plot, Table
from shop.paper.charts.svg import svg_of


class Charted(Protocol):
    """Something that can be drawn at any width."""

    @property
    def title(self) -> str: ...

    @property
    def is_empty(self) -> bool: ...

    @property
    def table(self) -> Table: ...

    def placed(self, width: float = WIDE) -> Plot: ...


class Drawings:
    """For templates: `chart.drawings`, the wide one and the narrow one; a style sheet shows the one that fits."""

    __slots__ = ()

    @property
    def plot(self: Charted) -> Plot:
        return self.placed(WIDE)

    @property
    def drawings(self: Charted) -> list[SafeString]:
        return [svg_of(self.placed(width)) for width in (WIDE, NARROW)]
