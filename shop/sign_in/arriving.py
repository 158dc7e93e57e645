"""Receiver of the framework's word that somebody signed in, by whatever way: no session is without its place."""

from typing import Any

from django.http import HttpRequest

from shop.clock import now
from shop.models import Staff
from shop.sign_in.events import address_of
from shop.sign_in.places import begin


def begin_place(sender: Any, request: HttpRequest, user: Staff, **_: Any) -> None:
    device = request.headers.get("User-Agent", "")
    begin(request.session, user, at=now(), address=address_of(request), device=device)
