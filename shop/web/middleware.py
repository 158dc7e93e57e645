"""Nobody sees a page without signing in, unless its view is marked `login_not_required`; three methods are known; sessions."""

from collections.abc import Callable
from urllib.parse import urlencode

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.contrib.sessions.middleware import SessionMiddleware
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseNotAllowed
from django.shortcuts import render
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails

from shop.sign_in.kept import keep
from shop.web.hindrances import hindrance_of
from shop.web.still_signed_in import WHY

METHODS = ("GET", "HEAD", "POST")


class KnownMethods:
    """Pages are read by GET and written by POST. A view that looks at `POST` alone would take any other method for looking."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.method not in METHODS:
            return HttpResponseNotAllowed(METHODS, content_type="text/plain; charset=utf-8")
        return self.get_response(request)


class SignInRequired(LoginRequiredMiddleware):
    """As Django's, but a piece of a page that was asked for after the session ended sends the whole window to sign in.

    Otherwise the sign-in form would land inside the piece's frame. A form that was sent too late is kept in the sign-in page.
    """

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseBase:
        htmx, why = getattr(request, "htmx", None), getattr(request, "signed_out", "")
        if htmx:
            answer = redirect_to_login(_page_around(htmx), self.get_login_url(view_func))
            return HttpResponseClientRedirect(_saying(answer.url, why))
        if why and request.method == "POST":
            context = {"why": WHY[why], "kept": keep(request, request.was), "is_sent": True}  # type: ignore[attr-defined]
            return render(request, "shop/login.html", context, status=403)
        answer = redirect_to_login(request.get_full_path(), self.get_login_url(view_func))
        answer["Location"] = _saying(answer.url, why)
        return answer


def _page_around(htmx: HtmxDetails) -> str:
    """The page of ours that a piece was asked for by; the first one where what was sent is no address."""
    try:
        return htmx.current_url_abs_path or "/"
    except ValueError:
        return "/"


def _saying(address: str, why: str) -> str:
    return f"{address}&{urlencode({'why': why})}" if why else address


class Sessions(SessionMiddleware):
    """A page that was only looked at is shown although its session can't be saved: a message that it took out comes once more."""

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        try:
            return super().process_response(request, response)
        except DatabaseError as error:
            if request.method not in ("GET", "HEAD") or hindrance_of(error) is None:
                raise
            return response
