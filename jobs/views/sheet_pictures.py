"""Pictures of service sheets: their bytes, a new picture for a page, and the earlier one put back."""

from django.core.signing import BadSignature, Signer
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.models import RadioModel, SheetPage, SheetPlace
from jobs.queries.service_sheets import cut_around
from jobs.services import service_sheets as services
from jobs.services.service_sheets import PageFacts
from jobs.views.job_frame import press
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.drawings.pictures import cut_out, small_of
from shop.pictures import Picture
from shop.web.pages import Undo, go, tell

SMALL = 640
KEPT = "private, max-age=86400, immutable"
PICTURES = Signer(salt="pictures of service sheets")


def load_page(pk: int) -> SheetPage:
    return get_object_or_404(SheetPage.objects.select_related("model"), pk=pk)


def seen_of(request: HttpRequest) -> int:
    number = request.POST.get("seen", "")
    if not (number.isdecimal() and len(number) < 10):
        raise Refused("This form was incomplete when it arrived. Load the page again and repeat it.")
    return int(number)


def add_sheet(request: HttpRequest, model: RadioModel, facts: PageFacts, picture: Picture) -> str:
    page = services.add_page(model, facts, picture, person=staff_of(request), at=now())
    return reverse("jobs:service_sheet", args=[page.pk])


def put_picture(request: HttpRequest, page: SheetPage, picture: Picture, seen: int) -> str:
    services.replace_picture(page, picture, person=staff_of(request), at=now(), seen=seen)
    return reverse("jobs:service_sheet", args=[page.pk])


def undo_replacing(before: SheetPage) -> Undo:
    """`before` is the page as it was read before its picture was replaced."""
    kept = PICTURES.sign_object({"page": before.pk, "picture": before.image.name})
    return Undo(reverse("jobs:service_sheet_put_back", args=[before.pk]), "Undo", {"picture": kept, "seen": before.version + 1})


@role_required(*EVERYBODY)
@require_POST
def service_sheet_put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the picture again that another took the place of."""
    page = load_page(pk)

    def work() -> None:
        services.put_picture_back(page, _signed_picture(request, page), seen=seen_of(request))

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


def jpeg(content: bytes) -> HttpResponse:
    return HttpResponse(content, content_type="image/jpeg", headers={"Cache-Control": KEPT})


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
    return jpeg(small_of(content, SMALL) if request.GET.get("as") == "small" else content)


@role_required(*EVERYBODY)
def sheet_place_cut(request: HttpRequest, pk: int) -> HttpResponse:
    """The drawing around one place."""
    place = get_object_or_404(SheetPlace.objects.select_related("page"), pk=pk)
    cut = cut_around(place)
    return jpeg(cut_out(kept_bytes(place.page), cut.box, max(cut.width, cut.height)))
