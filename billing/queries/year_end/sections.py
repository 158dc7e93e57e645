"""The year's end as sections of rows that add up, for page, paper and file alike."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from billing.queries.ageing import COLUMNS, TO_GIVE_BACK
from billing.queries.year_end.closing import YearEnd
from billing.queries.year_end.held import Held
from billing.queries.year_end.wip import OpenJob
from inventory.valuation import coins
from jobs.models import Stage
from shop.paper.wording import show_lasting
from shop.totals import share_out

THERE, OWED, TOLD = "there", "owed", "told"


@dataclass(frozen=True, slots=True)
class Row:
    """`link` is the name of an address with its key, where the row leads somewhere."""

    text: str
    minor: int
    detail: str = ""
    link: tuple[str, int] | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """`side`: it was there, it was owed, or it is told beside the sums. The rows add up to `total_minor`."""

    key: str
    title: str
    side: str
    note: str
    rows: tuple[Row, ...]
    empty: str

    @property
    def total_minor(self) -> int:
        return sum(row.minor for row in self.rows)


def side_total(sections: Iterable[Section], side: str) -> int:
    return sum(one.total_minor for one in sections if one.side == side)


def sections_of(end: YearEnd) -> tuple[Section, ...]:
    return (
        _stock(end),
        _wip(end),
        _receivables(end),
        _held("deposits", "Deposits held", end.deposits, "Taken, and neither set off on a bill nor given back by then."),
        _to_give_back(end),
        _held("surplus", "Held for owners of sold sets", end.surplus, "What a sale brought above what was owed is theirs."),
        _reserve(end),
        _tax(end),
        _supplier_claims(end),
    )


def _stock(end: YearEnd) -> Section:
    """Rounded once as a whole and shared out, so that the kinds add up."""
    kinds, total = end.stock.kinds, end.stock.total
    shared = share_out(coins(total.taken_milli), [one.worth.taken_milli for one in kinds])
    rows = [Row(one.label, minor, _stock_words(end, one.worth)) for one, minor in zip(kinds, shared, strict=True)]
    note = "Lot by lot the lower of cost and what it would fetch (IAS 2, paragraphs 9 and 28 to 33)."
    return Section("stock", "Stock", THERE, note, tuple(rows), "Nothing lay in the drawers.")


def _stock_words(end: YearEnd, worth: Any) -> str:
    pieces = f"{worth.on_hand} piece{'' if worth.on_hand == 1 else 's'}"
    cost = f", cost {end.show(coins(worth.cost_milli))}" if worth.is_below_cost else ""
    return f"{pieces}{cost}"


def _wip(end: YearEnd) -> Section:
    rows = [
        Row(f"{one.job.number}, {one.job.radio.model}", one.taken_minor, _wip_words(end, one), ("billing:job_profit", one.job.pk))
        for one in end.wip
    ]
    note = (
        "Open jobs that stood on no bill: parts in the set and hours at cost, no more than was agreed to by then, without tax "
        "(IAS 2, paragraphs 9, 12 and 31)."
    )
    return Section(
        "wip", "Work in progress", THERE, note, tuple(rows), "No open job had parts or hours in it that weren't billed."
    )


def _wip_words(end: YearEnd, one: OpenJob) -> str:
    spent = f"parts {end.show(one.parts_minor)}, {show_lasting(one.minutes)} {end.show(one.work_minor)}"
    agreed = f"agreed {end.show(one.agreed_minor)}" if one.agreed_minor else "nothing agreed yet to be paid"
    return f"{Stage(one.stage).label}; {spent}; {agreed}"


def _aged(end: YearEnd) -> list[tuple[str, int]]:
    row = next((one for one in end.aged.totals() if one.currency == end.currency), None)
    return row.columns() if row else []


def _receivables(end: YearEnd) -> Section:
    rows = [Row(name, minor) for name, minor in _aged(end)[:TO_GIVE_BACK] if minor]
    other = ", ".join(f"{one.total_minor} in {one.currency}" for one in end.aged.totals() if one.currency != end.currency)
    note = "Bills that weren't settled, with their tax."
    if other:
        note += " Bills in other money are in the list of how late money is."
    return Section("owed", "Owed by customers", THERE, note, tuple(rows), "Every bill was settled.")


def _to_give_back(end: YearEnd) -> Section:
    rows = [Row(name, -minor) for name, minor in _aged(end)[TO_GIVE_BACK:] if minor]
    note = "Paid above what bills came to, or left after a credit note."
    return Section("back", f"{COLUMNS[TO_GIVE_BACK]} to customers", OWED, note, tuple(rows), "Nothing was to be given back.")


def _held(key: str, title: str, held: Sequence[Held], note: str) -> Section:
    rows = [Row(f"{one.job.number}, {one.job.customer}", one.minor, one.text, ("billing:job_money", one.job.pk)) for one in held]
    return Section(key, title, OWED, note, tuple(rows), "Nothing was held.")


def _reserve(end: YearEnd) -> Section:
    found = end.reserve
    detail = f"between {end.show(found.low_minor)} and {end.show(found.high_minor)} in 80 of 100 cases"
    if not found.high_minor:
        detail = "nothing in at least 90 of 100 cases; the expected sum is for the rest"
    rows = (Row("What open warranties may still cost", found.expected_minor, detail),) if found.n_open else ()
    note = f"The expected value of many small duties (IAS 37, paragraphs 36 to 40). {found.words}"
    return Section("reserve", "Reserve for warranties", OWED, note, rows, "No warranty ran.")


def _tax(end: YearEnd) -> Section:
    rows = [
        Row(f"{one.category_words}, {one.rate_bp / 100:g} %", one.tax_minor, f"on {end.show(one.taxable_minor)}")
        for one in end.tax.rows
        if one.currency == end.currency
    ]
    note = f"Tax of {end.period.words}, by the papers issued: bills less credit notes. What was paid over isn't known here."
    return Section("tax", "Tax of the year", TOLD, note, tuple(rows), "No paper was issued in that year.")


def _supplier_claims(end: YearEnd) -> Section:
    rows = [
        Row(f"{one.claim.supplier}: {one.claim.lot.part}", one.open_minor, one.last.get_kind_display(), None)  # type: ignore[attr-defined]
        for one in end.supplier_claims
    ]
    note = (
        "Claimed back and not answered yet, at cost. Not counted: it is an asset once it is all but sure (IAS 37, paragraph 53)."
    )
    return Section("claims", "Claims on suppliers", TOLD, note, tuple(rows), "No claim on a supplier was open.")
