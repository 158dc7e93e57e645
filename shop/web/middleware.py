"""Nobody sees a page of the shop without signing in, unless its view is marked `login_not_required`."""

from collections.abc import Callable

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseBase
from django_htmx.http import HttpResponseClientRedirect


class SignInRequired(LoginRequiredMiddleware):
    """As Django's, but a piece of a page that was asked for after the session ended sends the whole window to sign in.

    Otherwise the sign-in form would land inside the piece's frame.
    """

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseBase:
        htmx = getattr(request, "htmx", None)
        if not htmx:
            return super().handle_no_permission(request, view_func)
        answer = redirect_to_login(htmx.current_url_abs_path or "/", self.get_login_url(view_func))
        return HttpResponseClientRedirect(answer.url)
