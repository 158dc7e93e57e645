"""How full the cabinets are: a sum a cabinet, and a line a drawer, those of a cabinet together."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.queries.fullness import Fill, fill_of_cabinets
from inventory.queries.house.size import stock_is_small
from shop.tallies import Counting, Line, Question, Sums


@dataclass(frozen=True, slots=True)
class CabinetSums:
    """`start` and `stop`: where its drawers stand among the lines."""

    whole: Fill
    start: int
    stop: int

    @property
    def name(self) -> str:
        return self.whole.name


def count(question: Question, at: datetime) -> Sums:
    listed = fill_of_cabinets()
    lines = [_written(fill) for cabinet in listed for fill in cabinet.drawers]
    return Sums({"cabinets": [_written(cabinet.whole) for cabinet in listed]}, lines)


FULLNESS = Counting("inventory:fullness", "How full the cabinets are", count, stock_is_small)


def _written(fill: Fill) -> Line:
    return [
        *(fill.name, fill.free, fill.held, fill.cost_milli, fill.kept, fill.short, fill.plain),
        *(fill.drawers, fill.tray, fill.pk),
    ]


def fills_shown(lines: Sequence[Line]) -> list[Fill]:
    return [Fill(*line) for line in lines]


def cabinets_shown(figures: dict[str, Any]) -> list[CabinetSums]:
    return list(_placed(fills_shown(figures.get("cabinets", ()))))


def _placed(fills: Sequence[Fill]) -> Iterator[CabinetSums]:
    start = 0
    for fill in fills:
        yield CabinetSums(fill, start, start + fill.drawers)
        start += fill.drawers
