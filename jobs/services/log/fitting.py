"""Fits parts and takes them out: the entry and the movement of stock are one act."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction

from inventory import services as stock
from inventory.components.joining import How
from inventory.components.substitution import Answer
from inventory.models import Drawer, Lot
from inventory.queries.lots_now import lot_now
from jobs.models import Consent, EntryKind, Job, LogEntry, Position, Stage
from jobs.queries.alternatives import outside_agreed
from jobs.queries.borne import borne_on
from jobs.queries.candidates import answer_for
from jobs.queries.exposure import newest_consent, parts_in, spending_of, worked_on
from jobs.queries.making_up import answer_for_made
from jobs.queries.sheet import COUNTED, PositionState, position_state
from jobs.services.log.charging import SetPrice, charge_for, kept_price
from jobs.services.log.deciding import check_count
from jobs.services.log.writing import Author, append, check_text, locked, profile
from jobs.services.photos import lock_by_change
from shop.acts import Refused, Stale
from shop.models import Profile, Staff
from shop.money import show

FITTING_STAGES = (Stage.REPAIRING, Stage.PROVING)
# A declined set is put back as it came, so what was fitted comes out again.
TAKING_OUT_STAGES = (*FITTING_STAGES, Stage.DECLINED)


@dataclass(frozen=True, slots=True)
class Fit:
    """A part out of a drawer into a position.

    `not_charged` says why the customer doesn't pay for it; `price` is one set by hand, None for ours or the planned one.
    To override a refusal takes `override_reason` and a second person.
    """

    lot: Lot
    drawer: Drawer
    count: int = 1
    not_charged: str = ""
    price: SetPrice | None = None
    override_reason: str = ""
    override_by: Staff | None = None
    note: str = ""


@transaction.atomic
def fit(position: Position, fitting: Fit, author: Author) -> LogEntry:
    """Fit a part: log entry and stock movement are one act. Refuses what is unsafe, what isn't there and what isn't agreed."""
    job, state = locked(position, author)
    _check_stage(job)
    check_count(fitting.count, "Fit")
    lot = lot_now(fitting.lot.pk)
    return _put_in(job, state, lot, fitting, answer_for(state, lot.part, job), author)


@transaction.atomic
def fit_pair(position: Position, how: How, pair: Sequence[Fit], author: Author) -> list[LogEntry]:
    """Fit two parts that make one value together, judged as one. Each is an entry and a movement of its own, and says so."""
    job, state = locked(position, author)
    _check_stage(job)
    lots = [lot_now(fitting.lot.pk) for fitting in pair]
    made, answer = answer_for_made(state, job, how, [lot.part for lot in lots])
    half = f"half of 2 in {how} making {made.text}"
    entries = []
    for lot, fitting in zip(lots, pair, strict=True):
        noted = replace(fitting, note=f"{half}; {fitting.note}" if fitting.note else half)
        # The first part may have used up the hold that the second would look for.
        entries.append(_put_in(job, position_state(position, COUNTED), lot, noted, answer, author))
    return entries


def _put_in(job: Job, state: PositionState, lot: Lot, fitting: Fit, answer: Answer, author: Author) -> LogEntry:
    _check_override(state, fitting, answer.answer, [reason.message for reason in answer.reasons if reason.level == "no"], author)
    borne = borne_on(job).at(state.position)
    keeps = not fitting.not_charged.strip() and lot.owner_id is None
    by_hand = fitting.price or (kept_price(state.decided, lot.part, borne) if keeps else None)
    terms = Profile.current()
    charge = charge_for(lot.part, lot, by_hand, fitting.not_charged, borne, terms)
    if not charge.not_charged:
        consent = newest_consent(job)
        _check_agreed(job, state.position, consent)
        _within(job, consent, terms or profile(), charge.unit_minor * fitting.count, "part")
    hold = _hold_for(state, lot, fitting, author.at)
    movement = stock.take_in_act(
        lot,
        fitting.drawer,
        fitting.count,
        reference=job.number,
        person=author.person,
        at=author.at,
        hold=hold,
        customer_id=job.customer_id,
    )
    overridden = answer.answer == "no"
    entry = append(
        job,
        position=state.position,
        kind=EntryKind.FITTED,
        text=lot.part.title[:300],
        note=fitting.note[:300],
        part=lot.part,
        lot=lot,
        movement=movement,
        count=fitting.count,
        part_class=lot.condition,
        **charge.columns,
        answer=answer.answer,
        reasons="\n".join(reason.message for reason in answer.reasons),
        override_reason=fitting.override_reason.strip()[:300] if overridden else "",
        override_by=fitting.override_by if overridden else None,
        at=author.at,
        person=author.person,
    )
    lock_by_change(entry)
    return entry


def _check_stage(job: Job) -> None:
    if job.stage not in FITTING_STAGES:
        raise Refused(
            f"Parts are fitted while the set is on the bench; job {job.number} is at “{job.get_stage_display()}”. "
            "The job page shows which act comes next.",
            code="wrong_stage",
        )


def _check_override(state: PositionState, fitting: Fit, answer: str, refusals: list[str], author: Author) -> None:
    """A refusal stands unless somebody gives a reason and a second person stands beside it."""
    if answer != "no":
        return
    because = " ".join(refusals)
    if not fitting.override_reason.strip():
        raise Refused(
            f"{fitting.lot.part} will not do at {state.position.designator}: {because} "
            "If it must be fitted all the same, give the reason and a second person; both are printed on the job summary.",
            field="override_reason",
            code="unsuitable",
        )
    if fitting.override_by is None or fitting.override_by.pk == author.person.pk:
        raise Refused("An override needs a second person, not the one who fits the part.", field="override_by", code="unsuitable")


def _hold_for(state: PositionState, lot: Lot, fitting: Fit, at: datetime) -> stock.LockedHold | None:
    """The hold made by the decision: used when this very lot is fitted, let go when another one is."""
    decided = state.decided
    if decided is None or decided.hold_id is None:
        return None
    kept = stock.locked_hold(decided.hold_id)
    held = kept.hold
    if not held.is_open:
        return None
    if held.lot_id == lot.pk and held.drawer_id == fitting.drawer.pk and held.count == fitting.count:
        return kept
    stock.release_hold(kept, at=at)
    return None


def _check_agreed(job: Job, position: Position, consent: Consent | None) -> None:
    """Room below the agreed sum is no leave for work that the customer saw and didn't choose."""
    name = outside_agreed(position, consent)
    if name:
        raise Refused(
            f"{position.designator} is not in the alternative agreed to, “{name}”. Revise the estimate and get the customer's "
            "consent, or enter it as not charged with a reason.",
            code="over_ceiling",
        )


def guard(job: Job, amount_minor: int, what: str) -> None:
    """Nothing above the agreed sum and the shop's written allowance."""
    _within(job, newest_consent(job), profile(), amount_minor, what)


def _within(job: Job, consent: Consent | None, terms: Profile, amount_minor: int, what: str) -> None:
    parts = [fit.price_minor for fit in parts_in(job)]
    worked = [entry.billed_minor for entry in worked_on(job)]
    (worked if what == "labour" else parts).append(amount_minor)
    after = spending_of(job, terms, consent, parts, worked)
    if after.spent_minor <= after.ceiling_minor:
        return
    ceiling, spent = (
        show(after.ceiling_minor, terms.currency, terms.locale),
        show(after.spent_minor, terms.currency, terms.locale),
    )
    agreed = "Nothing has been agreed yet" if consent is None else f"{ceiling} is agreed (with the shop's allowance)"
    raise Refused(
        f"{agreed}, and with this {what} the job would stand at {spent}. Revise the estimate and get the customer's consent, "
        "or enter it as not charged with a reason.",
        code="over_ceiling",
    )


@transaction.atomic
def take_out(entry: LogEntry, reason: str, author: Author, *, scrap: bool) -> LogEntry:
    """A fitted part comes out again: back to its lot and drawer, or scrapped, with a reason."""
    if entry.position is None:
        raise Refused("This entry isn't a fitted part.")
    job, state = locked(entry.position, author)
    if job.stage not in TAKING_OUT_STAGES:
        _check_stage(job)
    cleaned = check_text(reason, "reason", "why the part comes out", 200)
    current = next((fit for fit in state.fitted if fit.pk == entry.pk), None)
    if current is None or current.movement is None:
        raise Stale(
            f"{entry.text} is no longer in {entry.position.designator}: somebody took it out already. Load the sheet again."
        )
    back = stock.put_back(current.movement, reason=cleaned, reference=job.number, person=author.person, at=author.at)
    if scrap:
        stock.scrap(back.lot, back.drawer, back.count, reason=cleaned, person=author.person, at=author.at, reference=job.number)
    out = append(
        job,
        position=entry.position,
        kind=EntryKind.TAKEN_OUT,
        text=entry.text,
        note=cleaned,
        part=current.part,
        lot=current.lot,
        movement=back,
        count=current.count,
        takes_out=current,
        scrapped=scrap,
        at=author.at,
        person=author.person,
    )
    lock_by_change(out)
    return out
