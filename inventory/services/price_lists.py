"""Trying a supplier's list and taking it in. Orders and lots keep the prices they were written with: no row of theirs is touched.

Trying reads the whole file and writes down what can be taken; taking in reads that, in one transaction. So the long work holds
no lock, and what was shown is what comes in.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db import connection, transaction

from inventory.models import ListLayout, Offer, PriceList, Supplier
from inventory.price_lists.layout import Layout, Line
from inventory.price_lists.problems import ListRefused
from inventory.price_lists.reading import read_file, taken_lines
from inventory.queries.offers_of import currency_of
from inventory.queries.price_lists import (
    ADDED,
    CHANGED,
    SAME,
    WITHDRAWN,
    Effect,
    differences,
    effect_of,
    first_rejects,
    known_offers,
    missing,
)
from inventory.services.waiting_lists import Trial, Waiting
from shop.acts import Refused
from shop.models import Profile, Staff
from shop.money import minor_digits
from shop.search_text import fold

ROWS_A_STATEMENT = 2_000
CODES_A_STATEMENT = 500
REJECTS_KEPT = 500
_LONGEST_SEARCH = 260
_LONGEST_SHEET = 80
Value = str | int | None
_KEY = ("supplier_id", "code")
_WRITTEN = (
    *("text", "currency", "breaks", "unit_milli", "pack_size", "least_count", "lead_days"),
    *("is_offered", "price_list_id", "search"),
)


def currency_for(supplier: Supplier) -> str:
    """ISO 4217 code of the supplier's prices by its card, or the shop's."""
    return currency_of(supplier, (Profile.current() or Profile()).currency)


def _refuse_other_money(supplier: Supplier, currency: str) -> None:
    """Offers in a currency without a rate could be compared with nothing."""
    if (known := currency_for(supplier)) != currency:
        raise Refused(
            f"The card of {supplier} says {known}, and this list is in {currency}. Write the currency and its rate on the card "
            "first, or correct it here.",
            field="currency",
        )


def try_list(waiting: Waiting, layout: Layout, supplier: Supplier) -> Effect:
    """Read the whole file by a confirmed layout and say what taking it in would do. No offer changes."""
    _refuse_other_money(supplier, layout.currency)
    trial = waiting.new_trial()
    try:
        with waiting.under_way():
            return _tried(waiting, trial, layout, supplier)
    except ListRefused as refused:
        trial.drop()
        raise Refused(refused.message) from refused
    except Refused:
        trial.drop()
        raise


def _tried(waiting: Waiting, trial: Trial, layout: Layout, supplier: Supplier) -> Effect:
    tell = _teller(waiting, "Reading the file", "The reading was stopped. No offer changed; the file waits as before.")
    tell(0)
    totals = read_file(waiting.path, layout, minor_digits(layout.currency), trial.lines, trial.rejects, tell)
    effect = effect_of(supplier, layout, trial.lines, trial.rejects, totals.rejected)
    trial.finish(layout, effect)
    return effect


def _teller(waiting: Waiting, what: str, once_stopped: str) -> Callable[[float], None]:
    """Notes how far it got, and refuses to go on once somebody asked for a stop."""

    def tell(share: float) -> None:
        waiting.note("progress", {"what": what, "share": round(min(share, 1.0), 3)})
        if waiting.stop_asked:
            raise Refused(once_stopped, code="stopped")

    return tell


@dataclass(frozen=True, slots=True)
class Outcome:
    """The list that came in, or the earlier one of the same file where this one changed nothing."""

    price_list: PriceList
    is_new: bool


def take_list(trial: Trial, *, person: Staff, at: datetime) -> Outcome:
    """Take in what was tried. The same file again, read the same way, changes nothing and leaves no second list.

    Links to part cards stay, also where an offer is withdrawn and comes again.
    """
    try:
        with trial.waiting.under_way():
            return _take(trial, person, at)
    except FileNotFoundError as error:
        raise Refused("This file is no longer there: it was taken in or left meanwhile. Look at the lists below.") from error


@transaction.atomic
def _take(trial: Trial, person: Staff, at: datetime) -> Outcome:
    supplier = Supplier.objects.select_for_update(no_key=True).get(pk=trial.waiting.supplier)
    layout, effect = trial.layout, trial.effect
    if layout is None or not effect.taken:
        raise Refused("Not one line of this list can be taken. Check the decimal sign and the columns, and try it again.")
    _refuse_other_money(supplier, layout.currency)
    taking = _Taking(trial, supplier, layout, person, at, effect)
    taking.run()
    _remember(supplier, layout, person, at)
    earlier = PriceList.objects.filter(supplier=supplier, digest=trial.waiting.digest).first()
    if not taking.has_written and earlier is not None:
        return Outcome(earlier, False)
    return Outcome(taking.finished(), True)


@dataclass(slots=True)
class _Taking:
    """One run. The row of the list is made when the first offer needs it."""

    trial: Trial
    supplier: Supplier
    layout: Layout
    person: Staff
    at: datetime
    effect: Effect
    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys((ADDED, CHANGED, SAME, WITHDRAWN), 0))
    made: PriceList | None = None

    @property
    def has_written(self) -> bool:
        return self.made is not None

    @property
    def price_list(self) -> PriceList:
        if self.made is None:
            waiting = self.trial.waiting
            facts = {"file_name": waiting.name, "digest": waiting.digest, "currency": self.layout.currency}
            self.made = PriceList.objects.create(supplier=self.supplier, at=self.at, person=self.person, **facts)
        return self.made

    def run(self) -> None:
        tell = _teller(self.trial.waiting, "Taking it in", "The taking in was stopped. Nothing of it was kept; no offer changed.")
        known, rows = known_offers(self.supplier), []
        for seen, (how, line) in enumerate(differences(taken_lines(self.trial.lines), known, self.layout.currency)):
            self.counts[how] += 1
            if not seen % ROWS_A_STATEMENT:
                tell(seen / self.effect.taken)
            if how == SAME:
                continue
            rows.append(self._row(line))
            if len(rows) == ROWS_A_STATEMENT:
                _write(rows)
                rows = []
        _write(rows)
        if self.layout.is_whole:
            self._withdraw(missing(known, self.trial.rejects))

    def _row(self, line: Line) -> tuple[Value, ...]:
        lead = None if line.lead_days == "" else int(line.lead_days)
        return (
            *(self.supplier.pk, line.code, line.text, self.layout.currency, line.breaks, int(line.unit_milli)),
            *(int(line.pack_size), int(line.least_count), lead, True, self.price_list.pk),
            fold(f"{line.code} {line.text}")[:_LONGEST_SEARCH],
        )

    def _withdraw(self, codes: Sequence[str]) -> None:
        for start in range(0, len(codes), CODES_A_STATEMENT):
            gone = Offer.objects.filter(supplier=self.supplier, code__in=codes[start : start + CODES_A_STATEMENT])
            self.counts[WITHDRAWN] += gone.update(is_offered=False, price_list=self.price_list)

    def finished(self) -> PriceList:
        made = self.price_list
        for name, count in self.counts.items():
            setattr(made, name, count)
        made.rejected, made.rejects = self.effect.rejected, first_rejects(self.trial.rejects, REJECTS_KEPT)
        made.save()
        return made


def _write(rows: Sequence[tuple[Value, ...]]) -> None:
    """One upsert a row, in the words that both databases share: made of model objects it takes four times as long."""
    names = (*_KEY, *_WRITTEN)
    quote = connection.ops.quote_name
    sql = (
        f"INSERT INTO {quote(Offer._meta.db_table)} ({', '.join(map(quote, names))}) VALUES ({', '.join(['%s'] * len(names))}) "
        f"ON CONFLICT ({', '.join(map(quote, _KEY))}) DO UPDATE SET "
        f"{', '.join(f'{quote(name)} = EXCLUDED.{quote(name)}' for name in _WRITTEN)}"
    )
    if rows:
        with connection.cursor() as cursor:
            cursor.executemany(sql, rows)


def _remember(supplier: Supplier, layout: Layout, person: Staff, at: datetime) -> None:
    kept = layout.as_json()
    facts = {
        **{"file_kind": layout.kind, "encoding": layout.encoding, "delimiter": layout.delimiter},
        **{"decimal_sign": layout.decimal_sign, "sheet": layout.sheet[:_LONGEST_SHEET], "first_row": layout.first_row},
        **{"columns": {"meaning": kept["columns"], "price_for": layout.price_for}, "headings": kept["headings"]},
        **{"is_whole": layout.is_whole, "confirmed_at": at, "person": person},
    }
    ListLayout.objects.update_or_create(supplier=supplier, defaults=facts)
