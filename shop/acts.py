"""What every act shares: it happens once however often it is sent, and it is refused in words."""

import uuid
from collections.abc import Callable

from django.db import transaction

from shop.clock import now
from shop.models import ActOnce


class Refused(Exception):
    """An act that can't be done, told to the person: what happened, and what to do next.

    `field` names the form field the message belongs to, where there is one; `code` lets a page offer the way out.
    """

    def __init__(self, message: str, *, field: str = "", code: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.code = code


class Stale(Refused):
    """Somebody else changed the same thing since this person saw it. Nothing was written; what was typed is kept on the page."""


def as_token(text: str | uuid.UUID | None) -> uuid.UUID:
    """The token of a sent form; a form without one is refused, as it could act twice."""
    if isinstance(text, uuid.UUID):
        return text
    try:
        return uuid.UUID(str(text))
    except ValueError as error:
        raise Refused("This form was incomplete when it arrived. Load the page again and repeat the entry.") from error


def once(token: str | uuid.UUID | None, act: str, work: Callable[[], str]) -> tuple[str, bool]:
    """Run `work` in a transaction unless this token was used already.

    `work` returns the answer to keep (an address to go to, or a note). Gives back the answer and whether it was done just now.
    A second, parallel sending waits for the first one's transaction and then finds its mark.
    """
    key = as_token(token)
    with transaction.atomic():
        mark, made = ActOnce.objects.select_for_update().get_or_create(token=key, defaults={"act": act, "at": now()})
        if not made:
            return mark.answer, False
        mark.answer = work()[:400]
        mark.save(update_fields=["answer"])
        return mark.answer, True
