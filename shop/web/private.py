"""Private addresses: pages that the address itself is the key of. What they send, and what a bad one leaves behind.

A random token of 256 bits can't be guessed, so nobody is shut out for trying: who shares an address with somebody that tries
must still reach their own page. A bad address costs one reading of the database, a malformed one none.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from shop.models import AccessEvent
from shop.sign_in.events import AccessKind, address_of
from shop.sign_in.events import note as write_down

# Nothing that changes with the moment, such as `Expires`: two bad addresses get the same answer to the byte.
HEADERS = {"Cache-Control": "private, no-store", "Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex, nofollow"}
# So many bad addresses an hour are noted; more would tell the owner nothing, and fill the disk of whoever is attacked.
MOST_NOTED, NOTED_WITHIN = 20, timedelta(hours=1)
LAST_NOTED = "more of them within the hour are not written down"

View = Callable[..., HttpResponse]


def private(*methods: str) -> Callable[[View], View]:
    """Decorates a view behind a private address: only these methods, and nothing of it is kept, found or told on."""

    def decorate(view: View) -> View:
        allowed = require_http_methods(list(methods))(view)

        @wraps(view)
        def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            answer: HttpResponse = allowed(request, *args, **kwargs)
            for name, value in HEADERS.items():
                answer[name] = value
            return answer

        return answered

    return decorate


def note_bad_link(request: HttpRequest, what: str, *, at: datetime) -> None:
    """Write down that somebody came by a bad address, a bounded number of times an hour. Never the address itself."""
    since = at - NOTED_WITHIN
    noted = AccessEvent.objects.filter(kind=AccessKind.BAD_LINK, at__gt=since).order_by()[:MOST_NOTED].count()
    if noted >= MOST_NOTED:
        return
    note = f"{what}; {LAST_NOTED}" if noted == MOST_NOTED - 1 else what
    write_down(AccessKind.BAD_LINK, at=at, address=address_of(request), note=note)
