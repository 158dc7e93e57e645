"""Lists of the bench as files, where the page is no table of django-tables2: headings with what reads each cell."""

from collections.abc import Iterable

from django.db.models import QuerySet

from jobs.models import LogEntry, Reforming
from jobs.queries.bad_lots import BadLots
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


def bad_lots_sheet(found: Iterable[BadLots], currency: str) -> Sheet:
    columns: Columns = (
        ("Lots", lambda one: ", ".join(str(lot.pk) for lot in one.lots)),
        ("Part", lambda one: one.first.lot.part.title),
        ("Supplier", lambda one: one.first.lot.supplier),
        ("Date code", lambda one: one.first.lot.date_code),
        ("What is wrong", lambda one: one.first.why),
        ("Found", lambda one: one.first.at),
        ("Found by", lambda one: one.first.person),
        ("Lifted", lambda one: one.first.lifted_at),
        ("Sets it is in", lambda one: len(one.in_sets)),
        ("Of these dangerous", lambda one: one.dangerous),
        ("Letters to send", lambda one: len(one.to_tell)),
        ("Still in the drawers", lambda one: one.lying.on_hand),
        ("At risk", lambda one: amount(one.at_risk_minor, currency)),
        ("Currency", lambda one: currency),
    )
    return sheet_of("bad-lots", columns, found)


def bad_lot_sheet(found: BadLots, currency: str) -> Sheet:
    columns: Columns = (
        ("Risk", lambda one: one.risk.word),
        ("What may happen", lambda one: one.risk.words),
        ("Set", lambda one: one.job.radio),
        ("Serial number", lambda one: one.job.radio.serial),
        ("Job", lambda one: one.job.number),
        ("Position", lambda one: one.designator),
        ("Lot", lambda one: one.entry.lot_id),
        ("Count", lambda one: one.entry.count),
        ("Fitted", lambda one: one.entry.at),
        ("Where it is", lambda one: one.standing[1]),
        ("Owner", lambda one: one.owner.name),
        ("Telephone", lambda one: one.owner.phone),
        ("E-mail", lambda one: one.owner.email),
        ("Warranty until", lambda one: one.cover_until_on),
        ("Letter sent", lambda one: one.letter and one.letter.sent_on),
        ("Answer", lambda one: one.answer and one.answer.answer),
        ("At risk", lambda one: amount(one.at_risk_minor, currency)),
        ("Currency", lambda one: currency),
    )
    return sheet_of(f"bad-lot-{found.first.lot_id}", columns, found.sets)
