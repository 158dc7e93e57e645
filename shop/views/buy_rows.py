"""What is ticked and typed on the buy list. It stands in the address: nothing is lost on the way to the basket and back."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.http import QueryDict

from inventory.models import Offer
from inventory.queries.baskets import Pick
from inventory.services import MOST_AT_ONCE
from jobs.queries.needs import BENCH_DAYS
from jobs.queries.wanted import ADDED, SURE, BuyList, WantedPart

MOST_BENCH_DAYS = 60
# A page, and a search, of more lines than this serves nobody; what is most urgent comes first.
MOST_ROWS = 300
MOST_ADDED = 50


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list as it is shown: `typed` is what stands in the count's field, `error` what is wrong with it."""

    wanted: WantedPart
    is_ticked: bool
    typed: str
    error: str = ""
    offers: tuple[Offer, ...] = ()

    @property
    def count(self) -> int:
        return int(self.typed) if not self.error and self.typed else 0

    @property
    def suppliers(self) -> list[str]:
        return list(dict.fromkeys(offer.supplier.name for offer in self.offers))


@dataclass(frozen=True)
class Rows:
    listed: BuyList
    rows: tuple[Row, ...]
    left_out: int
    days_error: str = ""
    typed_days: str = ""

    def _group(self, name: str) -> list[Row]:
        return [row for row in self.rows if row.wanted.group == name]

    @property
    def groups(self) -> list[tuple[str, list[Row]]]:
        names = dict.fromkeys(row.wanted.group for row in self.rows)
        return [(name, self._group(name)) for name in names]

    @property
    def errors(self) -> list[Row]:
        return [row for row in self.rows if row.error]

    @property
    def has_errors(self) -> bool:
        return bool(self.errors or self.days_error)

    @property
    def picks(self) -> list[Pick]:
        """What is ticked, to be bought: no picks from a list with errors."""
        ticked = [row for row in self.rows if row.is_ticked and row.count]
        return [] if self.has_errors else [_pick(row) for row in ticked]


def _pick(row: Row) -> Pick:
    days = tuple((due.count, due.needed_on) for due in row.wanted.dues_for(row.count))
    return Pick(row.wanted.part, days, row.wanted.for_what)


def bench_days_of(typed: QueryDict) -> tuple[int, str, str]:
    """(days, as typed, what is wrong with it)."""
    text = typed.get("days", str(BENCH_DAYS)).strip()
    if text.isdecimal() and len(text) < 4 and int(text) <= MOST_BENCH_DAYS:
        return int(text), text, ""
    return BENCH_DAYS, text[:12], f"Type days from 0 to {MOST_BENCH_DAYS}; the list is reckoned with {BENCH_DAYS}."


def added_of(typed: QueryDict) -> list[int]:
    """Parts that were put on the list by hand."""
    return [int(text) for text in typed.getlist("add")[:MOST_ADDED] if text.isdecimal() and len(text) < 16]


def rows_of(typed: QueryDict, listed: BuyList, offers: Mapping[int, Sequence[Offer]]) -> Rows:
    """The list with what was ticked and typed; before anything was sent, what is sure is ticked with its own count."""
    _, days, days_error = bench_days_of(typed)
    was_sent, ticked = "sent" in typed, set(typed.getlist("take"))
    shown = listed.wanted[:MOST_ROWS]
    rows = tuple(_row(typed, one, was_sent, ticked, tuple(offers.get(one.part.pk, ()))) for one in shown)
    return Rows(listed, rows, len(listed.wanted) - len(shown), days_error, days)


def _row(typed: QueryDict, wanted: WantedPart, was_sent: bool, ticked: Iterable[str], offers: tuple[Offer, ...]) -> Row:
    """What came onto the list after the form was drawn has no field in the address; nobody has asked for it yet."""
    own = typed.get(f"count-{wanted.key}")
    if not was_sent or own is None:
        return Row(wanted, not was_sent and wanted.group in (SURE, ADDED), str(wanted.count), offers=offers)
    is_ticked, text = wanted.key in ticked, own.strip()[:12]
    return Row(wanted, is_ticked, text, _wrong_with(text) if is_ticked else "", offers)


def _wrong_with(text: str) -> str:
    if not (text.isascii() and text.isdecimal()) or not 1 <= int(text) <= MOST_AT_ONCE:
        return f"Type a whole number from 1 to {MOST_AT_ONCE:,}, or take the tick away."
    return ""
