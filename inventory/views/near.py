"""What lies in the drawers near a value, and where."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.forms.near import NearForm
from inventory.queries.near import MOST_SHOWN, nearest, unrated
from shop.access import EVERYBODY, role_required


@role_required(*EVERYBODY)
def near(request: HttpRequest) -> HttpResponse:
    form = NearForm(request.GET if "near" in request.GET else None)
    asked = form.is_bound and form.is_valid()
    found = nearest(form.wanted) if asked else []
    context = {
        "form": form,
        "asked": asked,
        "found": found,
        "unrated": unrated(form.wanted) if asked else 0,
        "is_full": len(found) == MOST_SHOWN,
        "marked": ",".join(str(pk) for pk in dict.fromkeys(drawer.pk for one in found for drawer in one.drawers)),
    }
    return render(request, "inventory/near.html", context, status=422 if form.is_bound and form.errors else 200)
