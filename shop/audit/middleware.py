"""What a request writes is the act of whoever is signed in, on the page that was asked."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponseBase

from shop.audit.acting import acting, acting_now

Answer = Callable[[HttpRequest], HttpResponseBase]


class Audited:
    """After the one that asks for signing in: then the person is known, and no page of a private address loads a session."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        with acting(None, "", str(request.META.get("REMOTE_ADDR") or "")):
            return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any) -> None:
        act = acting_now()
        if request.resolver_match is not None:
            # The name, never the address: that may hold the token of a private link.
            act.what = request.resolver_match.view_name
        if getattr(view, "login_required", True):
            act.person = request.user.pk
