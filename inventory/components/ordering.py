"""The careful repairer's order: which of several parts that were judged for one position to take first."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from inventory.components.answers import LEVELS, Answer

RankKey = tuple[int, Decimal, int, bool]
_UNKNOWN_DISTANCE = Decimal(10**6)
# Beyond this many times the volts or watts needed a part is merely large and dear.
_PLENTY = 3


def rank_key(answer: Answer) -> RankKey:
    """Sort key: yes, warn, no; then the value nearest by ratio, the fewest reservations, and no absurdly high rating."""
    reserved = sum(reason.level != "yes" for reason in answer.reasons)
    return LEVELS[answer.answer], _distance(answer.deviation_percent), reserved, _is_oversized(answer)


def _distance(deviation_percent: Decimal | None) -> Decimal:
    """How far the ratio of the values is from 1, the same for double as for half; a million where it is not known."""
    if deviation_percent is None:
        return _UNKNOWN_DISTANCE
    if deviation_percent >= 0:
        return deviation_percent
    ratio = 1 + deviation_percent / 100
    return min((1 / ratio - 1) * 100, _UNKNOWN_DISTANCE) if ratio > 0 else _UNKNOWN_DISTANCE


def _is_oversized(answer: Answer) -> bool:
    return answer.headroom is not None and answer.headroom > _PLENTY


def rank(answers: Iterable[Answer]) -> list[Answer]:
    """The answers, best first."""
    return sorted(answers, key=rank_key)


def careful_order(answer: Answer, received_on: date | None, cost: int) -> tuple[RankKey, date, int]:
    """Sort key over lots: `rank_key`, then the oldest lot (those of unknown age last), then the cheapest.

    It orders everything that a repairer can tell apart; `cost` is any whole number, such as thousandths of the minor unit.
    """
    return rank_key(answer), received_on or date.max, cost
