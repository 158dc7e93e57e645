"""Looking at a paper before it is printed or sent: any address that answers with a PDF answers `?look=` as well.

`?look=1` is a page with the paper's pages as pictures, `?look=png&page=2` one of them, `?look=save` the PDF to keep. The view
draws the paper each time and knows nothing of it, so whoever may not have the PDF gets no picture either.
"""

from collections.abc import Callable
from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse, HttpResponseNotFound, QueryDict
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from shop.paper.leaves import NoSuchLeaf, leaves_of, picture_of
from shop.web.pdf import PaperAnswer

LOOKS = ("1", "png", "save")
MOST_PAGES = 40


class LookedAt:
    """Takes `look` and `page` out of the query before the view reads it, and shows the paper it draws as asked."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        look = request.GET.get("look", "")
        if look not in LOOKS or request.method not in ("GET", "HEAD"):
            return self.get_response(request)
        page = request.GET.get("page", "")
        request.GET = _without_look(request.GET)  # type: ignore[assignment]
        answer = self.get_response(request)
        if not isinstance(answer, PaperAnswer) or answer.status_code != 200:
            return answer
        if look == "save":
            return answer.to_be_saved()
        return _picture(answer, page) if look == "png" else _pages(request, answer)


def _without_look(asked: QueryDict) -> QueryDict:
    kept = asked.copy()
    for name in ("look", "page"):
        kept.pop(name, None)
    return kept


def _picture(answer: PaperAnswer, page: str) -> HttpResponse:
    number = int(page) if page.isascii() and page.isdecimal() and len(page) < 6 else 0
    try:
        picture = HttpResponse(picture_of(answer.content, number), content_type="image/png")
    except NoSuchLeaf:
        picture = HttpResponseNotFound("The paper has no such page.", content_type="text/plain; charset=utf-8")
    picture["Cache-Control"] = "private, no-store"
    return picture


def _pages(request: HttpRequest, answer: PaperAnswer) -> HttpResponse:
    leaves, asked = leaves_of(answer.content), request.GET.urlencode()
    plain = f"{request.path}?{asked}" if asked else request.path
    context = {
        "title": leaves.title or answer.name,
        "leaves": leaves.pages[:MOST_PAGES],
        "count": len(leaves.pages),
        "not_shown": max(0, len(leaves.pages) - MOST_PAGES),
        "size": leaves.pages[0].size_words if leaves.pages else "",
        "pdf": plain,
        "look": f"{plain}{'&' if asked else '?'}look=",
        "back": answer.back or _where_from(request),
        "ways": answer.ways,
    }
    shown = render(request, "paper_preview.html", context)
    shown["Cache-Control"] = "private, no-store"
    return shown


def _where_from(request: HttpRequest) -> str:
    """The page of this shop that led here; the first page where nobody knows."""
    came = request.headers.get("Referer", "")
    here = url_has_allowed_host_and_scheme(came, {request.get_host()}, request.is_secure())
    parts = urlsplit(came)
    away = here and parts.path != request.path
    return f"{parts.path}?{parts.query}" if away and parts.query else parts.path if away else "/"
