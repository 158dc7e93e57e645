"""Writes what becomes of a position: leave in, replace, repair, remove; a plan holds its part."""

from dataclasses import dataclass

from django.db import transaction

from inventory import services as stock
from inventory.models import Drawer, Hold, Lot, Part
from jobs.models import Decision, EntryKind, Job, LogEntry, Position, Verdict
from jobs.queries.borne import borne_on
from jobs.services.log.charging import Charge, SetPrice, charge_for
from jobs.services.log.writing import Author, append, correcting, locked
from shop.acts import Refused

MOST_A_POSITION = 20


def check_count(count: int, what: str) -> None:
    if not 1 <= count <= MOST_A_POSITION:
        raise Refused(f"{what} between 1 and {MOST_A_POSITION} parts for a position.", field="count")


@dataclass(frozen=True, slots=True)
class Plan:
    """What to put in: a part, how many, and, to keep it for this job, the lot and drawer it lies in. `price`: one set by hand."""

    part: Part
    count: int = 1
    lot: Lot | None = None
    drawer: Drawer | None = None
    price: SetPrice | None = None


@transaction.atomic
def decide(
    position: Position,
    decision: str,
    author: Author,
    *,
    why: str = "",
    plan: Plan | None = None,
    corrects: LogEntry | None = None,
) -> LogEntry:
    """Leave in, replace, repair in place, remove. A plan holds the part in its drawer and gives the estimate its price."""
    job, state = locked(position, author)
    if decision not in Decision.values:
        raise Refused("Choose a decision from the list.", field="decision")
    if plan is not None and decision != Decision.REPLACE:
        raise Refused("A part is planned only where the decision is to replace.", field="decision")
    if decision == Decision.KEEP and state.verdict not in (Verdict.WITHIN, Verdict.NOT_MEASURED) and not why.strip():
        raise Refused(f"The verdict is “{state.verdict_label}”. Say why the part stays in.", field="why")
    previous = state.decided
    if previous is not None and previous.hold is not None and previous.hold.is_open:
        stock.release_hold(previous.hold, at=author.at)
    held, charge = _plan(plan, job, position, author)
    return append(
        job,
        position=position,
        kind=EntryKind.DECIDED,
        corrects=correcting(state, corrects, (EntryKind.DECIDED,)),
        decision=decision,
        note=why.strip()[:300],
        part=plan.part if plan else None,
        count=plan.count if plan else 1,
        hold=held,
        **(charge.columns if charge else {}),
        at=author.at,
        person=author.person,
    )


def _plan(plan: Plan | None, job: Job, position: Position, author: Author) -> tuple[Hold | None, Charge | None]:
    if plan is None:
        return None, None
    check_count(plan.count, "Plan")
    lot = plan.lot or plan.part.lots.filter(owner=None).order_by("-received_on", "-pk").first()
    charge = charge_for(plan.part, lot, plan.price, borne=borne_on(job).at(position))
    if plan.lot is None or plan.drawer is None:
        return None, charge
    held = stock.hold(
        plan.lot,
        plan.drawer,
        plan.count,
        reference=job.number,
        person=author.person,
        at=author.at,
        customer_id=job.customer_id,
    )
    return held, charge
