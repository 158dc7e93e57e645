"""One search over everything, results grouped; a number that only one thing has opens it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.components.writing import write_spec
from shop.access import EVERYBODY, role_required, staff_of
from shop.models import Profile
from shop.views.finds import find, only_numbered
from shop.views.found import Finds
from shop.web.context import shop_profile
from shop.web.pages import go, wants_fragment


@role_required(*EVERYBODY)
def search(request: HttpRequest) -> HttpResponse:
    """Asked for by a script while somebody types, it is the piece with the first few of each kind."""
    text, role = request.GET.get("q", ""), staff_of(request).role
    if wants_fragment(request):
        return render(request, "shop/_search_found.html", {"found": find(text, role, is_glance=True)})
    found = find(text, role)
    address = only_numbered(found)
    if address:
        return go(request, address)
    return render(request, "shop/search.html", {"found": found, "read_as": _read_as(request, found)})


def _read_as(request: HttpRequest, found: Finds) -> list[str]:
    """The values that parts were found by, as the shop writes them."""
    farads = (shop_profile(request) or Profile()).capacitance_style
    kinds = {part.kind for part in found.of("parts")}
    return list(dict.fromkeys(write_spec(spec, farads=farads) for spec in found.readings if spec.kind in kinds))
