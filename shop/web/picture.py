"""How a kept picture is sent: always as a JPEG, to whom the view lets see it. The folder of pictures has no address itself."""

from django.db.models.fields.files import FieldFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.acts import Refused
from shop.pictures import MIDDLE_SIDE, SMALL_SIDE, kept_bytes

# A picture never changes under its address. Private: no machine between the shop and the browser may keep it.
STAYS = "private, max-age=31536000, immutable"
# For a page whose key may run out: no copy stays in the browser.
LEAVES = "private, no-store"
SIZES = {"": 0, "middle": MIDDLE_SIDE, "small": SMALL_SIDE}


def picture_answer(request: HttpRequest, image: FieldFile, size: str = "", kept: str = STAYS) -> HttpResponse:
    """The picture, or a smaller one beside it (`SIZES`); a page that says so where its file is gone or spoilt."""
    try:
        content = kept_bytes(image, SIZES[size])
    except (FileNotFoundError, Refused):
        frame = "base.html" if request.user.is_authenticated else "base_public.html"
        return render(request, "shop/picture_gone.html", {"frame": frame}, status=404)
    return HttpResponse(content, content_type="image/jpeg", headers={"Cache-Control": kept, "X-Content-Type-Options": "nosniff"})
