"""Putting positions on a page of a service sheet: one tap or one Enter a position, and the next comes by itself."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.service_sheets import PlaceForm, RemoveForm
from jobs.queries.service_sheets import Placing, nameable, placing_of
from jobs.services import service_sheets as services
from jobs.services.service_sheets import Where
from jobs.views.job_frame import carry_out
from jobs.views.sheet_pictures import load_page
from shop.access import EVERYBODY, role_required
from shop.web.pages import SENT_BEFORE, Undo, answer_once, go, show, tell, wants_fragment, warn

WIDTHS = (350, 700, 1050, 1500, 2200, 3200)
"""Widths, in a screen's pixels, in which the drawing can be shown; without a script a tap is counted in these."""
USUAL_WIDTH = 1050


def width_asked(request: HttpRequest) -> int:
    """The width that the address asks for, 0 for none."""
    asked = request.GET.get("zoom", "")
    return next((width for width in WIDTHS if str(width) == asked), 0)


@role_required(*EVERYBODY)
def service_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    page = load_page(pk)
    placing = placing_of(page, request.GET.get("position", "").upper(), request.GET.get("after", ""))
    return _show(request, placing)


def _show(request: HttpRequest, placing: Placing, sent: PlaceForm | None = None) -> HttpResponse:
    page, wide = placing.page, width_asked(request) or USUAL_WIDTH
    high = max(1, round(wide * page.height / page.width))
    place, current = placing.current_place, placing.current
    initial = {
        "position": current.designator if current else "",
        "across": place.x if place else None,
        "down": place.y if place else None,
        "seen": page.version,
        "wide": wide,
        "high": high,
    }
    context = {
        "page": page,
        "placing": placing,
        "form": sent or PlaceForm(named=placing.named, initial=initial, auto_id="place_%s"),
        "wide": wide,
        "high": high,
        "widths": WIDTHS,
        "asked": width_asked(request),
    }
    status = sent.status if sent else 200
    return show(request, "jobs/service_sheet.html", "jobs/_service_sheet_placing.html", context, status)


def _address(request: HttpRequest, pk: int, designator: str, **query: object) -> str:
    """The page again, in the width it was shown in, at the place that was touched."""
    asked = {"zoom": width_asked(request), **query}
    text = urlencode({name: value for name, value in asked.items() if value})
    return reverse("jobs:service_sheet", args=[pk]) + (f"?{text}" if text else "") + f"#at-{designator}"


def _percent(ten_thousandths: int) -> str:
    return f"{ten_thousandths / 100:.2f}"


def _undo(pk: int, designator: str, before: Where | None, version: int) -> Undo:
    if before is None:
        return Undo(reverse("jobs:service_sheet_remove", args=[pk]), "Undo", {"position": designator, "seen": version})
    back: dict[str, str | int] = {
        "position": designator,
        "across": _percent(before.x),
        "down": _percent(before.y),
        "seen": version,
    }
    return Undo(reverse("jobs:service_sheet_place", args=[pk]), "Undo", back)


@role_required(*EVERYBODY)
def service_sheet_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a position on the page, or move it."""
    page = load_page(pk)
    if request.method != "POST":
        return go(request, "jobs:service_sheet", pk)
    form = PlaceForm(request.POST, named=nameable(page), auto_id="place_%s")
    before: list[Where | None] = []

    def work() -> str:
        typed = form.cleaned_data
        before.append(services.place(page, typed["position"], typed["where"], seen=typed["seen"]))
        return _address(request, pk, typed["position"], after=typed["position"])

    done = carry_out(form, "place on service sheet", work) if form.is_valid() else None
    page.refresh_from_db()
    if done is None:
        form.see(page.version)
        return _show(request, placing_of(page, str(form.data.get("position", "")).upper()), form)
    name = form.cleaned_data["position"]
    said = f"{name} has its place." if not before or before[0] is None else f"{name} is moved."
    undo = _undo(pk, name, before[0], page.version) if before else None
    if not wants_fragment(request):
        return answer_once(request, *done, said=said, undo=undo)
    if done[1]:
        tell(request, said, undo)
    else:
        warn(request, SENT_BEFORE)
    return _show(request, placing_of(page, after=name))


@role_required(*EVERYBODY)
@require_POST
def service_sheet_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a position's place off the page."""
    page, form = load_page(pk), RemoveForm(request.POST)
    before: list[Where] = []

    def work() -> str:
        typed = form.cleaned_data
        before.append(services.remove_place(page, typed["position"], seen=typed["seen"]))
        return _address(request, pk, typed["position"], position=typed["position"])

    done = carry_out(form, "remove from service sheet", work) if form.is_valid() else None
    if done is None:
        warn(request, " ".join(str(error) for errors in form.errors.values() for error in errors))
        return go(request, "jobs:service_sheet", pk)
    page.refresh_from_db()
    name = form.cleaned_data["position"].upper()
    undo = _undo(pk, name, before[0], page.version) if before else None
    return answer_once(request, *done, said=f"{name} has no place on this page any more.", undo=undo)
