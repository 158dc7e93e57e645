"""A model's service sheet: its pages, sending one in, what is written about it, taking it off the list."""

from dataclasses import replace

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.service_sheets import PageChangeForm, PageForm, PictureForm, page_values
from jobs.models import RadioModel, SheetPage
from jobs.queries.service_sheets import pages_of, pages_set_aside, places_of
from jobs.services import service_sheets as services
from jobs.services.waiting_sheets import WaitingSheet
from jobs.views.job_frame import carry_out, press
from jobs.views.sheet_choose import read_drawing
from jobs.views.sheet_pictures import add_sheet, load_page, put_picture, seen_of, undo_replacing
from shop.access import EVERYBODY, role_required
from shop.clock import now
from shop.forms.compare import standing_now
from shop.pictures import Picture
from shop.web.pages import Undo, answer_once, go, tell


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

    got = read_drawing(request, model, form, wait)
    if not isinstance(got, Picture):
        return got
    done = carry_out(form, "add service sheet", lambda: add_sheet(request, model, facts, got))
    return answer_once(request, *done, said=f"“{facts.title}” is kept with the model. Its positions come next.") if done else None


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
    got = read_drawing(request, page.model, form, lambda begun: replace(begun, page=page.pk, seen=seen))
    if not isinstance(got, Picture):
        return got
    done = carry_out(form, "replace service sheet", lambda: put_picture(request, page, got, seen))
    if done is None:
        return None
    said = f"“{page.title}” has its new picture; the places stayed."
    return answer_once(request, *done, said=said, undo=undo_replacing(page))


@role_required(*EVERYBODY)
@require_POST
def service_sheet_set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    page = load_page(pk)
    if not press(request, "set service sheet aside", lambda: services.set_aside(page, at=now(), seen=seen_of(request))):
        return go(request, "jobs:service_sheets", page.model_id)
    page.refresh_from_db()
    undo = Undo(reverse("jobs:service_sheet_take_back", args=[pk]), "Undo", {"seen": page.version})
    tell(request, f"“{page.title}” is set aside; its places are kept with it.", undo)
    return go(request, "jobs:service_sheets", page.model_id)


@role_required(*EVERYBODY)
@require_POST
def service_sheet_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    page = load_page(pk)
    if press(request, "take service sheet back", lambda: services.take_back(page, seen=seen_of(request))):
        tell(request, f"“{page.title}” is among the pages again.")
    return go(request, "jobs:service_sheets", page.model_id)
