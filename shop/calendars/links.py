"""Private addresses that calendar programs read without signing in: made, shown once, revoked. Only a digest is kept of each."""

import hashlib
import re
import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import QuerySet

from shop.acts import Refused
from shop.models import CalendarLink, Staff

# 256 bits, so that no address can be guessed.
TOKEN_BYTES = 32
_TOKEN = re.compile(r"[A-Za-z0-9_-]{43}", re.ASCII)
MOST_LINKS = 20
# A calendar program asks every few minutes; a write each time would tell nobody more.
READ_NOTED_EVERY = timedelta(hours=1)


def digest_of(token: str) -> str:
    """SHA-256, in hexadecimal: a random token of full length needs no slow hash."""
    return hashlib.sha256(token.encode()).hexdigest()


def links_of(person: Staff) -> "QuerySet[CalendarLink]":
    return CalendarLink.objects.filter(person=person)


@transaction.atomic
def make_link(name: str, *, person: Staff, at: datetime) -> str:
    """The token, which is given back once and never again."""
    if not name.strip():
        raise Refused("Write which device or program will read it, so that you can tell the links apart.", field="name")
    if links_of(person).filter(revoked_at=None).count() >= MOST_LINKS:
        raise Refused(f"You have {MOST_LINKS} open links already. Revoke those that nothing reads any more.")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    CalendarLink.objects.create(person=person, name=name.strip()[:80], token_digest=digest_of(token), made_at=at)
    return token


@transaction.atomic
def revoke(link: CalendarLink, *, at: datetime) -> None:
    """From now on it leads nowhere."""
    CalendarLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=at)


@transaction.atomic
def restore(link: CalendarLink) -> None:
    """The undoing of `revoke`: whoever knows the address may read again."""
    CalendarLink.objects.filter(pk=link.pk).update(revoked_at=None)


def link_of(token: str) -> CalendarLink | None:
    """The open link of a token, if who made it still works here."""
    if not _TOKEN.fullmatch(token):
        return None
    known = CalendarLink.objects.select_related("person").filter(revoked_at=None, person__is_active=True)
    return known.filter(token_digest=digest_of(token)).first()


def note_read(link: CalendarLink, *, at: datetime) -> None:
    if link.read_at is None or at - link.read_at >= READ_NOTED_EVERY:
        CalendarLink.objects.filter(pk=link.pk).update(read_at=at)
