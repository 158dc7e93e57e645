"""Answers that views give: go somewhere, show a piece or the page, say a line, refuse in words, ask before the irreversible.

return show(request, "jobs/job_list.html", "jobs/_job_rows.html", context)   # the piece for htmx, the page otherwise
tell(request, "C12 fitted from drawer A3.", undo=Undo(url, "Take it out again", {"entry": 7}))
return back_to(request, "jobs:change_log", job.pk)
return answer_once(request, *acts.once(token, "fit", work), said="C12 fitted.")
return refuse(request, "This set was handed over on 3 May. Open a claim to work on it again.")
return confirm(request, Confirmation(title="Issue invoice?", ...))
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.http import HttpResponseClientRedirect

from shop.web.leafing import ROWS_A_PAGE, Leaf, leaf_of
from shop.web.row_order import Rows

SENT_BEFORE = "That form had already been sent, and was acted on once. Open a new form to do it again."


@dataclass(frozen=True)
class Undo:
    """One button beside a message: posts `hidden` and a fresh once-token to `url`."""

    url: str
    label: str = "Undo"
    hidden: Mapping[str, str | int] = field(default_factory=dict)


@dataclass(frozen=True)
class Confirmation:
    """What the page before an irreversible act says. `facts` are (what, value) pairs that let the person check the case."""

    title: str
    warning: str
    act: str
    url: str
    back: str
    facts: Sequence[tuple[str, str]] = ()
    hidden: Mapping[str, str | int] = field(default_factory=dict)


def wants_fragment(request: HttpRequest) -> bool:
    """True where a script asks for a piece of the page; never needed for anything to work."""
    htmx = getattr(request, "htmx", None)
    return htmx is not None and bool(htmx) and not htmx.boosted


def show(request: HttpRequest, page: str, fragment: str, context: Mapping[str, object], status: int = 200) -> HttpResponse:
    return render(request, fragment if wants_fragment(request) else page, dict(context), status=status)


def go(request: HttpRequest, to: object, *args: object, **kwargs: object) -> HttpResponse:
    """Redirect the window to a URL name with its arguments, an address, or a model, also when htmx asked."""
    address = resolve_url(to, *args, **kwargs)  # type: ignore[arg-type]
    return HttpResponseClientRedirect(address) if wants_fragment(request) else redirect(address)


def next_address(request: HttpRequest, default: str = "") -> str:
    """The `next` that the form or the address names, if it is a page of this shop; else the default."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = wanted.startswith("/") and url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if safe else default


def back_to(request: HttpRequest, default: object, *args: object, **kwargs: object) -> HttpResponse:
    """Go to a safe `next`, otherwise to the default (as `go` takes it)."""
    wanted = next_address(request)
    return go(request, wanted) if wanted else go(request, default, *args, **kwargs)


def tell(request: HttpRequest, text: str, undo: Undo | None = None) -> None:
    """Say on the next page what was done, with a button to undo it where it can be undone."""
    messages.success(request, text, extra_tags=json.dumps(asdict(undo)) if undo else "")


def warn(request: HttpRequest, text: str) -> None:
    """Say on the next page what was not done or needs a look."""
    messages.warning(request, text)


def answer_once(request: HttpRequest, address: str, just_done: bool, said: str, undo: Undo | None = None) -> HttpResponse:
    """Go to the address an act left behind; a form that was sent before is told so and changes nothing."""
    if just_done:
        tell(request, said, undo)
    else:
        messages.info(request, SENT_BEFORE)
    return go(request, address)


def refuse(request: HttpRequest, message: str, status: int = 409, back: str = "") -> HttpResponse:
    """A page, or a piece for htmx, that says what could not be done and what to do next. `back` is an address."""
    context = {"message": message, "back": back or next_address(request)}
    return show(request, "shop/refused.html", "_refused.html", context, status)


def confirm(request: HttpRequest, asked: Confirmation) -> HttpResponse:
    return render(request, "_confirm.html", {"asked": asked})


def page_of(
    request: HttpRequest, rows: Rows | Sequence[Any], rows_a_page: int = ROWS_A_PAGE, *, shown: Rows | None = None
) -> Leaf:
    """The asked page; what is out of range or unreadable gives the nearest one. Shown by `_pager.html`."""
    return leaf_of(request, rows, rows_a_page, shown=shown)
