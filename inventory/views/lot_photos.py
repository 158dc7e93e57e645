"""Pictures of a lot: its bag, its print. They stay, as they prove what was bought."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from inventory import services
from inventory.forms.individuals import LotPhotosForm
from inventory.models import Lot, LotPhoto
from inventory.views.acting import carry_out
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.pictures import read_picture
from shop.web.pages import answer_once
from shop.web.picture import picture_answer


@role_required(*EVERYBODY)
def lot_photos(request: HttpRequest, pk: int) -> HttpResponse:
    lot = get_object_or_404(Lot.objects.select_related("part"), pk=pk)
    form = LotPhotosForm(request.POST or None, request.FILES or None)

    def work() -> str:
        typed, person, at = form.cleaned_data, staff_of(request), now()
        for picture in [read_picture(one, str(one.name), settings.PHOTO_MAX_BYTES) for one in typed["photos"]]:
            services.add_lot_photo(lot, picture, person=person, at=at, caption=typed["caption"])
        return reverse("inventory:lot_photos", args=[pk])

    if request.method == "POST" and (done := carry_out(form, "add lot photos", work)):
        return answer_once(request, *done, said="The pictures are kept with the lot.")
    photos = lot.photos.select_related("person")  # type: ignore[attr-defined]
    return render(request, "inventory/lot_photos.html", {"lot": lot, "photos": photos, "form": form}, status=form.status)


@require_safe
@role_required(*EVERYBODY)
def lot_photo(request: HttpRequest, pk: int, size: str = "") -> HttpResponse:
    """The picture itself, or a smaller one, for staff only."""
    return picture_answer(request, get_object_or_404(LotPhoto, pk=pk).image, size)
