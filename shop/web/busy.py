"""When the database or the disk keeps a request from writing: nothing of it was kept, and it can be sent again as it was."""

from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string

from shop.web.hindrances import BUSY, Hindrance, hindrance_of

RETRY_SECONDS = "5"


def is_busy(error: BaseException) -> bool:
    return hindrance_of(error) is BUSY


class ToldToWait:
    """Answers with a page that keeps everything that was typed. The form's token stays the same, so it can't act twice."""

    def __init__(self, get_response: object) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)  # type: ignore[operator, no-any-return]

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        found = hindrance_of(exception)
        return hindered(request, found) if found else None


def hindered(request: HttpRequest, found: Hindrance) -> HttpResponse:
    """The page that says it. It is drawn without asking the database anything, since that may be what failed."""
    typed, lost_files = _sent(request)
    context = {
        "found": found,
        "typed": typed,
        "is_sent": request.method == "POST",
        "address": request.get_full_path(),
        "lost_files": lost_files,
        "profile": getattr(request, "_shop_profile", None),
        "csrf_token": get_token(request),
    }
    answer = HttpResponse(render_to_string("shop/hindered.html", context), status=found.status)
    answer.headers["Retry-After"] = RETRY_SECONDS
    return answer


def _sent(request: HttpRequest) -> tuple[list[tuple[str, str]], bool]:
    """What was typed, and whether files came along. A password is never written into a page: it is asked for again."""
    try:
        kept = [name for name in request.POST if name != "csrfmiddlewaretoken" and "password" not in name]
        return [(name, value) for name in kept for value in request.POST.getlist(name)], bool(request.FILES)
    except OSError:  # the browser went away before all had arrived, or the disk took no more of it
        return [], False
