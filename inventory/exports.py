"""Lists of the drawers as files, where the page is no table of django-tables2: headings with what reads each cell."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from inventory.models import Drawer, Offer, PriceList, Supplier
from inventory.queries.counts import Booked, counts, with_variances
from inventory.queries.drawers import cabinets, pictured
from inventory.queries.individuals import individuals, shown
from inventory.queries.turning import DeadLot, StockTurns
from shop.money import fine_amount
from shop.tabular import Sheet
from shop.web.saving import Columns, batches_of, in_batches, sheet_of

VALVES: Columns = (
    ("Mark", lambda one: one.lot.mark),
    ("Type", lambda one: one.lot.part.marking),
    ("Class", lambda one: one.lot.get_condition_display()),
    ("Date code", lambda one: one.lot.date_code),
    ("Drawer", lambda one: one.lying.drawer.code if one.lying else ""),
    ("Tested on", lambda one: one.last_test and one.last_test.tested_on),
    ("Verdict", lambda one: one.last_test and one.last_test.get_verdict_display()),
    ("Tester", lambda one: one.last_test and one.last_test.tester_name),
    ("Matched with", lambda one: ", ".join(one.mates)),
    ("Supplier", lambda one: one.lot.supplier),
)
DRAWERS: Columns = (
    ("Drawer", lambda one: one.code),
    ("Cabinet", lambda one: one.cabinet),
    ("Tray", lambda one: one.tray),
    ("Compartment", lambda one: one.compartment),
    ("Kinds of part", lambda one: one.part_kinds),
    ("Pieces", lambda one: one.pieces),
    ("What lies there", lambda one: ", ".join(one.front)),
)
OFFERS: Columns = (
    ("Order code", lambda one: one.code),
    ("Description", lambda one: one.text),
    ("Price of one", lambda one: fine(one.unit_milli, one.currency)),
    ("Prices by count", lambda one: "; ".join(f"from {count}: {fine(milli, one.currency):f}" for count, milli in one.breaks)),
    ("Currency", lambda one: one.currency),
    ("Pack of", lambda one: one.pack_size),
    ("Smallest count", lambda one: one.least_count),
    ("Days to arrive", lambda one: one.lead_days),
    ("Offered", lambda one: one.is_offered),
    ("Our card", lambda one: one.part and one.part.title),
)
PRICE_LISTS: Columns = (
    ("File", lambda one: one.file_name),
    ("Taken in", lambda one: one.at),
    ("Who", lambda one: one.person),
    ("Currency", lambda one: one.currency),
    ("New", lambda one: one.added),
    ("Changed", lambda one: one.changed),
    ("Same", lambda one: one.same),
    ("No longer offered", lambda one: one.withdrawn),
    ("Rejected", lambda one: one.rejected),
)


def fine(milli: int | Fraction, currency: str) -> Decimal:
    """A sum of fractions is rounded to thousandths of the smallest coin."""
    return fine_amount(round(milli), currency)


def valves_sheet(text: str, *, gone: bool) -> Sheet:
    return sheet_of("valves", VALVES, (one for some in batches_of(individuals(text, gone=gone)) for one in shown(some)))


def drawers_sheet() -> Sheet:
    drawers: list[Drawer] = [drawer for cabinet in cabinets() for drawer in cabinet.drawers]
    pictured(drawers, {})
    return sheet_of("drawers", DRAWERS, drawers)


def offers_sheet(supplier: Supplier, offers: Any) -> Sheet:
    rows: Iterator[Offer] = in_batches(offers.select_related("part").order_by("code"))
    return sheet_of(f"offers-{supplier.pk}", OFFERS, rows)


def price_lists_sheet(supplier: Supplier, lists: Iterable[PriceList]) -> Sheet:
    return sheet_of(f"price-lists-{supplier.pk}", PRICE_LISTS, lists)


def counts_sheet(currency: str, *, with_cost: bool) -> Sheet:
    """Whoever sees no cost on the page sees none in the file."""
    columns: list[Any] = [
        ("Drawer", lambda one: one.count.drawer.code),
        ("State", lambda one: "Booked" if one.count.booked_at else "Entered" if one.count.counted_at else "To be counted"),
        ("Begun", lambda one: one.count.opened_at),
        ("Begun by", lambda one: one.count.opened_by),
        ("Booked", lambda one: one.count.booked_at),
        ("Booked by", lambda one: one.count.booked_by),
        ("Lots", lambda one: one.lots),
        ("Differing", lambda one: one.differing if one.count.booked_at else None),
    ]
    if with_cost:
        columns += [
            ("At cost", lambda one: fine(one.worth_milli, currency) if one.count.booked_at else None),
            ("Currency", lambda one: currency),
        ]
    rows: Iterator[Booked] = (one for some in batches_of(counts()) for one in with_variances(some))
    return sheet_of("counts", columns, rows)


def turns_sheet(found: StockTurns, currency: str) -> Sheet:
    columns: Columns = (
        ("Part", lambda one: one.part.title),
        ("Kind", lambda one: one.part.get_kind_display()),
        ("Cost of parts fitted", lambda one: fine(one.turning.fitted_milli, currency)),
        ("Average stock", lambda one: fine(one.turning.average_milli, currency)),
        ("Turns", lambda one: None if one.turning.turns is None else Decimal(f"{float(one.turning.turns):.2f}")),
        ("Currency", lambda one: currency),
    )
    return sheet_of(f"turns-{found.first}-{found.last}", columns, found.parts)


def dead_sheet(lots: list[DeadLot], currency: str) -> Sheet:
    columns: Columns = (
        ("Lot", lambda one: one.lot.pk),
        ("Part", lambda one: one.lot.part.title),
        ("Came in", lambda one: one.lot.received_on),
        ("On hand", lambda one: one.on_hand),
        ("At cost", lambda one: fine(one.cost_milli, currency)),
        ("Currency", lambda one: currency),
        ("Age in days", lambda one: one.age_days),
        ("Last fitted", lambda one: one.last_fitted_on),
        ("Can go back until", lambda one: one.lot.return_until_on if one.can_go_back else None),
        ("Supplier", lambda one: one.lot.supplier),
        ("Blocked", lambda one: one.lot.blocked_reason),
    )
    return sheet_of("dead-stock", columns, lots)
