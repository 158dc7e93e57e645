"""Notices to owners of sets that nobody collects, proof that they arrived, disputes: their only writer."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils import timezone

from jobs.models import CollectionNotice, DisputeStep, Job, NoticeKind, NoticeService, ServiceKind
from jobs.queries.collection import Clock, clock_of, uncollected
from jobs.services.log import profile
from jobs.services.stages import open_job
from shop.acts import Refused, Stale
from shop.jurisdictions import CHECK
from shop.models import Staff
from shop.place import rules_of


@dataclass(frozen=True, slots=True)
class Notice:
    """A notice as it went out. `undisputed`: nobody disputes what is owed; `checked`: the current text was looked at."""

    kind: str
    sent_on: date
    how: str
    to_whom: str
    names_day_on: date | None = None
    note: str = ""
    undisputed: bool = False
    checked: bool = False


@transaction.atomic
def record_notice(job: Job, notice: Notice, *, person: Staff, at: datetime, seen: int | None = None) -> CollectionNotice:
    """Write a notice down. One that the rules of the place don't allow yet is refused: nobody shall rely on it.

    `seen`: how many notices stood on the page. Where the place's rule is remembered only, `checked` goes past it.
    """
    current = open_job(job)
    waiting = _waiting(current)
    if seen is not None and seen != current.notices.count():  # type: ignore[attr-defined]
        raise Stale("Somebody else wrote a notice down since you opened this page. Look at it, then send yours again.")
    clock = clock_of(waiting, rules_of(profile()).uncollected, timezone.localdate(at))
    _check(notice, clock)
    return CollectionNotice.objects.create(
        job=current,
        kind=notice.kind,
        sent_on=notice.sent_on,
        how=notice.how.strip()[:80],
        to_whom=notice.to_whom.strip()[:300],
        names_day_on=notice.names_day_on,
        note=notice.note.strip()[:300],
        at=at,
        person=person,
    )


def _waiting(job: Job) -> Job:
    found = uncollected().filter(pk=job.pk).first()
    if found is None:
        raise Refused(f"Job {job.number} isn't ready to collect, so there is nobody to remind.", code="wrong_stage")
    return found


@transaction.atomic
def record_service(
    notice: CollectionNotice, kind: str, on: date, proof: str, *, person: Staff, at: datetime, seen: int | None = None
) -> NoticeService:
    """Write down what proves that a notice went out or arrived, or came back. `seen`: how many proofs the page showed."""
    open_job(notice.job)
    if seen is not None and seen != notice.service.count():  # type: ignore[attr-defined]
        raise Stale("Somebody else wrote down how this notice went since you opened the page. Look, then send yours again.")
    if kind not in ServiceKind.values:
        raise Refused("Choose what happened to the notice.", field="kind")
    if not notice.sent_on <= on <= timezone.localdate(at):
        raise Refused(f"The day lies between {notice.sent_on:%d %B %Y}, when it was sent, and today.", field="on")
    if not proof.strip():
        raise Refused("Write the number of the receipt, who signed, or where it was published.", field="proof")
    return NoticeService.objects.create(notice=notice, kind=kind, on=on, proof=proof.strip()[:160], at=at, person=person)


@transaction.atomic
def record_dispute(
    job: Job, opens: bool, text: str, on: date, *, person: Staff, at: datetime, seen: int | None = None
) -> DisputeStep:
    """The customer disputes what is owed, or that is settled. `seen`: how many such steps stood on the page."""
    current = open_job(job)
    if seen is not None and seen != current.dispute_steps.count():  # type: ignore[attr-defined]
        raise Stale("Somebody else wrote about the dispute since you opened this page. Look at it, then send yours again.")
    last = current.dispute_steps.order_by("-pk").first()  # type: ignore[attr-defined]
    if opens == bool(last and last.opens):
        raise Refused("It is disputed already." if opens else "Nothing is disputed that could be settled.", code="no_change")
    if not text.strip():
        raise Refused("Say what is disputed." if opens else "Say how it was settled.", field="text")
    if on > timezone.localdate(at) or (last is not None and on < last.on):
        raise Refused("The day isn't ahead, and not before the last step of the dispute.", field="on")
    return DisputeStep.objects.create(job=current, opens=opens, text=text.strip()[:300], on=on, at=at, person=person)


def _check(notice: Notice, clock: Clock) -> None:
    if notice.kind not in NoticeKind.values:
        raise Refused("Choose what kind of notice it was.", field="kind")
    if notice.sent_on > clock.day:
        raise Refused("The day it was sent lies ahead. Write a notice down once it is out.", field="sent_on")
    if notice.sent_on < clock.ready_on:
        raise Refused(f"The set wasn't ready before {clock.ready_on:%d %B %Y}.", field="sent_on")
    if not notice.how.strip():
        raise Refused("Say how it was sent.", field="how")
    if not notice.to_whom.strip():
        raise Refused("Write the name and address it went to.", field="to_whom")
    if notice.kind == NoticeKind.SALE:
        _check_sale(notice, clock)
    elif notice.names_day_on is not None and notice.names_day_on <= notice.sent_on:
        raise Refused("The day it names lies after the day it was sent.", field="names_day_on")


def _check_sale(notice: Notice, clock: Clock) -> None:
    rule = clock.rule
    if clock.is_stopped:
        raise Refused(
            f"What is owed is disputed, and no notice of sale goes out before that is settled ({rule.source.citation}).",
            field="kind",
            code="disputed",
        )
    if notice.names_day_on is None:
        raise Refused("A notice of sale names the day. Write it down.", field="names_day_on")
    if notice.names_day_on <= notice.sent_on:
        raise Refused("The day it names lies after the day it was sent.", field="names_day_on")
    if rule.disputed_stops and not notice.undisputed:
        raise Refused(
            f"No sale while what is owed is disputed ({rule.source.citation}). Settle it, or tick that nobody disputes it.",
            field="undisputed",
        )
    for field, words in _too_early(notice, clock):
        if rule.source.origin == "memory" and notice.checked:
            continue
        way_out = " Look at the current text, then tick that you did." if rule.source.origin == "memory" else ""
        raise Refused(f"{words} ({rule.source.citation}; {rule.source.note}).{way_out or f' {CHECK.capitalize()}.'}", field=field)


def _too_early(notice: Notice, clock: Clock) -> list[tuple[str, str]]:
    """(field, words) of what the place's rule has against a notice of sale."""
    rule, earliest = clock.rule, notice.sent_on + timedelta(days=clock.rule.notice_days)
    first = clock.last(NoticeKind.COLLECT)
    found = []
    if NoticeKind.COLLECT in rule.kinds and (first is None or first.sent_on > notice.sent_on):
        found.append(("kind", "A notice to collect comes first"))
    if notice.sent_on < clock.sale_notice_from_on:
        found.append(("sent_on", f"A notice of sale may go out from {clock.sale_notice_from_on:%d %B %Y}"))
    if notice.names_day_on is not None and notice.names_day_on < earliest:
        found.append(("names_day_on", f"The day it names may be {earliest:%d %B %Y} at the earliest"))
    return found
