"""A password that somebody else gave is good for coming in once: then an own one is chosen."""

from datetime import datetime

from shop.models import AccessEvent, AccessKind, Staff
from shop.sign_in.events import AT_THE_COMPUTER, note

GIVEN = "given by"


def note_password(person: Staff, *, by: Staff | None, at: datetime, address: str = "") -> None:
    """`by` is None where it was typed at the shop's own computer, by whoever may run commands there."""
    given = AT_THE_COMPUTER if by is None else "" if by.pk == person.pk else f"{GIVEN} {by}"
    note(AccessKind.PASSWORD, at=at, person=person, address=address, note=given)


def is_due(person: Staff) -> bool:
    """Whether the password in force came from somebody else."""
    last = AccessEvent.objects.filter(person=person, kind=AccessKind.PASSWORD).order_by("-pk").first()
    return last is not None and last.note.startswith(GIVEN)
