"""The buy list: what jobs need and what is kept, less what is free, on order or being ordered; one line a part, with reasons.

What there is goes to what is needed first. Three groups follow each other, and only the first is bought unless somebody says so:
what is sure (agreed jobs, minimums), what waits for a customer's answer, and what sets just taken in will likely need.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from inventory.models import Part
from inventory.queries.shortages import Standing, standings
from jobs.queries.needs import BENCH_DAYS, Need, likely_needs, needs

SURE, UNANSWERED, LIKELY, ADDED = "sure", "unanswered", "likely", "added"
# Parts that lie below their minimum and that no job waits for: so many are listed, the others once these are ordered.
MOST_LOW = 50
GROUPS = (SURE, UNANSWERED, LIKELY, ADDED)


@dataclass(frozen=True, slots=True)
class Due:
    """`count` pieces to buy by a day (None: whenever). `need` is None for a minimum."""

    count: int
    needed_on: date | None
    need: Need | None = None


@dataclass(frozen=True, slots=True)
class WantedPart:
    """One line of the list. `needs`: everything that asks for the part in this group, also what stock covers."""

    group: str
    standing: Standing
    dues: tuple[Due, ...]
    needs: tuple[Need, ...] = ()
    share: Fraction = Fraction(1)

    @property
    def part(self) -> Part:
        return self.standing.part

    @property
    def key(self) -> str:
        return f"{self.group}-{self.part.pk}"

    @property
    def count(self) -> int:
        return sum(due.count for due in self.dues)

    @property
    def needed_on(self) -> date | None:
        return min((due.needed_on for due in self.dues if due.needed_on), default=None)

    @property
    def for_minimum(self) -> int:
        return sum(due.count for due in self.dues if due.need is None) if self.group == SURE else 0

    @property
    def for_what(self) -> str:
        """The jobs that wait for it, and the drawer where it fills one up, as an order says it."""
        numbers = list(dict.fromkeys(need.job.number for need in self.needs))
        return ", ".join([*numbers, *(["stock"] if self.for_minimum or not numbers else [])])

    def dues_for(self, count: int) -> list[Due]:
        """The days of another count than the list's own: what is due first comes first, what is beyond is due whenever."""
        found: list[Due] = []
        for due in self.dues:
            if count > 0:
                found.append(Due(min(due.count, count), due.needed_on, due.need))
                count -= due.count
        return [*found, Due(count, None)] if count > 0 else found


@dataclass(frozen=True, slots=True)
class Cardless:
    """Positions that ask for a part nobody has chosen a card for, alike in role and value called for."""

    group: str
    role_label: str
    called: str
    needs: tuple[Need, ...]

    @property
    def count(self) -> int:
        return sum(need.count for need in self.needs)

    @property
    def last_part(self) -> Part | None:
        return self.needs[0].last_part


@dataclass(frozen=True)
class BuyList:
    """`is_cut`: more parts lie below their minimum than are listed."""

    wanted: tuple[WantedPart, ...]
    cardless: tuple[Cardless, ...] = ()
    bench_days: int = BENCH_DAYS
    is_cut: bool = False

    def group(self, name: str) -> list[WantedPart]:
        return [one for one in self.wanted if one.group == name]

    @property
    def sure(self) -> list[WantedPart]:
        return self.group(SURE)

    @property
    def unanswered(self) -> list[WantedPart]:
        return self.group(UNANSWERED)

    @property
    def likely(self) -> list[WantedPart]:
        return self.group(LIKELY)

    @property
    def added(self) -> list[WantedPart]:
        return self.group(ADDED)


@dataclass
class _Shelf:
    """What is left of each part as one need after the other is covered."""

    standings: dict[int, Standing]
    left: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.left = {pk: one.cover for pk, one in self.standings.items()}

    def short(self, pk: int, count: int) -> int:
        """Takes `count` off what is left and gives how many are missing."""
        there = max(min(self.left[pk], count), 0)
        self.left[pk] -= there
        return count - there


def buy_list(bench_days: int = BENCH_DAYS, added: Iterable[int] = ()) -> BuyList:
    """Everything to buy. `added`: keys of parts that somebody wants besides. The same number of queries however much it is."""
    decided, likely, besides = needs(bench_days), likely_needs(bench_days), list(added)
    asked_for = {*(need.part.pk for need in [*decided, *likely] if need.part), *besides}
    all_of_them = standings(asked_for, MOST_LOW + 1)
    shelf = _Shelf(all_of_them)
    agreed = [need for need in decided if need.is_agreed]
    open_ = [need for need in decided if not need.is_agreed]
    wanted = [
        *_lines(SURE, agreed, shelf, with_minimum=True),
        *_lines(UNANSWERED, open_, shelf),
        *_likely_lines(likely, shelf),
        *(WantedPart(ADDED, all_of_them[pk], (Due(1, None),)) for pk in dict.fromkeys(besides) if pk in all_of_them),
    ]
    low = [one for one in wanted if one.group == SURE and not one.needs]
    last = low[MOST_LOW] if len(low) > MOST_LOW else None
    cardless = [*_cardless(SURE, agreed), *_cardless(UNANSWERED, open_), *_cardless(LIKELY, likely)]
    return BuyList(tuple(one for one in wanted if one is not last), tuple(cardless), bench_days, is_cut=last is not None)


def _lines(group: str, found: Sequence[Need], shelf: _Shelf, *, with_minimum: bool = False) -> list[WantedPart]:
    by_part: dict[int, list[Need]] = {}
    for need in found:
        if need.part is not None:
            by_part.setdefault(need.part.pk, []).append(need)
    keys = [pk for pk in shelf.standings if pk in by_part or with_minimum]
    lines = [_line(group, shelf, pk, by_part.get(pk, []), with_minimum) for pk in keys]
    return sorted((line for line in lines if line.dues), key=lambda line: line.needed_on or date.max)


def _line(group: str, shelf: _Shelf, pk: int, found: list[Need], with_minimum: bool) -> WantedPart:
    standing = shelf.standings[pk]
    in_time = sorted(found, key=lambda need: need.needed_on or date.max)
    dues = [Due(short, need.needed_on, need) for need in in_time if (short := shelf.short(pk, need.count))]
    if with_minimum and (short := shelf.short(pk, standing.minimum)):
        dues.append(Due(short, None))
    return WantedPart(group, standing, tuple(dues), tuple(in_time))


def _likely_lines(found: Sequence[Need], shelf: _Shelf) -> Iterator[WantedPart]:
    by_part: dict[int, list[Need]] = {}
    for need in found:
        if need.part is not None:
            by_part.setdefault(need.part.pk, []).append(need)
    for pk, own in by_part.items():
        share = sum((need.share * need.count for need in own), Fraction(0))
        # A half and more is worth a part: too few stop the bench, one too many lies in a drawer.
        short = shelf.short(pk, int(share + Fraction(1, 2)))
        first = min((need.needed_on for need in own if need.needed_on), default=None)
        if short:
            yield WantedPart(LIKELY, shelf.standings[pk], (Due(short, first, own[0]),), tuple(own), share)


def _cardless(group: str, found: Sequence[Need]) -> list[Cardless]:
    alike: dict[tuple[str, str], list[Need]] = {}
    for need in found:
        if need.part is None:
            alike.setdefault((need.role_label, need.called), []).append(need)
    return [Cardless(group, role, called, tuple(own)) for (role, called), own in alike.items()]
