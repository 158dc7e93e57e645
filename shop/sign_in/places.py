"""Places of being signed in: one row a browser. The session holds a token, the row its hash: reading the table lets nobody in.

A place ends by signing out, by disuse, by age, or from another page; an ended one is turned away at its next request.
"""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.db.models import QuerySet

from shop.models import AccessKind, SignedIn, Staff

TOKEN = "place"
# Places that ended long ago tell nobody anything: what happened stands among the comings and goings.
FORGOTTEN_AFTER = timedelta(days=90)
# Use is written down this often at most, in parts of the idle limit: a write for every page would hold up who works.
WRITTEN_PER_LIMIT = 30


def _mark(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()[:40]


def begin(session: SessionBase, person: Staff, *, at: datetime, address: str, device: str) -> SignedIn:
    """Somebody has just signed in. What this browser was before ends."""
    if (before := place_of(session)) is not None:
        end(before, at=at)
    SignedIn.objects.filter(person=person, seen_at__lt=at - FORGOTTEN_AFTER).delete()
    token = secrets.token_hex(20)
    session[TOKEN] = token
    return SignedIn.objects.create(
        person=person, session_key=_mark(token), began_at=at, seen_at=at, address=address[:45], device=device[:200]
    )


def place_of(session: SessionBase) -> SignedIn | None:
    token: Any = session.get(TOKEN)
    return SignedIn.objects.filter(session_key=_mark(token)).first() if isinstance(token, str) else None


def why_over(place: SignedIn | None, person: Staff, *, at: datetime) -> str:
    """The kind of event by which this place is over; empty while it stands."""
    if place is None or place.person_id != person.pk or place.ended_at is not None:
        return AccessKind.ENDED
    # Both ways, since the computer's time may have been set back: a place would otherwise stay open until it comes round again.
    if abs(at - place.began_at) >= settings.LONGEST_SIGN_IN:
        return AccessKind.TOO_LONG
    return AccessKind.IDLE if abs(at - place.seen_at) >= settings.IDLE_LIMIT else ""


def see(place: SignedIn, *, at: datetime) -> None:
    if at - place.seen_at >= settings.IDLE_LIMIT / WRITTEN_PER_LIMIT:
        SignedIn.objects.filter(pk=place.pk, ended_at=None).update(seen_at=at)


def open_places(person: Staff, *, at: datetime) -> "QuerySet[SignedIn]":
    since = {"seen_at__gt": at - settings.IDLE_LIMIT, "began_at__gt": at - settings.LONGEST_SIGN_IN}
    return SignedIn.objects.filter(person=person, ended_at=None, **since)


def end(place: SignedIn, *, at: datetime) -> bool:
    """False where it had ended before."""
    return bool(SignedIn.objects.filter(pk=place.pk, ended_at=None).update(ended_at=at))


def end_all(person: Staff, *, at: datetime, but: SignedIn | None = None) -> int:
    """Every place of a person, but for the one that stays. Gives how many ended."""
    standing = SignedIn.objects.filter(person=person, ended_at=None)
    return (standing.exclude(pk=but.pk) if but else standing).update(ended_at=at)
