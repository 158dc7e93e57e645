"""Plans that are written again at today's terms, once it is decided what the shop bears itself."""

from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from jobs.models import Decision, Job, LogEntry
from jobs.queries.borne import BORNE_BY_US, Share, borne_on
from jobs.queries.sheet import PositionState, sheet_of
from jobs.services.log.charging import kept_price
from jobs.services.log.deciding import Plan, decide
from jobs.services.log.writing import Author
from shop.models import Staff


@transaction.atomic
def plan_anew(job: Job, positions: Collection[int | None], *, person: Staff, at: datetime) -> list[LogEntry]:
    """Each part that is planned and not fitted yet at one of these positions is priced anew; what it is and its hold stay.

    A billed log stands still, and what is fitted keeps the price it was fitted at.
    """
    if job.billed:
        return []
    borne, author = borne_on(job), Author(person, at)
    rows = [row for row in sheet_of(job).rows if row.position.pk in positions and row.to_fit]
    planned = [row for row in rows if row.decided is not None and row.decided.part is not None]
    entries = [_again(row, borne.at(row.position), author) for row in planned]
    if entries:
        job.refresh_from_db()
    return entries


def _again(row: PositionState, borne: Share | None, author: Author) -> LogEntry:
    """Parts of a lot that was found bad meanwhile are held no longer."""
    decided = row.decided
    assert decided is not None
    assert decided.part is not None
    held = decided.hold if decided.hold is not None and decided.hold.is_open and not decided.hold.lot.blocked_reason else None
    price = None if BORNE_BY_US in decided.price_reason else kept_price(decided, decided.part, borne)
    plan = Plan(decided.part, decided.count, held.lot if held else None, held.drawer if held else None, price)
    return decide(row.position, Decision.REPLACE, author, why=decided.note, plan=plan)
