"""The one writer of the ledger of access: somebody came in, was kept out, or took data away.

    note(AccessKind.SIGNED_IN, at=now(), person=person, address=address_of(request))

What was typed for a name that nobody here has is never written, nor is a password, a code or a token.
"""

from datetime import datetime, timedelta

from django.http import HttpRequest

from shop.models import AccessEvent, AccessKind, Staff

LONGEST_NOTE = 200
# Tries from outside can be sent without end, and mustn't fill the disk: of more than this in an hour only the throttle knows.
FROM_OUTSIDE_AN_HOUR, AN_HOUR = 200, timedelta(hours=1)
AT_THE_COMPUTER = "by command at the shop’s computer"


def address_of(request: HttpRequest | None) -> str:
    """The address that a request came from, as the server tells it; only the server knows which proxies are trusted."""
    return str(request.META.get("REMOTE_ADDR") or "")[:45] if request is not None else ""


def note(kind: str, *, at: datetime, person: Staff | None = None, address: str = "", note: str = "") -> AccessEvent:
    return AccessEvent.objects.create(kind=kind, at=at, person=person, address=address[:45], note=note[:LONGEST_NOTE])


def note_from_outside(kind: str, *, at: datetime, address: str = "", note: str = "") -> AccessEvent | None:
    """As `note`, of nobody known, and at most so many of a kind in an hour. None where it was one too many."""
    recent = AccessEvent.objects.filter(kind=kind, person=None, at__gt=at - AN_HOUR, at__lt=at + AN_HOUR)
    if recent.order_by().values("pk")[:FROM_OUTSIDE_AN_HOUR].count() >= FROM_OUTSIDE_AN_HOUR:
        return None
    return AccessEvent.objects.create(kind=kind, at=at, address=address[:45], note=note[:LONGEST_NOTE])


__all__ = ["AT_THE_COMPUTER", "AccessKind", "address_of", "note", "note_from_outside"]
