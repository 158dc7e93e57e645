"""Wrong tries of somebody whose name is known: passwords asked for again, and one-time codes. Counted by person.

Whoever tries these holds a password or an open session already, so it is the person that is shut for a while, not an address.
The ledger of access is what is counted; the owner's letting somebody in again starts the count anew.
"""

from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password
from django.db import transaction

from shop.acts import Refused
from shop.models import AccessEvent, AccessKind, Staff
from shop.sign_in.events import note

MOST, WITHIN = 10, timedelta(minutes=15)
WRONG_PASSWORD, WRONG_CODE = "password asked for again", "one-time code"
SHUT = "Too many wrong tries. Wait a quarter of an hour, or ask the owner to let you in again."


def is_shut(person: Staff, *, at: datetime) -> bool:
    """What was written in a time still to come doesn't count: once the computer's clock is set right, nobody waits for it."""
    lately = (at - WITHIN, at + WITHIN)
    let_in = AccessEvent.objects.filter(person=person, kind=AccessKind.LET_IN, at__range=lately).order_by("-pk").first()
    wrong = AccessEvent.objects.filter(
        person=person, kind=AccessKind.FAILED, note__in=(WRONG_PASSWORD, WRONG_CODE), at__range=lately
    ).order_by()
    if let_in is not None:
        wrong = wrong.filter(pk__gt=let_in.pk)
    return wrong.count() >= MOST


def note_wrong(person: Staff, what: str, *, at: datetime, address: str) -> None:
    """`what` is one of the two above. Says in the ledger when it was one too many."""
    note(AccessKind.FAILED, at=at, person=person, address=address, note=what)
    if is_shut(person, at=at):
        note(AccessKind.SHUT_OUT, at=at, person=person, address=address, note=what)


def prove(person: Staff, password: str, *, at: datetime, address: str, field: str = "password") -> None:
    """The person's own password, asked for again before something grave. Never inside `once`: a refusal must leave its trace."""
    with transaction.atomic():
        # Tries that come at once wait for each other, so that none slips past the count.
        current = Staff.objects.select_for_update().get(pk=person.pk)
        if is_shut(current, at=at):
            said = SHUT
        elif check_password(password, current.password):
            return
        else:
            note_wrong(current, WRONG_PASSWORD, at=at, address=address)
            said = "That isn't your password. Type the one you sign in with."
    raise Refused(said, field=field)
