"""Reading a drawing that was sent in, and choosing the page of a PDF that is wanted."""

from collections.abc import Callable

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.forms.service_sheets import ChosenPageForm, uploaded
from jobs.models import RadioModel, SheetPage
from jobs.services import waiting_sheets
from jobs.services.service_sheets import PageFacts
from jobs.services.waiting_sheets import WaitingSheet
from jobs.views.job_frame import carry_out
from jobs.views.sheet_pictures import add_sheet, jpeg, put_picture, undo_replacing
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.drawings import pdf
from shop.drawings.pictures import LONGEST_SIDE, drawing_of, small_of
from shop.pictures import Picture
from shop.web.forms import TradeForm
from shop.web.pages import answer_once, go, warn

SMALLEST = 240
GONE = "That PDF isn't waiting any more: its page was taken, or a day has passed. Send it again."


def read_drawing(
    request: HttpRequest, model: RadioModel, form: TradeForm, wait: Callable[[WaitingSheet], WaitingSheet]
) -> Picture | HttpResponse | None:
    """The sent file as a drawing; an answer where a page must be chosen first; None where it was refused."""
    file: UploadedFile = form.cleaned_data["file"]
    try:
        content, name = uploaded(file, settings.PHOTO_MAX_BYTES)
        _check_size(content, name)
        if not pdf.is_pdf(content):
            return drawing_of(content, name)
        pages = pdf.look_through(content, name)
        if pages.count == 1:
            return drawing_of(pdf.drawn_page(content, name, 1, LONGEST_SIDE), name)
        return _wait(request, model, content, name, pages, wait)
    except Refused as refused:
        form.take_refusal(refused)
        return None


def _check_size(content: bytes, name: str) -> None:
    if not content:
        raise Refused(f"{name} is empty.", field="file")
    if len(content) > settings.PHOTO_MAX_BYTES:
        most = settings.PHOTO_MAX_BYTES // 1_000_000
        raise Refused(f"{name} is larger than {most} MB. Save the page that is wanted as a file of its own.", field="file")


def _wait(
    request: HttpRequest,
    model: RadioModel,
    content: bytes,
    name: str,
    pages: pdf.Pages,
    wait: Callable[[WaitingSheet], WaitingSheet],
) -> HttpResponse:
    small = tuple(small_of(one, SMALLEST) if one else b"" for one in pages.small)
    key = waiting_sheets.new_key()
    begun = WaitingSheet(key, name, model.pk, staff_of(request).pk, pages.count, len(small))
    waiting_sheets.keep(content, pdf.Pages(pages.count, small), wait(begun))
    return go(request, reverse("jobs:service_sheet_choose", args=[model.pk]) + f"?of={key}")


def _waiting(request: HttpRequest, model: RadioModel) -> WaitingSheet | None:
    key = request.POST.get("of") or request.GET.get("of") or ""
    return waiting_sheets.find(key, model.pk, staff_of(request))


@role_required(*EVERYBODY)
def service_sheet_choose(request: HttpRequest, pk: int) -> HttpResponse:
    """Which page of a PDF is wanted. The file waits meanwhile."""
    model = get_object_or_404(RadioModel, pk=pk)
    waiting = _waiting(request, model)
    if waiting is None:
        warn(request, GONE)
        return go(request, "jobs:service_sheets", pk)
    form = ChosenPageForm(request.POST or None, count=waiting.count)
    answer = _take(request, model, waiting, form) if form.is_valid() else None
    context = {"model": model, "waiting": waiting, "form": form, "shown": range(1, waiting.shown + 1)}
    return answer or render(request, "jobs/service_sheet_choose.html", context, status=form.status)


def _take(request: HttpRequest, model: RadioModel, waiting: WaitingSheet, form: ChosenPageForm) -> HttpResponse | None:
    try:
        drawn = pdf.drawn_page(waiting.content(), waiting.name, form.cleaned_data["number"], LONGEST_SIDE)
        picture = drawing_of(drawn, waiting.name)
    except Refused as refused:
        form.add_error("page", refused.message)
        return None
    except FileNotFoundError:
        warn(request, GONE)
        return go(request, "jobs:service_sheets", model.pk)

    def work() -> str:
        if not waiting.page:
            return add_sheet(request, model, PageFacts(waiting.title, waiting.source), picture)
        page = get_object_or_404(SheetPage, pk=waiting.page, model=model)
        return put_picture(request, page, picture, waiting.seen)

    before = SheetPage.objects.filter(pk=waiting.page, model=model).first()
    done = carry_out(form, "take page of service sheet", work)
    if done is None:
        return None
    waiting_sheets.drop(waiting)
    said = f"Page {form.cleaned_data['number']} of {waiting.name} is kept with the model."
    return answer_once(request, *done, said=said, undo=undo_replacing(before) if before else None)


@role_required(*EVERYBODY)
def service_sheet_small(request: HttpRequest, pk: int) -> HttpResponse:
    """A small picture of a page of the PDF that waits, for the person who sent it."""
    waiting = _waiting(request, get_object_or_404(RadioModel, pk=pk))
    number = request.GET.get("page", "")
    small = waiting.small(int(number)) if waiting and number.isdecimal() and len(number) < 6 else b""
    return jpeg(small) if small else go(request, "jobs:service_sheets", pk)
