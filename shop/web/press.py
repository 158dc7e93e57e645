"""A button that does one act: a POST with a once-token and no fields to fill in."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from shop import acts
from shop.acts import Refused
from shop.web.pages import Undo, answer_once, refuse


def press(
    request: HttpRequest, act: str, work: Callable[[], object], address: str, said: str, undo: Undo | None = None
) -> HttpResponse:
    """Do `work` once and go to `address`; a refusal is told in words, with the way back there."""

    def answer() -> str:
        work()
        return address

    try:
        where, done = acts.once(request.POST.get("once"), act, answer)
    except Refused as refused:
        return refuse(request, refused.message, back=address)
    return answer_once(request, where, done, said, undo)


def seen_in(request: HttpRequest) -> int | None:
    """The version that a button carries as `seen`; None where it carries none."""
    text = request.POST.get("seen", "")
    return int(text) if text.isdecimal() and len(text) < 10 else None
