"""Who may do what: every page names the roles it serves; the owner passes everywhere; everybody else is refused with a page."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from shop.clock import now
from shop.models import AccessKind, Role, Staff
from shop.sign_in.events import address_of, note

View = Callable[..., HttpResponse]
EVERYBODY = (Role.COUNTER, Role.BENCH, Role.OWNER)


def may(person: Any, *roles: str) -> bool:
    return isinstance(person, Staff) and person.is_active and (person.is_owner or person.role in roles)


def role_required(*roles: str) -> Callable[[View], View]:
    """Decorates a view. `roles` are kept on it so that a test can walk every page with every role."""

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not may(request.user, *roles):
                _note_refusal(request)
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.roles = roles  # type: ignore[attr-defined]
        return guarded

    return decorate


def _note_refusal(request: HttpRequest) -> None:
    """The page's name, never its address: that may hold what somebody typed."""
    page = request.resolver_match.view_name if request.resolver_match else ""
    if isinstance(request.user, Staff):
        note(AccessKind.FORBIDDEN, at=now(), person=request.user, address=address_of(request), note=page)


def staff_of(request: HttpRequest) -> Staff:
    """The signed-in person, for services; pages are only reached signed in."""
    if not isinstance(request.user, Staff):
        raise PermissionDenied
    return request.user
