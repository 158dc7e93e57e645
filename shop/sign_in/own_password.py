"""A password that somebody else gave is good for coming in once: then an own one is chosen."""

from datetime import datetime

from shop.models import AccessEvent, AccessKind, Staff
from shop.sign_in.events import note

GIVEN = "given by"


def note_password(person: Staff, *, by: Staff, at: datetime, address: str = "") -> None:
    given = "" if by.pk == person.pk else f"{GIVEN} {by}"
    note(AccessKind.PASSWORD, at=at, person=person, address=address, note=given)


def is_due(person: Staff) -> bool:
    """Whether the password in force came from somebody else."""
    last = AccessEvent.objects.filter(person=person, kind=AccessKind.PASSWORD).order_by("-pk").first()
    return last is not None and last.note.startswith(GIVEN)
