"""Whoever is signed in stays so for a time only, and until the place is ended; and does first what must be done first."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse, HttpResponseBase

from shop.clock import now
from shop.models import AccessKind, Staff
from shop.sign_in import places
from shop.sign_in.events import address_of, note
from shop.web.hindrances import hindrance_of
from shop.web.pages import go

# Scripts ask for these again and again, so being asked for is no sign that somebody is there.
BY_THEMSELVES = {"shop:work_row", "shop:work_line"}
# What must be done before anything else, under this name in the session: the page where it is done.
FIRST = "first"
FIRST_PAGES = {"password": "shop:password_change", "factor": "shop:second_factor"}
OPEN_MEANWHILE = {"shop:password_change", "logout", "shop:second_factor", "shop:second_factor_confirm"}


class StillSignedIn:
    """Before the one that asks for signing in, which then finds nobody and says why (`request.signed_out`, a kind of event)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any) -> HttpResponse | None:
        if not getattr(view, "login_required", True) or not isinstance(request.user, Staff):
            return None
        place, at = places.place_of(request.session), now()
        why = places.why_over(place, request.user, at=at)
        if why:
            _turn_away(request, request.user, why)
            return None
        name = request.resolver_match.view_name if request.resolver_match else ""
        if place is not None and name not in BY_THEMSELVES:
            _see(place)
        return _first(request, name)


def _turn_away(request: HttpRequest, person: Staff, why: str) -> None:
    """A place that was ended elsewhere is among the comings and goings already."""
    place = places.place_of(request.session)
    if place is not None and places.end(place, at=now()):
        note(why, at=now(), person=person, address=address_of(request))
    request.session.flush()
    request.user = AnonymousUser()
    request.signed_out, request.was = why, person  # type: ignore[attr-defined]


def _see(place: Any) -> None:
    """Nobody waits or is refused for it."""
    try:
        places.see(place, at=now())
    except Exception as error:
        if hindrance_of(error) is None:
            raise


def _first(request: HttpRequest, name: str) -> HttpResponse | None:
    page = FIRST_PAGES.get(request.session.get(FIRST, ""))
    return go(request, page) if page and name not in OPEN_MEANWHILE else None


WHY: dict[str, str] = {
    AccessKind.IDLE: "You were signed out, as nothing had been done here for a while.",
    AccessKind.TOO_LONG: "You were signed out, as you had been signed in for as long as is allowed.",
    AccessKind.ENDED: "This browser was signed out, from another page or because the password is new.",
}
