"""Who may do what: every page names the roles it serves; the owner passes everywhere; everybody else is refused with a page."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from shop.models import Role, Staff

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
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.roles = roles  # type: ignore[attr-defined]
        return guarded

    return decorate


def staff_of(request: HttpRequest) -> Staff:
    """The signed-in person, for services; pages are only reached signed in."""
    if not isinstance(request.user, Staff):
        raise PermissionDenied
    return request.user
