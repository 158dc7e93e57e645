"""Asking for long work, for its stop, for another go."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from shop.access import may
from shop.acts import Refused
from shop.long_work import running
from shop.long_work.clearing import mark_lost
from shop.long_work.finding import is_lost, may_see
from shop.long_work.kinds import kind_of
from shop.models import LongWork, Staff, WorkState

MOST_WAITING = 20


@dataclass(frozen=True, slots=True)
class Asked:
    """`what` must be JSON: it is read again by the worker, and by another go."""

    kind: str
    title: str
    what: dict[str, Any] = field(default_factory=dict)


@transaction.atomic
def begin(asked: Asked, *, person: Staff, at: datetime, back: str = "") -> LongWork:
    """Writes the work down; it is taken up once the transaction is through. `back`: the page it is asked for from."""
    kind = kind_of(asked.kind)
    if kind is None or not may(person, *kind.roles):
        raise Refused("There is no such work for you to start. Load the page again.")
    if LongWork.objects.filter(person=person, state=WorkState.WAITING).count() >= MOST_WAITING:
        raise Refused(
            f"{MOST_WAITING} of your works wait already. Let them come to their end, or stop some, before you start more."
        )
    facts = {"kind": asked.kind, "title": asked.title[:160], "asked": asked.what, "back": back.replace("\0", "")[:400]}
    work = LongWork.objects.create(person=person, made_at=at, **facts)
    transaction.on_commit(running.wake)
    return work


def run_here(asked: Asked, *, person: Staff, at: datetime) -> LongWork:
    """In this process at once, as a command does, whoever else is at work; it is claimed before another can see it."""
    with transaction.atomic():
        work = begin(asked, person=person, at=at)
        running.claim(work.pk)
    return running.run_claimed(work)


@transaction.atomic
def ask_stop(work: LongWork, *, person: Staff, at: datetime) -> None:
    """What waits is stopped at once; what is under way stops at its next step."""
    _refuse_stranger(work, person)
    untouched = LongWork.objects.filter(pk=work.pk, state=WorkState.WAITING)
    said = "Stopped before it began."
    if untouched.update(state=WorkState.STOPPED, stop_asked=True, ended_at=at, message=said):
        return
    if is_lost(work, at):
        mark_lost(at)
    elif not LongWork.objects.filter(pk=work.pk, state=WorkState.RUNNING).update(stop_asked=True):
        raise Refused("This work has come to its end already.")


@transaction.atomic
def start_anew(work: LongWork, *, person: Staff, at: datetime) -> LongWork:
    """The same once more, for work that was stopped or failed."""
    _refuse_stranger(work, person)
    mark_lost(at)
    current = LongWork.objects.select_for_update().get(pk=work.pk)
    if current.state not in (WorkState.STOPPED, WorkState.FAILED):
        raise Refused("This work is under way or done. Look at the list as it stands now.")
    return begin(Asked(current.kind, current.title, current.asked), person=person, at=at, back=current.back)


def _refuse_stranger(work: LongWork, person: Staff) -> None:
    if not may_see(work, person):
        raise Refused("This is somebody else's work. The one who started it or the owner may stop it.")
