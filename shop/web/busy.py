"""When others write for so long that a request gives up waiting: nothing of it was kept, and it can be sent again as it was."""

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

# What SQLite says after its wait, and PostgreSQL when two acts wait for each other.
SIGNS = ("database is locked", "database table is locked", "deadlock detected", "lock timeout")


def is_busy(error: BaseException) -> bool:
    return isinstance(error, OperationalError) and any(sign in str(error).lower() for sign in SIGNS)


class ToldToWait:
    """Answers with a page that keeps everything that was typed. The form's token stays the same, so it can't act twice."""

    def __init__(self, get_response: object) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)  # type: ignore[operator, no-any-return]

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not is_busy(exception):
            return None
        # A password is never written into a page: whoever typed one is asked for it again.
        kept = [name for name in request.POST if name != "csrfmiddlewaretoken" and "password" not in name]
        typed = [(name, value) for name in kept for value in request.POST.getlist(name)]
        context = {"typed": typed, "address": request.get_full_path(), "lost_files": bool(request.FILES)}
        answer = render(request, "shop/busy.html", context, status=503)
        answer.headers["Retry-After"] = "5"
        return answer
