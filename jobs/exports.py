"""Lists of the bench as files, where the page is no table of django-tables2: headings with what reads each cell."""

from django.db.models import QuerySet

from jobs.models import LogEntry, Reforming
from jobs.queries.reforming import Run, runs
from shop.money import amount, fine_amount
from shop.tabular import Sheet
from shop.web.saving import Columns, in_batches, sheet_of

REFORMINGS: Columns = (
    ("Capacitor", lambda one: one.reforming.marking),
    ("Position", lambda one: one.reforming.position and one.reforming.position.designator),
    ("Job", lambda one: one.reforming.position and one.reforming.position.job.number),
    ("Lot", lambda one: one.reforming.lot_id),
    ("Begun", lambda one: one.reforming.started_at),
    ("Begun by", lambda one: one.reforming.started_by),
    ("Ended", lambda one: one.reforming.ended_at),
    ("Came to", lambda one: one.reforming.get_outcome_display() if one.reforming.ended_at else ""),
    ("How it stands", lambda one: one.standing.sentence),
)


def hand_prices_sheet(entries: "QuerySet[LogEntry]", currency: str) -> Sheet:
    columns: Columns = (
        ("Part", lambda one: one.text),
        ("Position", lambda one: one.position.designator),
        ("Job", lambda one: one.job.number),
        ("Count", lambda one: one.count),
        ("Cost each", lambda one: fine_amount(one.lot.unit_cost_milli, currency)),
        ("Ours, each", lambda one: amount(one.usual_price_minor, currency)),
        ("Set, each", lambda one: amount(one.unit_price_minor, currency)),
        ("Currency", lambda one: currency),
        ("Why", lambda one: one.price_reason),
        ("Who", lambda one: one.person),
        ("When", lambda one: one.at),
        ("Taken out again", lambda one: bool(one.taken_out_by)),
    )
    return sheet_of("prices-by-hand", columns, in_batches(entries))


def reformings_sheet() -> Sheet:
    return sheet_of(
        "reforming", REFORMINGS, (_run(one) for is_open in (True, False) for one in in_batches(runs(is_open=is_open)))
    )


def _run(one: Reforming) -> Run:
    return Run(one, sorted(one.readings.all(), key=lambda reading: reading.seq))  # type: ignore[attr-defined]
