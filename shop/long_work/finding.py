"""Reading works: whose they are, which still run, which were lost with their process."""

from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from shop.models import LongWork, Staff, WorkState

# Well above the pause between two signs of life and the longest wait for the database together.
LOST_AFTER = timedelta(seconds=120)
LOST = "The program was stopped while this was under way. Start it again."
UNDER_WAY = (WorkState.WAITING, WorkState.RUNNING)


def works_of(person: Staff) -> "QuerySet[LongWork]":
    """Their own, the newest first; the owner sees everybody's."""
    works = LongWork.objects.select_related("person")
    return works if person.is_owner else works.filter(person=person)


def may_see(work: LongWork, person: Staff) -> bool:
    return person.is_owner or work.person_id == person.pk


def _silent(at: datetime) -> Q:
    """Also what was heard in a time still to come: the computer's clock was set back, and who works is heard again at once."""
    return Q(heard_at__lt=at - LOST_AFTER) | Q(heard_at__gt=at + LOST_AFTER) | Q(heard_at=None)


def lost_works(at: datetime) -> "QuerySet[LongWork]":
    return LongWork.objects.filter(_silent(at), state=WorkState.RUNNING)


def living_works(at: datetime) -> "QuerySet[LongWork]":
    return LongWork.objects.filter(state=WorkState.RUNNING, heard_at__range=(at - LOST_AFTER, at + LOST_AFTER))


def is_lost(work: LongWork, at: datetime) -> bool:
    """Nobody works on it any more, though nobody could write that down."""
    return work.state == WorkState.RUNNING and (work.heard_at is None or abs(work.heard_at - at) > LOST_AFTER)
