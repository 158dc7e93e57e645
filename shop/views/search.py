"""One search over everything, results grouped."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.components.notation import write_spec
from shop.access import EVERYBODY, role_required
from shop.views.finds import find


@role_required(*EVERYBODY)
def search(request: HttpRequest) -> HttpResponse:
    found = find(request.GET.get("q", ""))
    kinds = {part.kind for part in found.parts}
    read_as = list(dict.fromkeys(write_spec(spec) for spec in found.readings if spec.kind in kinds))
    return render(request, "shop/search.html", {"found": found, "read_as": read_as})
