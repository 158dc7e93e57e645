"""Looking at a paper before it is printed or sent: any address that answers with a PDF answers `?look=` as well.

`?look=1` is a page with the paper's pages as pictures, `?look=png&page=2` one of them, `?look=save` the PDF to keep. The view
knows nothing of it and draws the paper, so whoever may not have the PDF gets no picture either. What was drawn for the page is
kept for its pictures, for this person and a minute only: a sheet of labels takes a second to draw, and pages must fit each other.
"""

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from time import monotonic
from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse, HttpResponseNotFound, QueryDict
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from shop.paper.leaves import NoSuchLeaf, leaves_of, picture_of
from shop.web.pdf import PaperAnswer

LOOKS = ("1", "png", "save")
MOST_PAGES = 40
KEPT_SECONDS, MOST_KEPT, LARGEST_KEPT = 60, 8, 4_000_000

Key = tuple[str, str, str]


class JustDrawn:
    """The last few papers that were looked at, each for the session that looked."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Key, tuple[float, bytes]] = OrderedDict()
        self._lock = Lock()

    def keep(self, key: Key | None, content: bytes) -> None:
        if key is None or len(content) > LARGEST_KEPT:
            return
        with self._lock:
            self._kept[key] = (monotonic(), content)
            self._kept.move_to_end(key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)

    def get(self, key: Key | None) -> bytes | None:
        with self._lock:
            at, content = self._kept.get(key, (0.0, b"")) if key else (0.0, b"")
        return content if content and monotonic() - at < KEPT_SECONDS else None


class LookedAt:
    """Takes `look` and `page` out of the query before the view reads it, and shows the paper it draws as asked."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.just_drawn = JustDrawn()

    def __call__(self, request: HttpRequest) -> HttpResponse:
        look, page = request.GET.get("look", ""), request.GET.get("page", "")
        if look not in LOOKS or request.method not in ("GET", "HEAD"):
            return self.get_response(request)
        request.GET = _without_look(request.GET)  # type: ignore[assignment]
        key = _key(request)
        kept = self.just_drawn.get(key) if look == "png" else None
        if kept is not None:
            return _picture(kept, page)
        answer = self.get_response(request)
        if not isinstance(answer, PaperAnswer) or answer.status_code != 200:
            return answer
        if look == "save":
            return answer.to_be_saved()
        self.just_drawn.keep(key, answer.content)
        return _picture(answer.content, page) if look == "png" else _pages(request, answer)


def _key(request: HttpRequest) -> Key | None:
    """Whose look it is, and at what; None for whoever isn't signed in."""
    session = request.session.session_key or ""
    return (session, str(request.user.pk), _address(request)) if session and request.user.is_authenticated else None


def _without_look(asked: QueryDict) -> QueryDict:
    kept = asked.copy()
    for name in ("look", "page"):
        kept.pop(name, None)
    return kept


def _address(request: HttpRequest) -> str:
    asked = request.GET.urlencode()
    return f"{request.path}?{asked}" if asked else request.path


def _picture(content: bytes, page: str) -> HttpResponse:
    number = int(page) if page.isascii() and page.isdecimal() and len(page) < 6 else 0
    try:
        picture = HttpResponse(picture_of(content, number), content_type="image/png")
    except NoSuchLeaf:
        picture = HttpResponseNotFound("The paper has no such page.", content_type="text/plain; charset=utf-8")
    picture["Cache-Control"] = "private, no-store"
    return picture


def _pages(request: HttpRequest, answer: PaperAnswer) -> HttpResponse:
    leaves, plain = leaves_of(answer.content), _address(request)
    context = {
        "title": leaves.title or answer.name,
        "leaves": leaves.pages[:MOST_PAGES],
        "count": len(leaves.pages),
        "not_shown": max(0, len(leaves.pages) - MOST_PAGES),
        "size": leaves.pages[0].size_words if leaves.pages else "",
        "pdf": plain,
        "look": f"{plain}{'&' if '?' in plain else '?'}look=",
        "back": answer.back or _where_from(request),
        "ways": answer.ways,
    }
    shown = render(request, "paper_preview.html", context)
    shown["Cache-Control"] = "private, no-store"
    return shown


def _where_from(request: HttpRequest) -> str:
    """The page of this shop that led here; the first page where nobody knows."""
    came = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(came, {request.get_host()}, request.is_secure()):
        return "/"
    parts = urlsplit(came)
    if parts.path == request.path:
        return "/"
    return f"{parts.path}?{parts.query}" if parts.query else parts.path
