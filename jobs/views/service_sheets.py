"""A model's service sheet: its pages, sending one in, choosing a page of a PDF, and each picture's bytes."""

from collections.abc import Callable
from dataclasses import replace

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.core.signing import BadSignature, Signer
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.service_sheets import ChosenPageForm, PageChangeForm, PageForm, PictureForm, page_values, uploaded
from jobs.models import RadioModel, SheetPage, SheetPlace
from jobs.queries.service_sheets import cut_around, pages_of, pages_set_aside, places_of
from jobs.services import service_sheets as services
from jobs.services import waiting_sheets
from jobs.services.service_sheets import PageFacts
from jobs.services.waiting_sheets import WaitingSheet
from jobs.views.job_frame import carry_out, press
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.drawings import pdf
from shop.drawings.pictures import LONGEST_SIDE, cut_out, drawing_of, small_of
from shop.forms.compare import standing_now
from shop.pictures import Picture
from shop.web.forms import TradeForm
from shop.web.pages import Undo, answer_once, go, tell, warn

SMALL, SMALLEST = 640, 240
KEPT = "private, max-age=86400, immutable"
PICTURES = Signer(salt="pictures of service sheets")
GONE = "That PDF isn't waiting any more: its page was taken, or a day has passed. Send it again."


def load_page(pk: int) -> SheetPage:
    return get_object_or_404(SheetPage.objects.select_related("model"), pk=pk)


@role_required(*EVERYBODY)
def service_sheets(request: HttpRequest, pk: int) -> HttpResponse:
    model = get_object_or_404(RadioModel, pk=pk)
    form = PageForm(request.POST or None, request.FILES or None)
    answer = _sent(request, model, form) if request.method == "POST" and form.is_valid() else None
    return answer or _list(request, model, form)


def _list(request: HttpRequest, model: RadioModel, form: PageForm) -> HttpResponse:
    pages = pages_of(model)
    places = places_of(pages)
    placed = {place.designator for place in places}
    listed = set(model.called_for.values_list("designator", flat=True))  # type: ignore[attr-defined]
    context = {
        "model": model,
        "form": form,
        "pages": [(page, sum(place.page_id == page.pk for place in places)) for page in pages],
        "aside": pages_set_aside(model),
        "listed_count": len(listed),
        "placed_count": len(listed & placed),
    }
    return render(request, "jobs/service_sheets.html", context, status=form.status)


def _sent(request: HttpRequest, model: RadioModel, form: PageForm) -> HttpResponse | None:
    facts = form.facts()

    def wait(waiting: WaitingSheet) -> WaitingSheet:
        return replace(waiting, title=facts.title, source=facts.source)

    got = _read(request, model, form, wait)
    if not isinstance(got, Picture):
        return got
    done = carry_out(form, "add service sheet", lambda: _add(request, model, facts, got))
    return answer_once(request, *done, said=f"“{facts.title}” is kept with the model. Its positions come next.") if done else None


def _add(request: HttpRequest, model: RadioModel, facts: PageFacts, picture: Picture) -> str:
    page = services.add_page(model, facts, picture, person=staff_of(request), at=now())
    return reverse("jobs:service_sheet", args=[page.pk])


def _read(
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
            return _add(request, model, PageFacts(waiting.title, waiting.source), picture)
        page = get_object_or_404(SheetPage, pk=waiting.page, model=model)
        return _replace(request, page, picture, waiting.seen)

    before = SheetPage.objects.filter(pk=waiting.page, model=model).first()
    done = carry_out(form, "take page of service sheet", work)
    if done is None:
        return None
    waiting_sheets.drop(waiting)
    said = f"Page {form.cleaned_data['number']} of {waiting.name} is kept with the model."
    return answer_once(request, *done, said=said, undo=_undo_replacing(before) if before else None)


def _replace(request: HttpRequest, page: SheetPage, picture: Picture, seen: int) -> str:
    services.replace_picture(page, picture, person=staff_of(request), at=now(), seen=seen)
    return reverse("jobs:service_sheet", args=[page.pk])


@role_required(*EVERYBODY)
def service_sheet_small(request: HttpRequest, pk: int) -> HttpResponse:
    """A small picture of a page of the PDF that waits, for the person who sent it."""
    waiting = _waiting(request, get_object_or_404(RadioModel, pk=pk))
    number = request.GET.get("page", "")
    small = waiting.small(int(number)) if waiting and number.isdecimal() and len(number) < 6 else b""
    return _jpeg(small) if small else go(request, "jobs:service_sheets", pk)


def _jpeg(content: bytes) -> HttpResponse:
    return HttpResponse(content, content_type="image/jpeg", headers={"Cache-Control": KEPT})


@role_required(*EVERYBODY)
def service_sheet_change(request: HttpRequest, pk: int) -> HttpResponse:
    """What is written about a page."""
    page = load_page(pk)
    form = PageChangeForm(request.POST or None, initial=page_values(page))

    def work() -> str:
        services.change_page(page, form.facts(), seen=form.cleaned_data["seen"])
        return reverse("jobs:service_sheet", args=[pk])

    done = carry_out(form, "change service sheet", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said=f"“{form.cleaned_data['title']}” is corrected.")
    return _change_page(request, page, form, PictureForm(initial={"seen": page.version}, auto_id="new_%s"))


def _change_page(request: HttpRequest, page: SheetPage, form: PageChangeForm, picture_form: PictureForm) -> HttpResponse:
    """Both forms of a page; a refused one is shown with what was typed, and counts as made in sight of what stands now."""
    page.refresh_from_db()
    context: dict[str, object] = {"page": page, "model": page.model, "form": form, "picture_form": picture_form}
    for one in (form, picture_form):
        if one.is_bound and one.data.get("seen") != str(page.version):
            one.see(page.version)
            context["now"] = standing_now(form, page_values(page)) if one is form else None
    return render(request, "jobs/service_sheet_change.html", context, status=max(form.status, picture_form.status))


@role_required(*EVERYBODY)
def service_sheet_replace(request: HttpRequest, pk: int) -> HttpResponse:
    """Another picture for a page; the places stay."""
    page = load_page(pk)
    if request.method != "POST":
        return go(request, "jobs:service_sheet_change", pk)
    form = PictureForm(request.POST, request.FILES, auto_id="new_%s")
    answer = _new_picture(request, page, form) if form.is_valid() else None
    return answer or _change_page(request, page, PageChangeForm(initial=page_values(page)), form)


def _new_picture(request: HttpRequest, page: SheetPage, form: PictureForm) -> HttpResponse | None:
    seen = form.cleaned_data["seen"]
    got = _read(request, page.model, form, lambda begun: replace(begun, page=page.pk, seen=seen))
    if not isinstance(got, Picture):
        return got
    done = carry_out(form, "replace service sheet", lambda: _replace(request, page, got, seen))
    if done is None:
        return None
    said = f"“{page.title}” has its new picture; the places stayed."
    return answer_once(request, *done, said=said, undo=_undo_replacing(page))


def _undo_replacing(before: SheetPage) -> Undo:
    """`before` is the page as it was read before its picture was replaced."""
    kept = PICTURES.sign_object({"page": before.pk, "picture": before.image.name})
    return Undo(reverse("jobs:service_sheet_put_back", args=[before.pk]), "Undo", {"picture": kept, "seen": before.version + 1})


@role_required(*EVERYBODY)
@require_POST
def service_sheet_put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the picture again that another took the place of."""
    page = load_page(pk)

    def work() -> None:
        services.put_picture_back(page, _signed_picture(request, page), seen=_seen(request))

    if press(request, "put picture of service sheet back", work):
        tell(request, f"“{page.title}” has its earlier picture again.")
    return go(request, "jobs:service_sheet", pk)


def _signed_picture(request: HttpRequest, page: SheetPage) -> str:
    """The name that the button carries; only one that this shop signed for this page is a picture of it."""
    try:
        kept = PICTURES.unsign_object(request.POST.get("picture", ""))
    except BadSignature as error:
        raise Refused("This form was incomplete when it arrived. Load the page again and repeat it.") from error
    if kept["page"] != page.pk:
        raise Refused("That picture belongs to another page.")
    return str(kept["picture"])


def _seen(request: HttpRequest) -> int:
    number = request.POST.get("seen", "")
    if not (number.isdecimal() and len(number) < 10):
        raise Refused("This form was incomplete when it arrived. Load the page again and repeat it.")
    return int(number)


@role_required(*EVERYBODY)
@require_POST
def service_sheet_set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    page = load_page(pk)
    if not press(request, "set service sheet aside", lambda: services.set_aside(page, at=now(), seen=_seen(request))):
        return go(request, "jobs:service_sheets", page.model_id)
    page.refresh_from_db()
    undo = Undo(reverse("jobs:service_sheet_take_back", args=[pk]), "Undo", {"seen": page.version})
    tell(request, f"“{page.title}” is set aside; its places are kept with it.", undo)
    return go(request, "jobs:service_sheets", page.model_id)


@role_required(*EVERYBODY)
@require_POST
def service_sheet_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    page = load_page(pk)
    if press(request, "take service sheet back", lambda: services.take_back(page, seen=_seen(request))):
        tell(request, f"“{page.title}” is among the pages again.")
    return go(request, "jobs:service_sheets", page.model_id)


def kept_bytes(page: SheetPage) -> bytes:
    try:
        with page.image.open("rb") as file:
            return bytes(file.read())
    except FileNotFoundError as error:
        raise Http404("The picture's file is missing from the shop's folder.") from error


@role_required(*EVERYBODY)
def service_sheet_picture(request: HttpRequest, pk: int) -> HttpResponse:
    """The drawing itself, for staff only; `as=small` gives it for a list. Its address changes with the picture."""
    content = kept_bytes(load_page(pk))
    return _jpeg(small_of(content, SMALL) if request.GET.get("as") == "small" else content)


@role_required(*EVERYBODY)
def sheet_place_cut(request: HttpRequest, pk: int) -> HttpResponse:
    """The drawing around one place."""
    place = get_object_or_404(SheetPlace.objects.select_related("page"), pk=pk)
    cut = cut_around(place)
    return _jpeg(cut_out(kept_bytes(place.page), cut.box, max(cut.width, cut.height)))
