"""Private addresses that calendar programs read without signing in: made, shown once, revoked. Only a digest is kept of each."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from shop.acts import Refused, Stale
from shop.models import CalendarLink, Staff
from shop.private_tokens import digest_of, is_token, new_token

MOST_LINKS = 20
# Long enough that no telephone falls silent within a season, short enough that a forgotten one does so some day.
GOOD_FOR = timedelta(days=365)
RENEWED_FROM = timedelta(days=60)
# A calendar program asks every few minutes; a write each time would tell nobody more.
READ_NOTED_EVERY = timedelta(hours=1)


def links_of(person: Staff) -> "QuerySet[CalendarLink]":
    return CalendarLink.objects.filter(person=person)


def ends_at(link: CalendarLink) -> datetime:
    """When it runs out. A link made before links ran out has no such moment written on it."""
    return link.expires_at or link.made_at + GOOD_FOR


def open_links(at: datetime) -> "QuerySet[CalendarLink]":
    """Neither revoked nor run out, of people who still work here."""
    stands = Q(expires_at__gt=at) | Q(expires_at=None, made_at__gt=at - GOOD_FOR)
    return CalendarLink.objects.filter(stands, revoked_at=None, person__is_active=True)


@transaction.atomic
def make_link(name: str, *, person: Staff, at: datetime) -> str:
    """The token, which is given back once and never again."""
    if not name.strip():
        raise Refused("Write which device or program will read it, so that you can tell the links apart.", field="name")
    if open_links(at).filter(person=person).count() >= MOST_LINKS:
        raise Refused(f"You have {MOST_LINKS} open links already. Revoke those that nothing reads any more.")
    token = new_token()
    CalendarLink.objects.create(
        person=person, name=name.strip()[:80], token_digest=digest_of(token), made_at=at, expires_at=at + GOOD_FOR
    )
    return token


@transaction.atomic
def revoke(link: CalendarLink, *, at: datetime) -> None:
    """From now on it leads nowhere."""
    CalendarLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=at)


@transaction.atomic
def restore(link: CalendarLink, *, at: datetime) -> None:
    """The undoing of `revoke`: whoever knows the address may read again. What ran out meanwhile stays dead."""
    current = CalendarLink.objects.select_for_update().get(pk=link.pk)
    if ends_at(current) <= at:
        raise Stale(f"The link for “{current.name}” can't be let in again. Make a new one below.")
    current.revoked_at = None
    current.save(update_fields=["revoked_at"])


@transaction.atomic
def renew(link: CalendarLink, *, at: datetime) -> datetime:
    """Good for another year from now; gives the new end. A revoked one stays revoked."""
    current = CalendarLink.objects.select_for_update().get(pk=link.pk)
    if current.revoked_at is not None:
        raise Stale(f"The link for “{current.name}” was revoked. Make a new one below.")
    current.expires_at = at + GOOD_FOR
    current.save(update_fields=["expires_at"])
    return current.expires_at


@transaction.atomic
def end_links(person: Staff, *, at: datetime) -> int:
    """For good, as after a new password or when somebody leaves: what ran out can't be let in again. Gives how many."""
    return links_of(person).filter(revoked_at=None).update(revoked_at=at, expires_at=at)


def link_of(token: str, at: datetime) -> CalendarLink | None:
    """The open link of a token, if who made it still works here."""
    if not is_token(token):
        return None
    return open_links(at).select_related("person").filter(token_digest=digest_of(token)).first()


@dataclass(frozen=True, slots=True)
class Standing:
    """A link as its person sees it. `state` is open, ran out or revoked; `is_ending`: within two months, or ended already."""

    link: CalendarLink
    state: str
    ends_at: datetime
    is_ending: bool


def standings(person: Staff, at: datetime) -> list[Standing]:
    return [_standing(link, at) for link in links_of(person)]


def _standing(link: CalendarLink, at: datetime) -> Standing:
    ends = ends_at(link)
    state = "revoked" if link.revoked_at is not None else "ran out" if ends <= at else "open"
    return Standing(link, state, ends, state != "revoked" and ends - at <= RENEWED_FROM)


def note_read(link: CalendarLink, *, at: datetime) -> None:
    if link.read_at is None or at - link.read_at >= READ_NOTED_EVERY:
        CalendarLink.objects.filter(pk=link.pk).update(read_at=at)
