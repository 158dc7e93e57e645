"""Wrong passwords at the door, counted by name and address together: the library's hooks, and what the owner sees of it.

By address alone nobody is shut out, since a whole shop shares one. The name that was typed is kept as a keyed hash: what
strangers type, perhaps a password in the wrong field, stands nowhere.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from axes.models import AccessAttempt
from django.conf import settings
from django.db.models import Count, Max, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.crypto import salted_hmac

from shop.clock import now
from shop.models import AccessEvent, AccessKind, Staff
from shop.sign_in.events import AT_THE_COMPUTER, address_of, note, note_from_outside
from shop.sign_in.trying import MOST, WITHIN, WRONG_CODE, WRONG_PASSWORD, is_shut


def hash_of(name: str) -> str:
    return salted_hmac("shop.sign_in.throttle", name).hexdigest()


def hashed_name(request: HttpRequest, credentials: dict[str, Any] | None = None) -> str:
    """Hook: under what an attempt is counted."""
    return hash_of(str((credentials or {}).get("username") or request.POST.get("username", "")))


def told_to_wait(request: HttpRequest, answer: HttpResponse, credentials: Any = None) -> HttpResponse:
    """Hook: the same page whether the name exists or not. A form inside the shop says it itself, and loses nothing typed."""
    if request.user.is_authenticated:
        return answer
    minutes = int(settings.AXES_COOLOFF_TIME.total_seconds() // 60)
    shut = render(request, "shop/shut_out.html", {"minutes": minutes}, status=429)
    shut.headers["Retry-After"] = str(minutes * 60)
    return shut


def note_failed(sender: Any, credentials: dict[str, Any], request: HttpRequest | None = None, **_: Any) -> None:
    """Receiver: a wrong password, at the door or where a second person signs. While one is shut out nothing more is noted."""
    if request is None or getattr(request, "axes_locked_out", False):
        return
    person = Staff.objects.filter(username=str(credentials.get("username") or "")).first()
    address, at = address_of(request), now()
    if person is None:
        note_from_outside(AccessKind.FAILED, at=at, address=address, note="no such name")
    else:
        note(AccessKind.FAILED, at=at, person=person, address=address)


def note_shut_out(sender: Any, request: HttpRequest, username: str, ip_address: str | None, **_: Any) -> None:
    """Receiver: one too many. Once for each time that somebody is shut out."""
    at, person = now(), _people_by_hash().get(username)
    address = ip_address or ""
    recent = AccessEvent.objects.filter(
        kind=AccessKind.SHUT_OUT, person=person, address=address, at__gt=at - settings.AXES_COOLOFF_TIME
    )
    if recent.exists():
        return
    if person is None:
        note_from_outside(AccessKind.SHUT_OUT, at=at, address=address, note="no such name")
    else:
        note(AccessKind.SHUT_OUT, at=at, person=person, address=address)


def _people_by_hash() -> dict[str, Staff]:
    return {hash_of(one.username): one for one in Staff.objects.all()}


@dataclass(frozen=True, slots=True)
class ShutOut:
    """Somebody who is kept out; `person` is None where nobody here has that name. `until`: when the door opens by itself."""

    person: Staff | None
    address: str
    tries: int
    until: datetime


def shut_out(*, at: datetime) -> list[ShutOut]:
    """Who is kept out now, by password or by code; those whom we know first."""
    people = _people_by_hash()
    rows = (
        AccessAttempt.objects.filter(attempt_time__gt=at - settings.AXES_COOLOFF_TIME)
        .order_by()
        .values("username", "ip_address")
        .annotate(tries=Sum("failures_since_start"), last=Max("attempt_time"))
        .filter(tries__gte=settings.AXES_FAILURE_LIMIT)
    )
    found = [
        ShutOut(people.get(row["username"]), row["ip_address"] or "", row["tries"], row["last"] + settings.AXES_COOLOFF_TIME)
        for row in rows
    ]
    return sorted([*found, *_shut_by_codes(at)], key=lambda one: (one.person is None, one.until))


def _shut_by_codes(at: datetime) -> list[ShutOut]:
    wrong = (
        AccessEvent.objects.filter(kind=AccessKind.FAILED, note__in=(WRONG_PASSWORD, WRONG_CODE), at__gt=at - WITHIN)
        .order_by()
        .values("person")
        .annotate(tries=Count("pk"), last=Max("at"))
        .filter(tries__gte=MOST)
    )
    people = Staff.objects.in_bulk([row["person"] for row in wrong])
    shut = ((people[row["person"]], row) for row in wrong if row["person"] in people)
    return [ShutOut(person, "", row["tries"], row["last"] + WITHIN) for person, row in shut if is_shut(person, at=at)]


def let_in(person: Staff, *, by: Staff | None, at: datetime, address: str = "") -> None:
    """`by` is None for whoever may run commands at the shop's own computer."""
    AccessAttempt.objects.filter(username=hash_of(person.username)).delete()
    note(AccessKind.LET_IN, at=at, person=person, address=address, note=f"by {by}" if by else AT_THE_COMPUTER)


def forget_attempts_to_come(*, at: datetime) -> None:
    """Those that were counted while the computer's clock was ahead would keep somebody out until their time comes round."""
    AccessAttempt.objects.filter(attempt_time__gt=at + settings.AXES_COOLOFF_TIME).delete()


def forget_old_attempts(*, at: datetime) -> None:
    """Those whose time is over; the library forgets them only when the next one fails."""
    AccessAttempt.objects.filter(attempt_time__lt=at - max(settings.AXES_COOLOFF_TIME, timedelta(hours=1))).delete()
