"""How often the stock turns: sums, kinds, and a line a part, where most money lies first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.timezone import localdate

from inventory.models import Part
from inventory.queries.house.size import stock_is_small
from inventory.queries.turning import PartTurns, Turning, turns_between, usual_period
from shop.tallies import Counting, Line, Question, Sums, as_fraction, as_text


@dataclass(frozen=True, slots=True)
class TurnsShown:
    first: date
    last: date
    total: Turning
    kinds: Sequence[tuple[str, Turning]]


def asked(period: tuple[date, date], today: date) -> Question:
    """The usual period is asked without its days, so that what was counted in the night answers it."""
    if period == usual_period(today):
        return {}
    return {"first": period[0].isoformat(), "last": period[1].isoformat()}


def count(question: Question, at: datetime) -> Sums:
    if question.get("first"):
        first, last = date.fromisoformat(question["first"]), date.fromisoformat(question["last"])
    else:
        first, last = usual_period(localdate(at))
    found = turns_between(first, last)
    figures = {
        "period": [first.isoformat(), last.isoformat()],
        "total": _written(found.total),
        "kinds": [[label, *_written(turning)] for label, turning in found.kinds],
    }
    return Sums(figures, [[one.part.pk, *_written(one.turning)] for one in found.parts])


STOCK_TURNS = Counting("inventory:stock_turns", "How often the stock turns", count, stock_is_small)


def _written(turning: Turning) -> Line:
    return [turning.fitted_milli, as_text(turning.average_milli)]


def _read(said: Line) -> Turning:
    return Turning(said[0], as_fraction(said[1]))


def turns_shown(figures: dict[str, Any]) -> TurnsShown:
    first, last = map(date.fromisoformat, figures["period"])
    return TurnsShown(first, last, _read(figures["total"]), [(label, _read(said)) for label, *said in figures["kinds"]])


def parts_turning(lines: Sequence[Line]) -> list[PartTurns]:
    """One query."""
    parts = Part.objects.in_bulk([line[0] for line in lines])
    return [PartTurns(parts[pk], _read(said)) for pk, *said in lines]
