"""A paper as an answer: shown by the browser, saved under a telling name, looked at before it is printed (`preview.py`).

return pdf(draw(paper), "estimate-J-2031-0042-1.pdf", back=reverse("jobs:estimate", args=[pk]))
return answer_with(lambda: drawn.tag(pk, root_of(request)), back=reverse("jobs:job", args=[pk]))

Every address that answers so also answers `?look=1` (its pages as pictures, with ways on), `?look=png&page=2` and `?look=save`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.http import content_disposition_header

from shop.paper.drawn import Drawn

LOOK = "look=1"


@dataclass(frozen=True, slots=True)
class Way:
    """Where one can go on from a paper: `The same as a page`, `Send it`. `is_main` is the act that the paper is for."""

    label: str
    url: str
    is_main: bool = False


class PaperAnswer(HttpResponse):
    """A PDF that knows its name, the page one comes back to, and the ways on from it."""

    def __init__(self, content: bytes, name: str, back: str = "", ways: Sequence[Way] = ()) -> None:
        super().__init__(content, content_type="application/pdf")
        self.name, self.back, self.ways = name, back, tuple(ways)
        self["Content-Disposition"] = content_disposition_header(False, name) or "inline"
        self["Cache-Control"] = "private, no-store"

    def to_be_saved(self) -> "PaperAnswer":
        self["Content-Disposition"] = content_disposition_header(True, self.name) or "attachment"
        return self


def pdf(content: bytes, name: str, *, back: str = "", ways: Sequence[Way] = ()) -> PaperAnswer:
    return PaperAnswer(content, name, back, ways)


def answer_with(draw: Callable[[], Drawn], *, back: str = "", ways: Sequence[Way] = ()) -> PaperAnswer:
    """The paper that `draw` gives; what it can't find is not found here either."""
    try:
        made = draw()
    except ObjectDoesNotExist as missing:
        raise Http404(str(missing)) from missing
    return pdf(made.content, made.name, back=back, ways=ways)


def root_of(request: HttpRequest) -> str:
    """The shop's own address as this person reached it, for the codes on papers: no stroke at its end."""
    return request.build_absolute_uri("/").rstrip("/")


def look_at(address: str) -> str:
    """The address of a paper's preview."""
    return f"{address}{'&' if '?' in address else '?'}{LOOK}"
