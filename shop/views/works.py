"""Long work: how far it got, stopping it, another go, taking what it made."""

from uuid import UUID

from django.core.files.storage import Storage
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shop import long_work
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.long_work.clearing import RESULTS_KEPT
from shop.models import LongWork
from shop.web.pages import go, page_of, refuse, wants_fragment
from shop.web.pdf import pdf
from shop.web.press import press
from shop.web.work_line import forget_ended, remember, remembered, shown

WORKS_A_PAGE = 20
# A script that asks again and again is told with it to stop asking.
NO_MORE_TO_ASK = 286
NOT_YOURS = "There is no such work of yours any more. The list shows what there is."
GONE = "The file is no longer kept: that is for {days} days only. Start the work again to have it made anew."


@role_required(*EVERYBODY)
def works(request: HttpRequest) -> HttpResponse:
    """Mine, the newest first; the owner sees everybody's."""
    forget_ended(request)
    page = page_of(request, long_work.works_of(staff_of(request)), WORKS_A_PAGE)
    rows = [shown(work) for work in page]
    context = {"page": page, "rows": rows, "runs": any(one.is_under_way for one in rows), "days": RESULTS_KEPT.days}
    return render(request, "shop/works.html", context)


def _work(request: HttpRequest, key: UUID) -> LongWork | None:
    return long_work.works_of(staff_of(request)).filter(key=key).first()


def _not_yours(request: HttpRequest) -> HttpResponse:
    return refuse(request, NOT_YOURS, back=reverse("shop:works"))


@role_required(*EVERYBODY)
def work_row(request: HttpRequest, key: UUID) -> HttpResponse:
    """A piece of the list, asked for again and again while that work is under way."""
    if (work := _work(request, key)) is None:
        return _not_yours(request)
    one = shown(work)
    if not one.is_under_way:
        forget_ended(request)
    return render(request, "shop/_work.html", {"one": one, "is_told": True})


@role_required(*EVERYBODY)
def work_line(request: HttpRequest) -> HttpResponse:
    """The line in the page's head, in the same way; asked for as a page, it is the list."""
    if not wants_fragment(request):
        return go(request, "shop:works")
    runs = any(one.is_under_way for one in remembered(request))
    return render(request, "shop/_work_told.html", {"is_told": True}, status=200 if runs else NO_MORE_TO_ASK)


@role_required(*EVERYBODY)
@require_POST
def work_stop(request: HttpRequest, key: UUID) -> HttpResponse:
    person = staff_of(request)
    if (work := _work(request, key)) is None:
        return _not_yours(request)
    said = f"“{work.title}” is asked to stop; it does so at its next step."
    stop = lambda: long_work.ask_stop(work, person=person, at=now())  # noqa: E731
    return press(request, "stop long work", stop, reverse("shop:works"), said)


@role_required(*EVERYBODY)
@require_POST
def work_again(request: HttpRequest, key: UUID) -> HttpResponse:
    person = staff_of(request)
    if (work := _work(request, key)) is None:
        return _not_yours(request)

    def again() -> None:
        remember(request, long_work.start_anew(work, person=person, at=now()))

    return press(request, "start long work again", again, reverse("shop:works"), f"“{work.title}” is started again.")


@role_required(*EVERYBODY)
def work_file(request: HttpRequest, key: UUID) -> HttpResponse:
    """What it made, for the person who asked for it and the owner."""
    if (work := _work(request, key)) is None:
        return _not_yours(request)
    store: Storage = work.result.storage
    if not work.result or not store.exists(str(work.result.name)):
        return refuse(request, GONE.format(days=RESULTS_KEPT.days), back=reverse("shop:works"))
    if work.result_name.endswith(".pdf"):
        with work.result.open("rb") as kept:
            return pdf(kept.read(), work.result_name)
    answer = FileResponse(work.result.open("rb"), as_attachment=True, filename=work.result_name)
    answer["Cache-Control"] = "private, no-store"
    return answer  # type: ignore[return-value]
